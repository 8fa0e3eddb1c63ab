//! The class task on a disk in memory and on paused time: waiting costs nothing, and "nothing
//! comes" can be seen.

mod awkward;
mod clocks;
mod disk;
mod floor;

use std::time::Duration;

use floorbell_core::class::clock::Phase;
use floorbell_core::class::command::{Call, Command};
use floorbell_core::ids::SegmentIndex;
use floorbell_core::name::Name;
use floorbell_core::wire::{NameShown, Outcome, ToDevice};
use tokio::sync::oneshot;

use self::floor::{DONE, Floor, TALK, is_refused, request, tap_of};
use super::{Deed, Errand, Reply};
use crate::class_task::Pace;
use crate::house::Newcomer;

#[tokio::test(start_paused = true)]
async fn of_two_coaches_who_press_next_the_second_is_told_why() {
    let floor = Floor::open().await;
    let (mut one, mut other) = (floor.coach(), floor.coach());
    assert_eq!(one.call(Call::Start).await, DONE);
    assert_eq!(floor.clock_shown().phase.segment(), Some(TALK));
    let (first, second) = (request(), request());
    one.send_call(first, Call::Next);
    other.send_call(second, Call::Next);
    assert_eq!(one.answer(first).await, DONE);
    let outcome = other.answer(second).await;
    assert!(is_refused(&outcome, "stale"), "{outcome:?}");
    assert_eq!(floor.clock_shown().phase.segment(), Some(SegmentIndex(1)));
}

#[tokio::test(start_paused = true)]
async fn a_busy_class_sends_at_most_sixty_frames_a_second_and_they_add_up() {
    let (floor, _coach) = Floor::working().await;
    let mut athletes = Vec::new();
    for number in 0..100 {
        athletes.push(floor.join(&format!("Ann {number}")).await);
    }
    let coach = floor.coach();
    tokio::time::sleep(Duration::from_secs(1)).await;
    let mut last = floor.handle.feed.snapshot().number;
    let mut frames = floor.handle.feed.frames(Pace::Quick);
    let mut count = 0;
    for athlete in athletes.into_iter().cycle().take(200) {
        coach.send_tap(&tap_of(&floor, athlete));
        tokio::time::sleep(Duration::from_millis(5)).await;
        while let Ok(frame) = frames.try_recv() {
            assert_eq!(frame.number, last + 1);
            (last, count) = (frame.number, count + 1);
        }
    }
    assert!((30..=61).contains(&count), "{count}");
    tokio::time::sleep(Duration::from_secs(1)).await;
    assert_eq!(last + frames.len() as u64, floor.handle.feed.snapshot().number);
}

#[tokio::test(start_paused = true)]
async fn a_request_that_is_sent_again_gets_its_first_answer() {
    let floor = Floor::open().await;
    let mut coach = floor.coach();
    let name = Name::new("Ann").unwrap();
    let add = Deed::Add { name, at_home: true, here: false };
    let id = request();
    coach.send(id, add.clone());
    let first = coach.answer(id).await;
    let Outcome::Done { link: Some(link) } = &first else { panic!("{first:?}") };
    assert!(link.starts_with("/#me="), "{link}");
    coach.send(id, add);
    assert_eq!(coach.answer(id).await, first);
    assert_eq!(floor.handle.feed.coach().borrow().expected.len(), 1);
}

#[tokio::test(start_paused = true)]
async fn who_is_taken_out_is_gone_with_their_name() {
    let floor = Floor::open().await;
    let mut coach = floor.coach();
    let athlete = floor.join("Ann").await;
    let mut own = floor.handle.feed.own(athlete).unwrap();
    assert!(own.borrow_and_update().as_str().contains("Ann"));
    assert_eq!(coach.ask(Deed::Remove(athlete)).await, DONE);
    assert!(own.changed().await.is_err());
    assert!(floor.handle.feed.own(athlete).is_none());
    assert!(floor.handle.feed.snapshot().now.rows.is_empty());
    assert!(floor.handle.feed.coach().borrow().people.is_empty());
    let outcome = coach.ask(Deed::Remove(athlete)).await;
    assert!(is_refused(&outcome, "no-such-athlete"), "{outcome:?}");
}

#[tokio::test(start_paused = true)]
async fn who_is_expected_is_picked_once() {
    let floor = Floor::open().await;
    let mut coach = floor.coach();
    let name = Name::new("Ann").unwrap();
    assert_eq!(coach.ask(Deed::Add { name, at_home: false, here: false }).await, DONE);
    let [(athlete, _)] = floor.handle.feed.coach().borrow().expected[..] else { panic!() };
    let come = || {
        let (answer, joined) = oneshot::channel();
        let who = Newcomer::Expected(athlete);
        let deed = Deed::ComeIn { who, choice: None, at_home: false };
        floor.handle.ask(Errand { by: coach.by, deed, reply: Reply::Came(answer) });
        joined
    };
    assert_eq!(come().await.unwrap().unwrap().athlete, athlete);
    assert!(floor.handle.feed.coach().borrow().expected.is_empty());
    assert!(come().await.unwrap().is_err());
}

#[tokio::test(start_paused = true)]
async fn a_phone_changes_its_own_athlete_alone() {
    let floor = Floor::open().await;
    let (ann, bo) = (floor.join("Ann").await, floor.join("Bo").await);
    let mut phone = floor.phone(ann);
    let shown = NameShown::Nothing;
    assert_eq!(phone.ask(Deed::ShowName { athlete: ann, shown }).await, DONE);
    let outcome = phone.ask(Deed::ShowName { athlete: bo, shown }).await;
    assert!(is_refused(&outcome, "not-yours"), "{outcome:?}");
    let start = Command::Call { id: request(), call: Call::Start, seen: phone.seen() };
    let outcome = phone.ask(Deed::Command(start)).await;
    assert!(is_refused(&outcome, "coach-only"), "{outcome:?}");
    assert_eq!(floor.clock_shown().phase, Phase::Gathering);
}

#[tokio::test(start_paused = true)]
async fn a_start_taken_back_is_shown_to_all() {
    let floor = Floor::open().await;
    let mut coach = floor.coach();
    let id = request();
    coach.send_call(id, Call::Start);
    assert_eq!(coach.answer(id).await, DONE);
    tokio::time::sleep(Duration::from_secs(1)).await;
    let number = floor.handle.feed.snapshot().number;
    let take_back = Command::TakeBack { id: request(), of: id };
    assert_eq!(coach.ask(Deed::Command(take_back)).await, DONE);
    let snapshot = floor.handle.feed.snapshot();
    assert_eq!(snapshot.now.started, None);
    assert!(snapshot.number > number + 1, "the gap has everyone take the full state");
}

#[tokio::test(start_paused = true)]
async fn a_closed_class_takes_late_taps_and_nobody_new() {
    let (floor, mut coach) = Floor::working().await;
    let athlete = floor.join("Ann").await;
    tokio::time::sleep(Duration::from_secs(20)).await;
    let tap = tap_of(&floor, athlete);
    assert_eq!(coach.ask(Deed::Command(Command::Close)).await, DONE);
    assert!(!floor.handle.is_open());
    let mut phone = floor.phone(athlete);
    phone.send_tap(&tap);
    assert!(matches!(phone.next().await, ToDevice::Kept { .. }));
    let name = Name::new("Bo").unwrap();
    let outcome = coach.ask(Deed::Add { name, at_home: false, here: true }).await;
    assert!(is_refused(&outcome, "closed"), "{outcome:?}");
}

#[tokio::test(start_paused = true)]
async fn people_of_one_name_are_told_apart_by_a_number() {
    let floor = Floor::open().await;
    for (typed, shown) in
        [("Ida", "Ida"), ("Ida", "Ida 2"), ("ida", "ida 3"), ("Ida 2", "Ida 2 2"), ("Idun", "Idun")]
    {
        let athlete = floor.join(typed).await;
        tokio::time::sleep(Duration::from_secs(1)).await;
        let snapshot = floor.handle.feed.snapshot();
        let row = snapshot.now.rows.iter().find(|row| row.athlete == athlete).unwrap();
        assert_eq!(row.name, shown, "typed {typed}");
    }
    let long = "x".repeat(40);
    floor.join(&long).await;
    let athlete = floor.join(&long).await;
    tokio::time::sleep(Duration::from_secs(1)).await;
    let snapshot = floor.handle.feed.snapshot();
    let row = snapshot.now.rows.iter().find(|row| row.athlete == athlete).unwrap();
    assert_eq!(row.name, format!("{} 2", "x".repeat(38)), "it still fits");
}

/// Phones see the board four times a second at most, and what the clock did at once.
#[tokio::test(start_paused = true)]
async fn phones_follow_the_board_calmly_and_the_clock_at_once() {
    let (floor, mut coach) = Floor::working().await;
    let mut athletes = Vec::new();
    for number in 0..21 {
        athletes.push(floor.join(&format!("Ann {number}")).await);
    }
    tokio::time::sleep(Duration::from_secs(1)).await;
    let feed = &floor.handle.feed;
    let numbers = || [Pace::Quick, Pace::Calm].map(|pace| feed.snapshot_at(pace).number);
    let before = numbers();
    for athlete in &athletes[..20] {
        coach.send_tap(&tap_of(&floor, *athlete));
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    let [quick, calm] = numbers();
    assert_eq!(quick - before[0], 20, "each tap within a second is on the wall");
    assert!((4..=5).contains(&(calm - before[1])), "{} on the phones", calm - before[1]);
    tokio::time::sleep(Duration::from_millis(250)).await;
    assert_eq!(feed.snapshot_at(Pace::Calm).now.rows, feed.snapshot().now.rows, "and the last");
    coach.send_tap(&tap_of(&floor, athletes[20]));
    assert_eq!(coach.call(Call::Hold).await, DONE);
    assert_eq!(feed.snapshot_at(Pace::Calm).now.clock, floor.clock_shown());
}
