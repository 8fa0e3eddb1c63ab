//! What is shown and answered when: never before it is on disk, but for stop and hold.

use std::time::Duration;

use floorbell_core::class::clock::{Clock, Phase};
use floorbell_core::class::command::{Call, Tap};
use floorbell_core::ids::Revision;
use floorbell_core::time::Span;
use floorbell_core::wire::{NameShown, Outcome, ToDevice};

use super::floor::{DONE, Floor, WORK, is_refused, request, rounds, tap_of};
use crate::class_task::Pace;
use crate::class_task::{Deed, FRAMES_APART};
use crate::testing::Gate;

#[tokio::test(start_paused = true)]
async fn nothing_is_answered_or_shown_before_it_is_on_disk() {
    let (floor, _coach) = Floor::working().await;
    let athlete = floor.join("Ann").await;
    let mut phone = floor.phone(athlete);
    tokio::time::sleep(Duration::from_secs(20)).await;
    let mut frames = floor.handle.feed.frames(Pace::Quick);
    floor.disk.set(Gate::Shut);
    let tap = tap_of(&floor, athlete);
    phone.send_tap(&tap);
    // The second comes of the same tap, while the first is on its way to the disk.
    phone.send_tap(&tap);
    assert!(phone.hears_nothing().await);
    assert!(frames.try_recv().is_err());
    assert_eq!(rounds(&floor, athlete), 0);

    floor.disk.set(Gate::Open);
    for _ in 0..2 {
        assert!(matches!(phone.next().await, ToDevice::Kept { tap: kept, .. } if kept == tap.id));
    }
    frames.recv().await.unwrap();
    assert_eq!(rounds(&floor, athlete), 1);
    assert_eq!(floor.disk.events_of("tapped").len(), 1);
}

#[tokio::test(start_paused = true)]
async fn what_is_asked_together_is_written_together() {
    let (floor, _coach) = Floor::working().await;
    let athlete = floor.join("Ann").await;
    let mut phone = floor.phone(athlete);
    let before = floor.disk.writes();
    floor.disk.set(Gate::Shut);
    for _ in 0..50 {
        phone.send_tap(&tap_of(&floor, athlete));
    }
    tokio::task::yield_now().await;
    floor.disk.set(Gate::Open);
    for _ in 0..50 {
        assert!(matches!(phone.next().await, ToDevice::Kept { .. }));
    }
    assert!(floor.disk.writes() - before <= 2, "{}", floor.disk.writes() - before);
    assert_eq!(floor.disk.events_of("tapped").len(), 50);
}

#[tokio::test(start_paused = true)]
async fn a_mistake_in_the_program_costs_what_was_under_way_and_not_the_class() {
    let (floor, mut coach) = Floor::working().await;
    let athlete = floor.join("Ann").await;
    let mut phone = floor.phone(athlete);
    let kept = tap_of(&floor, athlete);
    phone.send_tap(&kept);
    assert!(matches!(phone.next().await, ToDevice::Kept { .. }));
    let class_time = floor.class_time();

    floor.disk.set(Gate::Mistaken);
    let tap = Tap { made_at: floor.clock.now() + Span::from_secs(30), ..tap_of(&floor, athlete) };
    phone.send_tap(&tap);
    // Nothing is said of it, so the phone keeps it; the coach is told.
    let told = || floor.handle.feed.coach().borrow().warning.clone();
    let mut views = floor.handle.feed.coach();
    views.wait_for(|part| part.warning.is_some()).await.unwrap();
    assert!(told().is_some_and(|text| text.contains("mistake")));

    floor.disk.set(Gate::Open);
    tokio::time::sleep(Duration::from_secs(30)).await;
    assert_eq!(floor.class_time(), class_time + Span::from_secs(30));
    phone.send_tap(&tap);
    assert!(matches!(phone.next().await, ToDevice::Kept { tap: id, .. } if id == tap.id));
    assert_eq!(coach.call(Call::Hold).await, DONE);
    assert_eq!(rounds(&floor, athlete), 2);
    assert_eq!(told(), None);
}

#[tokio::test(start_paused = true)]
async fn when_the_disk_refuses_taps_wait_and_stop_is_shown() {
    let (floor, mut coach) = Floor::working().await;
    let athlete = floor.join("Ann").await;
    let (mut phone, mut wall) = (floor.phone(athlete), floor.wall());
    tokio::time::sleep(Duration::from_secs(20)).await;
    floor.disk.set(Gate::Refusing);
    let tap = tap_of(&floor, athlete);
    phone.send_tap(&tap);
    assert!(matches!(
        phone.next().await,
        ToDevice::NotKept { tap: refused, again: true, .. } if refused == tap.id
    ));
    let outcome = coach.call(Call::Next).await;
    assert!(is_refused(&outcome, "disk"), "{outcome:?}");
    let warning = floor.handle.feed.coach().borrow().warning.clone();
    assert!(warning.is_some_and(|text| text.contains("disk is full")));

    // Stop reaches every screen three times, and the clock stands.
    let (stopped_at, class_time) = (floor.clock.now(), floor.class_time());
    let id = request();
    coach.send_call(id, Call::Stop);
    for device in [&mut wall, &mut phone] {
        for _ in 0..3 {
            assert!(matches!(
                device.next().await,
                ToDevice::Stop { saved: false, clock: Clock { stopped: true, .. } }
            ));
        }
    }
    assert!(floor.clock.now() - stopped_at < Span::from_millis(200));
    assert_eq!(coach.answer(id).await, Outcome::NotYetSaved);
    let shown = floor.clock_shown();
    assert!(matches!(shown.phase, Phase::Held { segment: WORK, .. }) && shown.stopped);
    // A device that asks again is told the same, and nothing is written meanwhile.
    coach.send_call(id, Call::Stop);
    assert_eq!(coach.answer(id).await, Outcome::NotYetSaved);
    tokio::time::sleep(Duration::from_secs(30)).await;
    assert_eq!(floor.clock_shown(), shown);
    assert!(floor.disk.events_of("called").iter().all(|event| event["call"] != "stop"));

    // As soon as the disk takes it, it is written as of when it was called.
    floor.disk.set(Gate::Open);
    assert_eq!(coach.answer(id).await, DONE);
    assert!(matches!(wall.next().await, ToDevice::Stop { saved: true, .. }));
    assert_eq!(floor.clock_shown(), shown);
    let called = floor.disk.events_of("called");
    assert_eq!(called.last().unwrap()["phase"]["class_time"], class_time.as_micros());
    assert_eq!(floor.handle.feed.coach().borrow().warning, None);
    phone.send_tap(&tap);
    loop {
        match phone.next().await {
            ToDevice::Stop { .. } => {}
            kept => break assert!(matches!(kept, ToDevice::Kept { .. }), "{kept:?}"),
        }
    }
}

#[tokio::test(start_paused = true)]
async fn hold_is_shown_when_the_disk_is_slow() {
    let (floor, mut coach) = Floor::working().await;
    let athlete = floor.join("Ann").await;
    let mut phone = floor.phone(athlete);
    tokio::time::sleep(Duration::from_secs(10)).await;
    floor.disk.set(Gate::Shut);
    phone.send_tap(&tap_of(&floor, athlete));
    let id = request();
    let (called_at, revision) = (floor.class_time(), floor.clock_shown().revision);
    coach.send_call(id, Call::Hold);
    assert_eq!(coach.answer(id).await, Outcome::NotYetSaved);
    let shown = floor.clock_shown();
    let Phase::Held { class_time, .. } = shown.phase else { panic!("{shown:?}") };
    assert_eq!(class_time, called_at);
    assert_eq!(shown.revision, Revision(revision.0 + 1));
    assert_eq!(rounds(&floor, athlete), 0, "the tap is not on disk");

    floor.disk.set(Gate::Open);
    assert_eq!(coach.answer(id).await, DONE);
    assert_eq!(floor.clock_shown(), shown);
    assert!(matches!(phone.next().await, ToDevice::Kept { .. }));
    tokio::time::sleep(2 * FRAMES_APART).await;
    assert_eq!(rounds(&floor, athlete), 1);
}

#[tokio::test(start_paused = true)]
async fn a_hold_that_is_written_in_time_is_simply_done() {
    let (floor, mut coach) = Floor::working().await;
    assert_eq!(coach.call(Call::Hold).await, DONE);
    assert!(matches!(floor.clock_shown().phase, Phase::Held { .. }));
    let outcome = coach.call(Call::Hold).await;
    assert!(is_refused(&outcome, "not-now"), "{outcome:?}");
}

#[tokio::test(start_paused = true)]
async fn after_a_failed_write_the_class_is_what_is_on_disk() {
    let (floor, mut coach) = Floor::working().await;
    floor.disk.set(Gate::Refusing);
    let shown = floor.clock_shown();
    assert!(is_refused(&coach.call(Call::Next).await, "disk"));
    floor.disk.set(Gate::Open);
    assert!(is_refused(&coach.call(Call::Next).await, "disk"), "the disk is left alone for 1 s");
    tokio::time::sleep(Duration::from_secs(2)).await;
    assert_eq!(floor.clock_shown(), shown);
    assert_eq!(coach.call(Call::Next).await, DONE);
    assert_ne!(floor.clock_shown(), shown);
}

#[tokio::test(start_paused = true)]
async fn bells_ring_by_themselves_and_those_missed_are_recorded_as_due() {
    let floor = Floor::open().await;
    let mut coach = floor.coach();
    assert_eq!(coach.call(Call::Start).await, DONE);
    assert_eq!(coach.call(Call::Next).await, DONE);
    let Phase::Running { anchor: started, .. } = floor.clock_shown().phase else { panic!() };
    tokio::time::sleep(Duration::from_secs(6)).await;
    assert_eq!(floor.clock_shown().phase.segment(), Some(WORK));
    let due = |event: &serde_json::Value| event["due"].as_i64().unwrap() - started.as_micros();
    assert_eq!(floor.disk.events_of("rang").iter().map(due).collect::<Vec<_>>(), [5_000_000]);

    let floor = floor.restarted(Duration::from_mins(5)).await;
    tokio::time::sleep(Duration::from_secs(1)).await;
    let rang = floor.disk.events_of("rang");
    assert_eq!(rang.iter().map(due).collect::<Vec<_>>(), [5_000_000, 65_000_000, 85_000_000]);
    assert_eq!(floor.clock_shown().phase, Phase::Done);
}

#[tokio::test(start_paused = true)]
async fn a_restart_changes_nothing_that_is_shown() {
    let (floor, mut coach) = Floor::working().await;
    let (ann, bo) = (floor.join("Ann").await, floor.join("Bo").await);
    let shown = NameShown::Initial;
    assert_eq!(coach.ask(Deed::ShowName { athlete: bo, shown }).await, DONE);
    let note = Deed::Note { athlete: ann, first_class: true, told_me: false };
    assert_eq!(coach.ask(note).await, DONE);
    assert_eq!(floor.phone(bo).ask(Deed::Question("Which box?".into())).await, DONE);
    tokio::time::sleep(Duration::from_secs(20)).await;
    let mut phone = floor.phone(ann);
    phone.send_tap(&tap_of(&floor, ann));
    assert!(matches!(phone.next().await, ToDevice::Kept { .. }));
    tokio::time::sleep(Duration::from_millis(100)).await;

    let before = floor.handle.feed.snapshot();
    let names: Vec<_> = before.now.rows.iter().map(|row| row.name.as_str()).collect();
    assert_eq!(names, ["Ann", "B"]);
    let coach_before = floor.handle.feed.coach().borrow().clone();
    assert!(coach_before.people[0].first_class);
    assert_eq!(coach_before.questions[0].text, "Which box?");
    let floor = floor.restarted(Duration::from_secs(1)).await;
    assert_eq!(floor.handle.feed.snapshot().now, before.now);
    let coach_after = floor.handle.feed.coach().borrow().clone();
    assert_eq!(coach_after.people, coach_before.people);
    assert_eq!(coach_after.questions, coach_before.questions);
}
