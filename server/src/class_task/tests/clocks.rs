//! Timers that fire late, a machine that sleeps, a wall clock that is set: none of them moves a bell.

use std::sync::Arc;
use std::time::Duration;

use floorbell_core::class::clock::Phase;
use floorbell_core::class::command::{Call, Command, Seen};
use floorbell_core::ids::SegmentIndex;
use floorbell_core::time::{HouseTime, Span};
use floorbell_core::wire::ToDevice;
use serde_json::json;

use super::floor::{DONE, Floor, WORK, request, rounds, tap_of};
use crate::class_task::Deed;
use crate::class_task::Pace;
use crate::testing::{RuntimeMachine, clock_on_machine};

const REST: SegmentIndex = SegmentIndex(3);
/// The work of the test session.
const MINUTE: Span = Span::from_secs(60);
const SECOND: Duration = Duration::from_secs(1);

/// A class in its work; its clock; when its bell is due.
async fn working() -> (Floor, super::floor::Device, Arc<RuntimeMachine>, HouseTime) {
    let (clock, machine) = clock_on_machine();
    let (floor, coach) = Floor::working_by(clock).await;
    let Phase::Running { segment: WORK, anchor, at_anchor: Span::ZERO, .. } =
        floor.clock_shown().phase
    else {
        panic!("{:?}", floor.clock_shown())
    };
    (floor, coach, machine, anchor + MINUTE)
}

/// The phase that the bell of the work led to, once the class has shown it.
async fn after_bell(floor: &Floor) -> Phase {
    let mut frames = floor.handle.feed.frames(Pace::Quick);
    while floor.clock_shown().phase.segment() == Some(WORK) {
        frames.recv().await.unwrap();
    }
    floor.clock_shown().phase
}

#[tokio::test(start_paused = true)]
async fn a_late_timer_moves_no_instant_that_is_recorded_or_shown() {
    for late_ms in [0, 1, 300, 1_000, 2_000] {
        let (floor, _coach, machine, bell) = working().await;
        let athlete = floor.join("Ann").await;
        let mut phone = floor.phone(athlete);
        tokio::time::sleep(59 * SECOND).await;
        let in_time = tap_of(&floor, athlete);
        machine.slip(Span::from_millis(late_ms));
        tokio::time::sleep(Duration::from_millis(998)).await;
        // The bell is past by now if the timer is late; what was tapped before it arrives only now.
        phone.send_tap(&in_time);
        assert!(matches!(phone.next().await, ToDevice::Kept { .. }), "{late_ms} ms");

        let rest = Phase::Running {
            segment: REST,
            anchor: bell,
            at_anchor: Span::ZERO,
            added: Span::ZERO,
        };
        assert_eq!(after_bell(&floor).await, rest, "{late_ms} ms");
        let rang = floor.disk.events_of("rang");
        let due: Vec<_> = rang.iter().map(|event| &event["due"]).collect();
        assert_eq!(due.last(), Some(&&json!(bell)), "{late_ms} ms");
        assert_eq!(rounds(&floor, athlete), 1, "{late_ms} ms");
    }
}

#[tokio::test(start_paused = true)]
async fn a_call_that_comes_before_a_late_timer_finds_the_bell_rung() {
    let (floor, mut coach, machine, bell) = working().await;
    tokio::time::sleep(59 * SECOND).await;
    machine.slip(Span::from_millis(1_900));
    // The snapshot still says work; a device that followed the clock past the bell says rest.
    let (one_more, id) = (Call::AddTime { span: Span::from_secs(30) }, request());
    let seen = Seen { segment: Some(REST), ..coach.seen() };
    coach.send(id, Deed::Command(Command::Call { id, call: one_more, seen }));
    assert_eq!(coach.answer(id).await, DONE);
    let Phase::Running { segment: REST, anchor, added, .. } = floor.clock_shown().phase else {
        panic!("{:?}", floor.clock_shown())
    };
    assert_eq!((anchor, added), (bell, Span::from_secs(30)));
}

#[tokio::test(start_paused = true)]
async fn a_machine_that_slept_through_bells_wakes_where_the_class_would_be() {
    let (floor, _coach, machine, bell) = working().await;
    tokio::time::sleep(10 * SECOND).await;
    machine.slip(Span::from_secs(55));
    assert!(floor.clock.now() > bell);
    // Timers see nothing of a sleep; whatever comes first makes the class look at its clock.
    floor.join("Ann").await;
    assert_eq!(after_bell(&floor).await.segment(), Some(REST));
    let Phase::Running { anchor, .. } = floor.clock_shown().phase else { panic!() };
    assert_eq!(anchor, bell);
}

/// An hour forth as in spring, an hour back as in autumn, and what a wrong time server may do.
#[tokio::test(start_paused = true)]
async fn a_wall_clock_that_is_set_moves_no_bell() {
    for step in [Span::from_mins(60), -Span::from_mins(60), Span::from_mins(60 * 24 * 365)] {
        let (floor, _coach, machine, bell) = working().await;
        let wall = floor.clock.wall();
        tokio::time::sleep(20 * SECOND).await;
        machine.step_wall(step);
        assert_ne!(floor.clock.wall() > wall, step < Span::ZERO);
        assert_eq!(floor.class_time(), Span::from_secs(20));
        let Phase::Running { segment: REST, anchor, .. } = after_bell(&floor).await else {
            panic!("{:?}", floor.clock_shown())
        };
        assert_eq!(anchor, bell);
        assert_eq!(floor.clock.now(), bell, "not a moment later");
        let floor = floor.restarted(5 * SECOND).await;
        assert_eq!(floor.class_time(), Span::from_secs(5));
    }
}
