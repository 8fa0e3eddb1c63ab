//! The class clock and what a coach says to it.

use floorbell_core::class::clock::Phase;
use floorbell_core::class::command::{Call, Command};
use floorbell_core::class::event::Event;
use floorbell_core::class::refusal::Refusal;
use floorbell_core::ids::{RequestId, SegmentIndex};
use floorbell_core::session::layout::SegmentKind;
use floorbell_core::time::Span;
use uuid::Uuid;

use crate::floor::{COACH, Floor, at, phone, rounds, secs};

#[test]
fn two_coaches_press_next_and_the_class_moves_one_segment() {
    let mut floor = Floor::in_amrap(6);
    let seen = floor.seen();
    floor.call_seeing(Call::Next, seen).expect("the first is carried out");
    let moved = floor.class.clock();
    floor.pass(Span::from_millis(90));
    let refused = floor.call_seeing(Call::Next, seen);
    assert_eq!(refused, Err(Refusal::Stale { last: Some(Call::Next) }));
    assert_eq!(floor.class.clock(), moved);
}

#[test]
fn a_call_made_while_a_bell_goes_is_stale() {
    let mut floor = Floor::in_amrap(6);
    let seen = floor.seen();
    floor.pass(at("6:01"));
    assert_eq!(floor.call_seeing(Call::Next, seen), Err(Refusal::Stale { last: None }));
    assert_eq!(floor.kind(), Some(SegmentKind::Rest));
}

#[test]
fn the_same_call_twice_is_carried_out_once() {
    let mut floor = Floor::in_amrap(6);
    let call = Command::Call {
        id: RequestId(Uuid::from_u128(77)),
        call: Call::AddTime { span: secs(60) },
        seen: floor.seen(),
    };
    assert_eq!(floor.ask(COACH, call.clone()), Ok(1));
    assert_eq!(floor.ask(COACH, call), Ok(0));
    assert_eq!(floor.class.next_deadline(), Some(floor.now + at("7:00")));
}

#[test]
fn next_by_mistake_taken_back_stands_at_three_fourteen() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.pass(at("3:10"));
    let mistake = floor.call(Call::Next).expect("moves on");
    floor.pass(secs(2));
    let work = floor.work();
    let made = floor.now;
    let tap = floor.tap_made(1, work, made);
    floor.send(&tap, made);
    floor.pass(secs(2));
    floor.take_back(mistake).expect("within 10 s");
    assert_eq!(floor.class_time(), at("3:14"));
    assert_eq!(floor.kind(), Some(SegmentKind::Work));
    assert_eq!(floor.tally(1), rounds(1, 0), "made in between, it counts");
    floor.check_replay();
}

#[test]
fn take_back_ends_after_ten_seconds_and_never_holds_for_stop() {
    for (wait, outcome) in [(10_000, Ok(1)), (10_001, Err(Refusal::TooLateToTakeBack))] {
        let mut floor = Floor::in_amrap(6);
        let hold = floor.call(Call::Hold).expect("holds");
        floor.pass(Span::from_millis(wait));
        assert_eq!(floor.take_back(hold), outcome, "{wait} ms");
    }
    let mut floor = Floor::in_amrap(6);
    let stop = floor.call(Call::Stop).expect("stops");
    assert!(matches!(floor.take_back(stop), Err(Refusal::NotNow(_))));
    let unknown = RequestId(Uuid::from_u128(404));
    assert_eq!(floor.take_back(unknown), Err(Refusal::NoSuchCall));
}

#[test]
fn a_taken_back_hold_leaves_the_bells_where_they_were() {
    let mut floor = Floor::in_amrap(1);
    let bell = floor.class.next_deadline().expect("work has a bell");
    floor.pass(secs(55));
    let hold = floor.call(Call::Hold).expect("holds");
    floor.pass(secs(8));
    floor.take_back(hold).expect("within 10 s");
    let rest = SegmentIndex(floor.work().0 + 1);
    assert_eq!(floor.class.clock().phase, Phase::begin(rest, bell), "the bell went meanwhile");
    assert_eq!(floor.class_time(), secs(3));
}

#[test]
fn hold_stands_still_and_resume_of_work_leads_in() {
    let mut floor = Floor::in_amrap(6);
    floor.pass(at("2:50"));
    floor.call(Call::Hold).expect("holds");
    floor.pass(secs(30));
    assert_eq!(floor.class_time(), at("2:50"));
    floor.call(Call::Resume).expect("resumes");
    floor.pass(secs(10));
    assert_eq!(floor.class_time(), at("2:50"), "the lead-in is not class time");
    floor.pass(secs(20));
    assert_eq!(floor.class_time(), at("3:10"));
    assert!(matches!(floor.call(Call::Resume), Err(Refusal::NotNow(_))));
}

#[test]
fn time_added_moves_the_bell_and_what_remains_is_never_negative() {
    let mut floor = Floor::in_amrap(6);
    floor.pass(at("5:00"));
    floor.call(Call::AddTime { span: secs(60) }).expect("adds");
    assert_eq!(floor.class.next_deadline(), Some(floor.now + at("2:00")));
    floor.call(Call::AddTime { span: -at("10:00") }).expect("takes away");
    assert_eq!(floor.kind(), Some(SegmentKind::Rest), "the bell goes at once");
    assert_eq!(floor.class_time(), Span::ZERO);
    for absurd in [Span::from_mins(61), Span::from_micros(i64::MIN)] {
        let refused = floor.call(Call::AddTime { span: absurd });
        assert!(matches!(refused, Err(Refusal::OutOfRange { .. })), "{refused:?}");
    }
}

#[test]
fn back_goes_to_the_start_and_within_two_seconds_to_the_segment_before() {
    let mut floor = Floor::in_amrap(6);
    floor.pass(at("6:30"));
    floor.call(Call::Back).expect("to the start of the rest");
    assert_eq!((floor.kind(), floor.class_time()), (Some(SegmentKind::Rest), Span::ZERO));
    floor.pass(secs(1));
    floor.call(Call::Back).expect("to the work before it");
    assert_eq!((floor.kind(), floor.class_time()), (Some(SegmentKind::Work), Span::ZERO));
    floor.pass(secs(11));
    assert_eq!(floor.class_time(), secs(1), "after a lead-in, for nobody is thrown into work");
}

#[test]
fn restart_voids_the_work_that_it_repeats_until_it_is_undone() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.pass(at("1:00"));
    floor.tap(1);
    assert_eq!(floor.tally(1), rounds(1, 0));
    let restart = floor.call(Call::Restart).expect("restarts the block");
    assert_eq!(floor.kind(), Some(SegmentKind::LeadIn));
    assert_eq!(floor.tally(1), None);
    floor.pass(at("0:40"));
    floor.tap(1);
    assert_eq!(floor.tally(1), rounds(1, 0), "of the new run");
    floor.take_back(restart).expect("until the piece's bell");
    assert_eq!(floor.class_time(), at("1:40"));
    assert_eq!(floor.tally(1), rounds(2, 0), "both runs are one again");
    floor.check_replay();
}

#[test]
fn restart_is_not_undone_after_the_bell_of_the_new_run() {
    let mut floor = Floor::in_amrap(1);
    floor.pass(secs(30));
    let restart = floor.call(Call::Restart).expect("restarts");
    floor.pass(secs(70));
    assert_eq!(floor.take_back(restart), Err(Refusal::TooLateToTakeBack));
}

#[test]
fn stop_holds_and_stands_until_resume() {
    let mut floor = Floor::in_amrap(6);
    floor.pass(at("1:00"));
    let stale = floorbell_core::class::command::Seen { segment: None, ..floor.seen() };
    floor.call_seeing(Call::Stop, stale).expect("stop is never stale");
    let clock = floor.class.clock();
    assert!(clock.stopped && matches!(clock.phase, Phase::Held { .. }), "{clock:?}");
    assert!(matches!(floor.call(Call::Next), Err(Refusal::NotNow(_))));
    floor.call(Call::Resume).expect("resumes");
    assert!(!floor.class.clock().stopped);
    floor.pass(secs(15));
    assert_eq!(floor.class_time(), at("1:05"));
}

#[test]
fn a_bell_that_waits_overruns_until_next() {
    let mut floor = Floor::of("# Talk\n\n## Talk 2 min\n\n## Cool-down 3 min\n");
    floor.call(Call::Start).expect("starts");
    floor.pass(at("2:30"));
    assert!(floor.waits());
    assert_eq!(floor.class.next_deadline(), None);
    floor.call(Call::Next).expect("goes on");
    assert_eq!(floor.class_time(), Span::ZERO);
    assert_eq!(floor.class.projected_end(floor.now), floor.now + at("3:00"));
}

#[test]
fn a_late_timer_changes_no_recorded_instant() {
    let mut prompt = Floor::in_amrap(6);
    let mut late = Floor::in_amrap(6);
    let bell = late.class.next_deadline().expect("work has a bell");
    prompt.pass(at("6:02"));
    late.now = bell + secs(2);
    let events = late.class.due(late.now);
    let [Event::Rang { due, .. }] = events[..] else { panic!("one bell: {events:?}") };
    assert_eq!(due, bell);
    let stamped = late.class.stamp(late.now, events[0].clone());
    late.class.apply(&stamped);
    assert_eq!(late.class.clock(), prompt.class.clock());
}

#[test]
fn next_in_a_rest_that_flows_into_work_goes_to_its_lead_in() {
    let mut floor = Floor::of(
        "# Windows\n\n## Quay: AMRAP 4 min, 2 times, rest 1:30 between\n\nAim: even\n\n- 10 air squats\n",
    );
    floor.call(Call::Start).expect("starts");
    floor.pass(at("4:20"));
    assert_eq!(floor.kind(), Some(SegmentKind::Rest));
    floor.call(Call::Next).expect("to the lead-in");
    assert_eq!(floor.kind(), Some(SegmentKind::Rest));
    assert_eq!(floor.class.next_deadline(), Some(floor.now + secs(10)));
    floor.call(Call::Next).expect("straight into work");
    assert_eq!(floor.kind(), Some(SegmentKind::Work));
}

#[test]
fn finish_goes_on_to_the_next_block_and_jump_anywhere() {
    let mut floor = Floor::in_amrap(6);
    floor.call(Call::Finish).expect("the piece is over");
    assert_eq!(floor.kind(), Some(SegmentKind::Rest));
    floor.call(Call::Jump { to: floor.work() }).expect("jumps");
    assert_eq!(floor.kind(), Some(SegmentKind::Work));
    let nowhere = Call::Jump { to: SegmentIndex(99) };
    assert_eq!(floor.call(nowhere), Err(Refusal::NotInSheet("segment")));
}

#[test]
fn a_phone_calls_nothing() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    let id = RequestId(Uuid::from_u128(9));
    let call = Command::Call { id, call: Call::Hold, seen: floor.seen() };
    assert_eq!(floor.ask(phone(1), call), Err(Refusal::CoachOnly));
    assert_eq!(floor.ask(phone(1), Command::Close), Err(Refusal::CoachOnly));
}

#[test]
fn a_closed_class_takes_late_taps_and_nothing_else() {
    let mut floor = Floor::in_amrap(1);
    floor.join(1);
    floor.pass(secs(30));
    let work = floor.work();
    let made = floor.now;
    let tap = floor.tap_made(1, work, made);
    floor.pass(at("2:00"));
    floor.ask(COACH, Command::Close).expect("closes");
    assert_eq!(floor.call(Call::Next), Err(Refusal::Closed));
    floor.late(&tap);
    assert_eq!(floor.tally(1), rounds(1, 0));
    assert_eq!(floor.class.next_deadline(), None);
}
