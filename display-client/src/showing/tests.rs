//! Cases that the browser pages are held to as well (`web/test/clock.test.ts`), and what comes next.

use floorbell_core::ids::Revision;
use floorbell_core::session::AfterBell;
use floorbell_core::sync::Exchange;

use super::*;
use crate::testing::{house, running, segment};

fn plan() -> Plan {
    Plan::new(vec![
        segment(SegmentKind::Open, None, AfterBell::Wait),
        segment(SegmentKind::LeadIn, Some(10), AfterBell::Next),
        segment(SegmentKind::Work, Some(240), AfterBell::Next),
        segment(SegmentKind::Rest, Some(90), AfterBell::Next),
        segment(SegmentKind::Work, Some(240), AfterBell::Wait),
    ])
}

fn clock(phase: Phase) -> Clock {
    Clock { revision: Revision(1), phase, stopped: false }
}

fn shown_in(plan: &Plan, clock: &Clock, seconds: f64) -> String {
    match showing(clock, plan, house(seconds)) {
        Showing::Gathering => "gathering".to_owned(),
        Showing::Done => "done".to_owned(),
        Showing::Standing(now) => {
            format!("{} {:?} {}", now.index.0, now.kind_shown(), now.digits(house(seconds)))
        }
    }
}

fn shown(clock: &Clock, seconds: f64) -> String {
    shown_in(&plan(), clock, seconds)
}

#[test]
fn a_running_clock_goes_on_through_its_bells() {
    let clock = running(1, 100.0, 0, 0);
    for (seconds, expected) in [
        (99.998, "1 LeadIn 10"),
        (100.0, "1 LeadIn 10"),
        (100.001, "1 LeadIn 10"),
        (101.0, "1 LeadIn 9"),
        (109.999, "1 LeadIn 1"),
        (110.0, "2 Work 4:00"),
        (110.001, "2 Work 4:00"),
        (111.0, "2 Work 3:59"),
        (349.5, "2 Work 0:01"),
        (350.0, "3 Rest 1:30"),
        (440.0, "4 Work 4:00"),
        (680.0, "4 Work 0:00"),
        (680.4, "4 Work 0:00"),
        (681.0, "4 Work +0:01"),
        (743.0, "4 Work +1:03"),
    ] {
        assert_eq!(shown(&clock, seconds), expected, "at {seconds} s");
    }
}

#[test]
fn a_segment_without_a_length_counts_up_rounded_down() {
    let clock = running(0, 5.0, 0, 0);
    for (seconds, expected) in
        [(5.9, "0 Open 0:00"), (66.0, "0 Open 1:01"), (3667.0, "0 Open 1:01:02")]
    {
        assert_eq!(shown(&clock, seconds), expected);
    }
}

#[test]
fn added_time_moves_the_bell_of_that_segment_alone() {
    let clock = running(2, 0.0, 0, 60);
    for (seconds, expected) in [
        (0.0, "2 Work 5:00"),
        (299.0, "2 Work 0:01"),
        (300.0, "3 Rest 1:30"),
        (390.0, "4 Work 4:00"),
    ] {
        assert_eq!(shown(&clock, seconds), expected);
    }
}

#[test]
fn only_work_resumes_through_a_lead_in() {
    let work = running(2, 50.0, 170, 0);
    for (seconds, expected) in
        [(40.0, "2 LeadIn 10"), (49.2, "2 LeadIn 1"), (50.0, "2 Work 1:10"), (120.0, "3 Rest 1:30")]
    {
        assert_eq!(shown(&work, seconds), expected);
    }
    assert_eq!(shown(&running(3, 50.0, 30, 0), 49.99), "3 Rest 1:00");
    assert_eq!(shown(&running(2, 50.0, 0, 0), 49.98), "2 Work 4:00", "called just now");
}

#[test]
fn a_clock_that_does_not_run() {
    let (segment, class_time) = (SegmentIndex(2), Span::from_secs(170));
    let held = clock(Phase::Held { segment, class_time, added: Span::ZERO });
    let waiting = clock(Phase::Waiting { segment: SegmentIndex(4), since: house(680.0) });
    for (clock, seconds, expected) in [
        (&held, 1000.0, "2 Work 1:10"),
        (&held, 9000.0, "2 Work 1:10"),
        (&waiting, 680.2, "4 Work 0:00"),
        (&waiting, 705.0, "4 Work +0:25"),
        (&clock(Phase::Gathering), 1.0, "gathering"),
        (&clock(Phase::Done), 1.0, "done"),
        (&running(9, 0.0, 0, 0), 1.0, "gathering"),
    ] {
        assert_eq!(shown(clock, seconds), expected);
    }
}

#[test]
fn dropped_segments_are_passed_over_and_the_class_ends_by_itself() {
    let mut trimmed = plan().segments().to_vec();
    trimmed[3].dropped = true;
    let trimmed = Plan::new(trimmed);
    assert_eq!(shown_in(&trimmed, &running(2, 0.0, 0, 0), 240.0), "4 Work 4:00");
    let last = Plan::new(vec![segment(SegmentKind::Work, Some(60), AfterBell::Next)]);
    assert_eq!(shown_in(&last, &running(0, 0.0, 0, 0), 59.5), "0 Work 0:01");
    assert_eq!(shown_in(&last, &running(0, 0.0, 0, 0), 60.0), "done");
}

#[test]
fn the_last_seconds_of_a_rest_are_the_lead_in() {
    let rest = segment(SegmentKind::Rest, Some(90), AfterBell::Next);
    let rest = Segment { lead_in: Span::from_secs(10), ..rest };
    let plan = Plan::new(vec![rest, segment(SegmentKind::Work, Some(60), AfterBell::Wait)]);
    for (seconds, expected) in
        [(79.9, "0 Rest 0:11"), (80.0, "0 LeadIn 10"), (89.9, "0 LeadIn 1"), (90.0, "1 Work 1:00")]
    {
        assert_eq!(shown_in(&plan, &running(0, 0.0, 0, 0), seconds), expected);
    }
}

/// From change to change, every change of the digits is met, at its own instant.
#[test]
fn the_next_change_is_the_instant_at_which_something_else_is_shown() {
    let rest = segment(SegmentKind::Rest, Some(3), AfterBell::Next);
    let lead_in = Span::from_millis(1_500);
    let plan = Plan::new(vec![
        Segment { lead_in, ..rest },
        segment(SegmentKind::Work, Some(2), AfterBell::Wait),
    ]);
    let clock = running(0, 100.0, 0, 0);
    let mut at = house(100.0);
    let mut met = Vec::new();
    while at < house(107.0) {
        met.push((at.as_micros() / 1_000, shown_in(&plan, &clock, at.as_micros() as f64 / 1e6)));
        let Showing::Standing(now) = showing(&clock, &plan, at) else { panic!("a segment") };
        at = now.next_change(at).expect("a clock that runs changes");
    }
    let expected = [
        (100_000, "0 Rest 0:03"),
        (101_000, "0 Rest 0:02"),
        (101_500, "0 LeadIn 2"),
        (102_000, "0 LeadIn 1"),
        (103_000, "1 Work 0:02"),
        (104_000, "1 Work 0:01"),
        (105_000, "1 Work 0:00"),
        (106_000, "1 Work +0:01"),
    ];
    assert_eq!(met, expected.map(|(at, text)| (at, text.to_owned())));
}

#[test]
fn an_instant_is_shown_when_it_is_due_also_while_a_correction_is_met() {
    let device = DeviceTime::from_micros;
    let mut sync = Sync::new(Span::from_micros(1));
    assert_eq!(when_shown(&sync, device(0), house(1.0)), None);
    // Two exchanges that each take 200 ms and disagree by 100 ms, which is then met by and by.
    for (t0, t1) in [(0, 1_000_000), (500_000, 1_600_000)] {
        let (t1, t2) = (HouseTime::from_micros(t1), HouseTime::from_micros(t1));
        sync.take(Exchange { t0: device(t0), t1, t2, t3: device(t0 + 200_000 - t0 / 10) });
    }
    let now = device(700_000);
    let (shown, estimate) = (sync.shown(now).unwrap(), sync.estimate(now).unwrap());
    assert_ne!(shown.time, estimate.time, "a correction is under way");
    for ahead in [0, 10_000, 900_000, 5_000_000] {
        let at = shown.time + Span::from_micros(ahead);
        let due = when_shown(&sync, now, at).unwrap();
        let off = sync.shown(due).unwrap().time - at;
        assert!(off.as_micros().abs() <= 1, "{off:?} at {ahead}");
    }
}

#[test]
fn the_next_change_of_a_resume_a_count_up_and_a_hold() {
    let plan = plan();
    let next = |clock: &Clock, seconds| match showing(clock, &plan, house(seconds)) {
        Showing::Standing(now) => now.next_change(house(seconds)),
        _ => None,
    };
    assert_eq!(next(&running(2, 50.0, 170, 0), 40.0), Some(house(41.0)));
    assert_eq!(next(&running(2, 50.0, 170, 0), 49.5), Some(house(50.0)));
    assert_eq!(next(&running(0, 5.0, 0, 0), 7.25), Some(house(8.0)));
    let (segment, class_time) = (SegmentIndex(2), Span::ZERO);
    let held = clock(Phase::Held { segment, class_time, added: Span::ZERO });
    assert_eq!(next(&held, 1.0), None);
}
