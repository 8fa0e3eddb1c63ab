//! Calls that are taken back, in the sequences that a hurried coach makes.

use floorbell_core::class::clock::Phase;
use floorbell_core::class::command::{Call, Command};
use floorbell_core::class::refusal::Refusal;
use floorbell_core::ids::SegmentIndex;
use floorbell_core::score::{Standing, WhyNot};
use floorbell_core::session::layout::SegmentKind;
use floorbell_core::time::Span;

use crate::floor::{COACH, Floor, at, rounds, secs};

#[test]
fn a_hold_since_the_restart_still_held_once_the_restart_is_taken_back() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.pass(at("1:00"));
    let restart = floor.call(Call::Restart).expect("restarts");
    floor.pass(at("0:30"));
    floor.call(Call::Hold).expect("holds");
    floor.pass(at("5:00"));
    let work = floor.work();
    let in_hold = floor.tap_made(1, work, floor.now - at("2:00"));
    floor.call(Call::Resume).expect("resumes");
    floor.pass(secs(15));
    floor.take_back(restart).expect("until the piece's bell");
    assert_eq!(floor.class_time(), at("1:35"), "1:00 and 0:30 before the hold, 0:05 after it");
    let held = Standing::NotCounted { why: WhyNot::Held, marked: true };
    assert_eq!(floor.late(&in_hold), held, "nothing counts while people stood still");
    floor.check_replay();
}

#[test]
fn a_stop_since_the_restart_stands_when_the_restart_is_taken_back() {
    let mut floor = Floor::in_amrap(6);
    floor.pass(at("1:00"));
    let restart = floor.call(Call::Restart).expect("restarts");
    floor.pass(secs(5));
    floor.call(Call::Stop).expect("stops");
    floor.pass(at("1:00"));
    floor.take_back(restart).expect("until the piece's bell");
    let clock = floor.class.clock();
    assert!(clock.stopped && matches!(clock.phase, Phase::Held { .. }), "{clock:?}");
    assert_eq!(floor.class_time(), at("1:05"));
    floor.call(Call::Resume).expect("goes on from there");
    floor.pass(secs(12));
    assert_eq!(floor.class_time(), at("1:07"));
    floor.check_replay();
}

#[test]
fn bells_that_would_have_gone_are_in_their_place_among_later_holds() {
    let mut floor = Floor::in_amrap(1);
    let bell = floor.class.next_deadline().expect("work has a bell");
    floor.pass(secs(55));
    let restart = floor.call(Call::Restart).expect("restarts");
    floor.pass(secs(9));
    floor.call(Call::Hold).expect("holds the new lead-in");
    floor.pass(secs(20));
    floor.take_back(restart).expect("until the piece's bell");
    let rest = SegmentIndex(floor.work().0 + 1);
    let held = Phase::Held { segment: rest, class_time: secs(4), added: Span::ZERO };
    assert_eq!(floor.class.clock().phase, held, "the bell went 0:04 before the hold");
    let recorded = |due| {
        use floorbell_core::class::event::Event;
        let mut events = floor.journal.iter().map(|stamped| &stamped.event);
        events.any(|event| matches!(event, Event::Rang { due: at, .. } if *at == due))
    };
    assert!(recorded(bell));
    floor.check_replay();
}

#[test]
fn a_restart_is_offered_until_the_bell_whatever_was_held_since() {
    let mut floor = Floor::in_amrap(6);
    floor.pass(at("1:00"));
    let restart = floor.call(Call::Restart).expect("restarts");
    let offered = |floor: &Floor| floor.class.take_back(floor.now).map(|offer| offer.id);
    floor.pass(at("0:40"));
    let hold = floor.call(Call::Hold).expect("holds");
    assert_eq!(offered(&floor), Some(hold), "the last one first");
    floor.pass(secs(1));
    let resume = floor.call(Call::Resume).expect("resumes");
    assert_eq!(offered(&floor), Some(resume));
    assert_eq!(floor.take_back(hold), Err(Refusal::TooLateToTakeBack), "not under a later call");
    floor.pass(secs(11));
    assert_eq!(offered(&floor), Some(restart));
    floor.pass(at("6:00"));
    assert_eq!(offered(&floor), None, "the bell of the new run has gone");
    floor.call(Call::Hold).expect("holds the rest");
    floor.ask(COACH, Command::Close).expect("closes");
    assert_eq!(offered(&floor), None);
}

#[test]
fn a_restart_is_not_taken_back_once_the_coach_has_moved_on_from_it() {
    for on in [Call::Next, Call::Finish, Call::Back, Call::Restart] {
        let mut floor = Floor::in_amrap(6);
        floor.pass(at("1:00"));
        let restart = floor.call(Call::Restart).expect("restarts");
        floor.pass(at("0:40"));
        floor.call(on).expect("moves on");
        assert_eq!(floor.take_back(restart), Err(Refusal::TooLateToTakeBack), "{on:?}");
    }
}

#[test]
fn time_added_since_the_restart_stays_added() {
    let mut floor = Floor::in_amrap(6);
    floor.pass(at("1:00"));
    let restart = floor.call(Call::Restart).expect("restarts");
    floor.pass(at("0:30"));
    floor.call(Call::AddTime { span: secs(60) }).expect("adds");
    floor.take_back(restart).expect("until the piece's bell");
    assert_eq!(floor.class.next_deadline(), Some(floor.now + at("5:30")), "1:30 of 7:00 have run");
}

#[test]
fn resume_is_taken_back_into_the_hold_with_its_stop_notice() {
    let mut floor = Floor::in_amrap(6);
    floor.pass(at("1:00"));
    floor.call(Call::Stop).expect("stops");
    let revision = floor.class.clock().revision;
    let resume = floor.call(Call::Resume).expect("resumes");
    floor.pass(secs(9));
    floor.take_back(resume).expect("within 10 s");
    let clock = floor.class.clock();
    assert!(clock.stopped && matches!(clock.phase, Phase::Held { .. }), "{clock:?}");
    assert!(clock.revision > revision, "no screen may take it for the clock it had before");
    assert_eq!(clock.revision.0, revision.0 + 2);
}

#[test]
fn a_late_timer_does_not_lengthen_the_time_for_taking_a_restart_back() {
    let mut floor = Floor::in_amrap(1);
    floor.pass(secs(30));
    let restart = floor.call(Call::Restart).expect("restarts");
    floor.pass(secs(69));
    floor.now = floor.now + secs(1);
    assert_eq!(floor.take_back(restart), Err(Refusal::TooLateToTakeBack), "the bell is due");
}

#[test]
fn a_call_in_the_instant_of_a_bell_that_is_not_recorded_yet_sees_the_segment_after_it() {
    let mut floor = Floor::in_amrap(1);
    floor.join(1);
    let mut seen = floor.seen();
    seen.segment = Some(SegmentIndex(floor.work().0 + 1));
    floor.pass(secs(30));
    floor.tap(1);
    floor.now = floor.now + secs(31);
    let back = floor.call_seeing(Call::Back, seen).expect("the rest has just begun");
    assert_eq!(floor.kind(), Some(SegmentKind::Work));
    assert_eq!(floor.tally(1), None, "the work is done anew");
    floor.pass(secs(20));
    floor.take_back(back).expect("until the piece's bell");
    assert_eq!(floor.tally(1), rounds(1, 0));
}

#[test]
fn a_restart_after_the_third_window_voids_all_three_until_it_is_taken_back() {
    let mut floor = Floor::of(
        "# Windows\n\n## Quay: AMRAP 1 min, 4 times, rest 0:30 between\n\nAim: even\n\n- 10 air squats\n- 5 sit-ups\n",
    );
    floor.join(1);
    floor.call(Call::Start).expect("starts");
    floor.pass(secs(10));
    for _ in 0..3 {
        floor.pass(secs(40));
        floor.tap(1);
        floor.pass(secs(50));
    }
    let total = |floor: &Floor| floor.class.rows()[0].scores[0].tally;
    assert_eq!(total(&floor), rounds(3, 0));
    assert_eq!(floor.kind(), Some(SegmentKind::Work), "the fourth has just begun");
    let restart = floor.call(Call::Restart).expect("restarts the block");
    assert_eq!(total(&floor), None);
    floor.pass(secs(65));
    floor.take_back(restart).expect("until the first bell of the new run");
    assert_eq!(total(&floor), rounds(3, 0));
    floor.check_replay();
}
