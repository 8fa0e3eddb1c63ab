//! Awkward moments in which minutes pass: phones that hear nothing, taps around the bell, a child with
//! a phone. Paused time makes the minutes cost nothing.

use std::time::Duration;

use floorbell_core::class::command::{Call, Command, Tap};
use floorbell_core::ids::{AthleteId, Revision};
use floorbell_core::score::{Mark, Standing, WhyNot};
use floorbell_core::time::Span;
use floorbell_core::wire::ToDevice;
use tokio::time::sleep;

use super::floor::{DONE, Device, Floor, rounds, tap_of};
use crate::class_task::Deed;

fn secs(secs: u64) -> Duration {
    Duration::from_secs(secs)
}

fn counted(at_secs: i64, mark: Option<Mark>) -> Standing {
    Standing::Counted { at: Span::from_secs(at_secs), mark }
}

async fn standing(phone: &mut Device) -> Standing {
    match phone.next().await {
        ToDevice::Kept { standing, .. } => standing,
        other => panic!("{other:?}"),
    }
}

/// The rounds that screens show once a frame has gone out, and whether the row is marked.
async fn shown(floor: &Floor, athlete: AthleteId) -> (u32, bool) {
    sleep(secs(1)).await;
    let rows = floor.handle.feed.snapshot().now.rows.clone();
    let row = rows.iter().find(|row| row.athlete == athlete).expect("they are in the class");
    (rounds(floor, athlete), row.scores[0].marked)
}

/// A tap of a phone that has heard no call since the given revision.
fn tap_having_heard(floor: &Floor, athlete: AthleteId, heard: Revision) -> Tap {
    Tap { heard, ..tap_of(floor, athlete) }
}

#[tokio::test(start_paused = true)]
async fn a_phone_that_was_dead_for_five_minutes_brings_its_taps() {
    let (floor, _coach) = Floor::working().await;
    let athlete = floor.join("Ann").await;
    let mut taps = Vec::new();
    for _ in 0..2 {
        sleep(secs(20)).await;
        taps.push(tap_of(&floor, athlete));
    }
    sleep(secs(300)).await;
    assert_eq!(rounds(&floor, athlete), 0);
    let mut phone = floor.phone(athlete);
    for (tap, at_secs) in taps.iter().zip([20, 40]) {
        phone.send_tap_since(tap, floor.clock.now());
        assert_eq!(standing(&mut phone).await, counted(at_secs, None));
    }
    assert_eq!(shown(&floor, athlete).await, (2, false));
}

#[tokio::test(start_paused = true)]
async fn a_tap_up_to_two_seconds_after_the_bell_counts_and_is_marked() {
    let too_late = Standing::NotCounted { why: WhyNot::AfterBell, marked: true };
    for (after_ms, expected) in [(1_900, counted(60, Some(Mark::AfterBell))), (2_100, too_late)] {
        let (floor, _coach) = Floor::working().await;
        let athlete = floor.join("Ann").await;
        let mut phone = floor.phone(athlete);
        sleep(secs(60) + Duration::from_millis(after_ms)).await;
        phone.send_tap(&tap_of(&floor, athlete));
        assert_eq!(standing(&mut phone).await, expected, "{after_ms} ms after the bell");
        assert!(shown(&floor, athlete).await.1, "{after_ms} ms after the bell");
    }
}

#[tokio::test(start_paused = true)]
async fn an_unheard_hold_takes_its_time_out_of_the_taps() {
    let (floor, mut coach) = Floor::working().await;
    let athlete = floor.join("Ann").await;
    let heard = floor.clock_shown().revision;
    sleep(secs(20)).await;
    assert_eq!(coach.call(Call::Hold).await, DONE);
    sleep(secs(10)).await;
    let in_hold = tap_having_heard(&floor, athlete, heard);
    sleep(secs(20)).await;
    assert_eq!(coach.call(Call::Resume).await, DONE);
    // Hold and lead-in took 0:40; 0:15 after work went on, the phone shows 1:15.
    sleep(secs(25)).await;
    let at_work = tap_having_heard(&floor, athlete, heard);
    let mut phone = floor.phone(athlete);
    phone.send_tap_since(&in_hold, floor.clock.now());
    let kept = Standing::NotCounted { why: WhyNot::Held, marked: true };
    assert_eq!(standing(&mut phone).await, kept);
    phone.send_tap_since(&at_work, floor.clock.now());
    assert_eq!(standing(&mut phone).await, counted(35, None));
    assert_eq!(shown(&floor, athlete).await, (1, true));
}

#[tokio::test(start_paused = true)]
async fn an_unheard_added_minute_counts() {
    let (floor, mut coach) = Floor::working().await;
    let athlete = floor.join("Ann").await;
    let heard = floor.clock_shown().revision;
    sleep(secs(50)).await;
    assert_eq!(coach.call(Call::AddTime { span: Span::from_mins(1) }).await, DONE);
    sleep(secs(40)).await;
    let tap = tap_having_heard(&floor, athlete, heard);
    sleep(secs(60)).await;
    let mut phone = floor.phone(athlete);
    phone.send_tap_since(&tap, floor.clock.now());
    assert_eq!(standing(&mut phone).await, counted(90, None));
}

#[tokio::test(start_paused = true)]
async fn five_taps_that_wait_on_a_phone_count_after_the_class_was_closed() {
    let (floor, mut coach) = Floor::working().await;
    let athlete = floor.join("Ann").await;
    let mut taps = Vec::new();
    for _ in 0..5 {
        sleep(secs(8)).await;
        taps.push(tap_of(&floor, athlete));
    }
    assert_eq!(coach.call(Call::Finish).await, DONE);
    assert_eq!(coach.ask(Deed::Command(Command::Close)).await, DONE);
    sleep(secs(180)).await;
    let mut phone = floor.phone(athlete);
    for (tap, at_secs) in taps.iter().zip([8, 16, 24, 32, 40]) {
        phone.send_tap_since(tap, floor.clock.now());
        let standing = standing(&mut phone).await;
        assert!(matches!(standing, Standing::Counted { at, .. } if at == Span::from_secs(at_secs)));
    }
    assert_eq!(shown(&floor, athlete).await.0, 5);
}

#[tokio::test(start_paused = true)]
async fn a_child_who_taps_every_100_ms_is_kept_and_marked_and_nobody_else_notices() {
    let (floor, _coach) = Floor::working().await;
    let (child, other) = (floor.join("Ann").await, floor.join("Bo").await);
    let (mut phone, mut others) = (floor.phone(child), floor.phone(other));
    sleep(secs(10)).await;
    let mut counts = [0; 3];
    for _ in 0..300 {
        sleep(Duration::from_millis(100)).await;
        phone.send_tap(&tap_of(&floor, child));
        counts[match standing(&mut phone).await {
            Standing::Counted { mark: None, .. } => 0,
            Standing::Counted { mark: Some(Mark::Quick), .. } => 1,
            Standing::NotCounted { why: WhyNot::Twice, .. } => 2,
            other => panic!("{other:?}"),
        }] += 1;
    }
    // Two within 400 ms are one: every fourth counts.
    assert_eq!(counts, [1, 74, 225]);
    others.send_tap(&tap_of(&floor, other));
    assert_eq!(standing(&mut others).await, counted(40, None));
    assert_eq!(shown(&floor, child).await, (75, true));
    assert_eq!(shown(&floor, other).await, (1, false));
}
