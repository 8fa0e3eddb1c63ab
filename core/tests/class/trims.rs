//! Segments that are left out, shortened and put back while a class runs.

use floorbell_core::class::clock::Phase;
use floorbell_core::class::command::{Call, Command, Trim};
use floorbell_core::class::refusal::Refusal;
use floorbell_core::ids::SegmentIndex;
use floorbell_core::session::layout::SegmentKind;
use floorbell_core::time::Span;

use crate::floor::{COACH, Floor, at, athlete, rounds, secs};

fn trim(floor: &mut Floor, segment: u32, trim: Trim) -> Result<usize, Refusal> {
    floor.ask(COACH, Command::Trim { segment: SegmentIndex(segment), trim })
}

/// The kept segments: `l` lead-in, `w` work, `r` rest, `o` open, each with its index.
fn kept(floor: &Floor) -> String {
    let kept = floor.class.plan().kept().map(|(index, segment)| {
        let letter = match segment.kind {
            SegmentKind::Open => 'o',
            SegmentKind::LeadIn => 'l',
            SegmentKind::Work => 'w',
            SegmentKind::Rest => 'r',
        };
        format!("{letter}{index}")
    });
    kept.collect::<Vec<_>>().join(" ")
}

/// Four windows of 1:00 with rests of 0:30 between, and a second piece after them.
fn four_windows() -> Floor {
    let floor = Floor::of(
        "# Windows\n\n## Quay: AMRAP 1 min, 4 times, rest 0:30 between\n\nAim: even\n\n\
         - 10 air squats\n- 5 sit-ups\n\n## Pier: AMRAP 1 min\n\nAim: even\n\n- 10 air squats\n- 5 sit-ups\n",
    );
    assert_eq!(kept(&floor), "l0 w1 r2 w3 r4 w5 r6 w7 l8 w9");
    floor
}

#[test]
fn work_takes_along_the_rest_that_would_have_no_work_on_one_side() {
    for (dropped, expected) in [
        (1, "l0 w3 r4 w5 r6 w7 l8 w9"),
        (3, "l0 w1 r4 w5 r6 w7 l8 w9"),
        (7, "l0 w1 r2 w3 r4 w5 l8 w9"),
        (9, "l0 w1 r2 w3 r4 w5 r6 w7"),
    ] {
        let mut floor = four_windows();
        trim(&mut floor, dropped, Trim::Drop).expect("leaves it out");
        assert_eq!(kept(&floor), expected, "without {dropped}");
        assert_eq!(trim(&mut floor, dropped, Trim::Drop), Ok(0), "the same again changes nothing");
        assert_eq!(kept(&floor), expected, "without {dropped}, asked twice");
        trim(&mut floor, dropped, Trim::Restore).expect("puts it back");
        assert_eq!(floor.class.plan(), four_windows().class.plan());
    }
    let mut floor = four_windows();
    for window in [1, 3, 5, 7] {
        trim(&mut floor, window, Trim::Drop).expect("leaves it out");
    }
    assert_eq!(kept(&floor), "l8 w9", "a lone window takes its lead-in along");
}

#[test]
fn the_rest_between_two_repeats_stays_while_there_is_work_on_both_sides() {
    let sheet = "# Repeats\n\n## every 1 min for 2 min\n\n\
                 Repeat: 2 times, rest 1:00 between\n\nAim: even\n\n- 9 sit-ups\n";
    for (dropped, expected) in [(2, "l0 w1 r3 w4 w5"), (4, "l0 w1 w2 r3 w5")] {
        let mut floor = Floor::of(sheet);
        assert_eq!(kept(&floor), "l0 w1 w2 r3 w4 w5");
        trim(&mut floor, dropped, Trim::Drop).expect("leaves it out");
        assert_eq!(kept(&floor), expected, "without {dropped}");
    }
}

#[test]
fn the_last_window_dropped_in_the_rest_before_it_leaves_the_clock_waiting_at_its_end() {
    let mut floor = four_windows();
    floor.call(Call::Start).expect("starts");
    floor.pass(at("4:20"));
    assert_eq!(floor.class.clock().phase.segment(), Some(SegmentIndex(6)), "in the last rest");
    trim(&mut floor, 7, Trim::Drop).expect("leaves the last window out");
    assert_eq!(kept(&floor), "l0 w1 r2 w3 r4 w5 r6 l8 w9", "the rest has begun: it stays");
    let phase = floor.class.clock().phase;
    let Phase::Running { segment: rest, .. } = phase else { panic!("{phase:?}") };
    let rest = floor.class.plan().get(rest).expect("it runs").clone();
    assert_eq!(rest.lead_in, Span::ZERO, "it leads into nothing any more");
    floor.pass(at("1:00"));
    assert!(floor.waits(), "nobody is led into the next piece before the coach calls it");
    trim(&mut floor, 8, Trim::Restore).expect("another block");
    floor.call(Call::Next).expect("goes on");
    assert_eq!(floor.class.clock().phase.segment(), Some(SegmentIndex(8)));
    floor.check_replay();
}

#[test]
fn the_last_window_put_back_in_the_rest_before_it_is_flowed_into_again() {
    let mut floor = four_windows();
    floor.call(Call::Start).expect("starts");
    floor.pass(at("4:20"));
    trim(&mut floor, 7, Trim::Drop).expect("leaves it out");
    trim(&mut floor, 7, Trim::Restore).expect("puts it back");
    assert_eq!(floor.class.plan(), four_windows().class.plan());
    floor.call(Call::Next).expect("to the lead-in");
    floor.pass(secs(11));
    assert_eq!((floor.kind(), floor.class_time()), (Some(SegmentKind::Work), secs(1)));
}

#[test]
fn a_window_dropped_in_the_rest_before_it_leaves_one_rest_before_the_next() {
    let mut floor = four_windows();
    floor.call(Call::Start).expect("starts");
    floor.pass(at("1:20"));
    trim(&mut floor, 3, Trim::Drop).expect("leaves the second window out");
    assert_eq!(kept(&floor), "l0 w1 r2 w5 r6 w7 l8 w9");
    floor.pass(secs(21));
    assert_eq!((floor.kind(), floor.class_time()), (Some(SegmentKind::Work), secs(1)));
    assert_eq!(floor.class.clock().phase.segment(), Some(SegmentIndex(5)));
}

#[test]
fn a_lone_window_dropped_in_its_lead_in_waits_at_the_end_of_it() {
    let mut floor = Floor::in_amrap(6);
    floor.call(Call::Restart).expect("to the lead-in");
    trim(&mut floor, 1, Trim::Drop).expect("leaves the work out");
    floor.pass(secs(11));
    assert_eq!(floor.kind(), Some(SegmentKind::Rest), "what followed the work follows");

    let mut floor =
        Floor::of("# One\n\n## Quay: AMRAP 1 min\n\nAim: even\n\n- 10 air squats\n- 5 sit-ups\n");
    floor.call(Call::Start).expect("starts");
    trim(&mut floor, 1, Trim::Drop).expect("leaves the work out");
    floor.pass(secs(11));
    assert!(floor.waits());
}

#[test]
fn a_rest_that_waits_and_is_left_out_hands_its_wait_to_the_work_before_it() {
    let mut floor = Floor::of(
        "# Two\n\n## Quay: AMRAP 1 min\n\nAim: even\n\n- 10 air squats\n- 5 sit-ups\n\n\
         ## Rest 5 min, then wait\n\n## Pier: AMRAP 1 min\n\nAim: even\n\n- 10 air squats\n- 5 sit-ups\n",
    );
    assert_eq!(kept(&floor), "l0 w1 r2 l3 w4");
    let written = floor.class.plan().clone();
    floor.call(Call::Start).expect("starts");
    trim(&mut floor, 2, Trim::Drop).expect("leaves it out");
    floor.pass(at("1:30"));
    assert!(floor.waits(), "the coach still calls the second piece");
    trim(&mut floor, 2, Trim::Restore).expect("puts it back");
    assert_eq!(floor.class.plan(), &written);
    floor.check_replay();
}

#[test]
fn a_window_is_trimmed_while_the_clock_is_held() {
    let mut floor = four_windows();
    floor.call(Call::Start).expect("starts");
    floor.pass(secs(30));
    floor.call(Call::Stop).expect("stops");
    trim(&mut floor, 7, Trim::Drop).expect("leaves the last window out");
    trim(&mut floor, 5, Trim::Length { span: secs(20) }).expect("shortens the third");
    assert!(matches!(trim(&mut floor, 1, Trim::Drop), Err(Refusal::NotNow(_))), "held in it");
    for absurd in [Span::ZERO, secs(-5), secs(10_801), Span::from_micros(i64::MAX)] {
        let refused = trim(&mut floor, 5, Trim::Length { span: absurd });
        assert!(matches!(refused, Err(Refusal::OutOfRange { .. })), "{absurd}");
    }
    floor.call(Call::Resume).expect("resumes");
    floor.pass(at("3:09"));
    assert!(!floor.waits());
    floor.pass(secs(1));
    assert!(floor.waits(), "0:40 + 0:30 + 1:00 + 0:30 + 0:20, and the lead-in of the resume");
    floor.check_replay();
}

#[test]
fn a_window_of_another_length_places_its_taps_anew() {
    let mut floor = four_windows();
    floor.join(1);
    floor.call(Call::Start).expect("starts");
    floor.call(Call::Jump { to: SegmentIndex(7) }).expect("too far");
    floor.pass(secs(60));
    floor.tap(1);
    floor.call(Call::Jump { to: SegmentIndex(1) }).expect("back again");
    trim(&mut floor, 7, Trim::Length { span: secs(40) }).expect("shortens it");
    assert_eq!(floor.class.tally(athlete(1), SegmentIndex(7)), rounds(1, 0));
    let before = floor.class.clone();
    floor.call(Call::Hold).expect("any call has everything counted anew");
    let all = |class: &floorbell_core::class::Class| class.windows(athlete(1));
    assert_eq!(all(&before)[1], all(&floor.class)[1]);
    floor.check_replay();
}

#[test]
fn the_projected_end_holds_through_holds_and_change_overs() {
    let mut floor = Floor::of(
        "# Evening\n\n## Warm-up, coach-led\n\n- plank 20 s\n- 5 squats\n\n## Talk\n\n## Cool-down 3 min\n",
    );
    let end = |floor: &Floor| floor.class.projected_end(floor.now);
    let planned: Span = floor.class.plan().segments().iter().map(|segment| segment.planned).sum();
    assert_eq!(end(&floor), floor.now + planned);
    floor.call(Call::Start).expect("starts");
    let begun = end(&floor);
    assert_eq!(begun, floor.now + planned, "with the change-over after the plank");
    floor.call(Call::Jump { to: SegmentIndex(2) }).expect("to the talk, which has no length");
    let begun = end(&floor);
    floor.pass(at("1:00"));
    assert_eq!(end(&floor), begun);
    floor.call(Call::Hold).expect("holds");
    floor.pass(at("0:30"));
    floor.call(Call::Resume).expect("resumes");
    assert_eq!(end(&floor), begun + at("0:30"), "what had run before the hold counts");
    floor.pass(at("5:00"));
    assert_eq!(end(&floor), floor.now + at("3:00"), "overrun, it is over now at the earliest");

    let mut floor = Floor::in_amrap(6);
    floor.pass(at("1:00"));
    let begun = end(&floor);
    floor.call(Call::AddTime { span: at("1:00") }).expect("adds");
    assert_eq!(end(&floor), begun + at("1:00"));
    floor.call(Call::Hold).expect("holds");
    floor.pass(at("0:20"));
    assert_eq!(end(&floor), begun + at("1:20"));
    floor.call(Call::Resume).expect("resumes");
    assert_eq!(end(&floor), begun + at("1:30"), "with the lead-in");
}

#[test]
fn what_has_not_begun_is_trimmed_and_restored() {
    let mut floor = Floor::of(
        "# Windows\n\n## Quay: AMRAP 4 min, 4 times, rest 1:30 between\n\nAim: even\n\n- 10 air squats\n- 5 sit-ups\n\n## Talk 2 min\n",
    );
    floor.call(Call::Start).expect("starts");
    let end = floor.class.projected_end(floor.now);
    let last = SegmentIndex(7);
    assert_eq!(floor.class.plan().get(last).expect("eight segments").kind, SegmentKind::Work);
    floor.ask(COACH, Command::Trim { segment: last, trim: Trim::Drop }).expect("drops a round");
    assert_eq!(end - floor.class.projected_end(floor.now), at("5:30"), "with the rest before it");
    floor.pass(at("15:10"));
    assert!(floor.waits(), "the bell of what is now the last window waits, as the dropped one did");
    let begun = Command::Trim { segment: SegmentIndex(1), trim: Trim::Drop };
    assert!(matches!(floor.ask(COACH, begun), Err(Refusal::NotNow(_))));
    floor.ask(COACH, Command::Trim { segment: last, trim: Trim::Restore }).expect("puts it back");
    floor.call(Call::Next).expect("goes on");
    assert_eq!(floor.kind(), Some(SegmentKind::Rest));
    floor.check_replay();
}

#[test]
fn a_rest_left_out_keeps_the_lead_in_of_the_work_after_it() {
    let mut floor = Floor::of(
        "# Two\n\n## Quay: AMRAP 1 min\n\nAim: even\n\n- 10 air squats\n- 5 sit-ups\n\n## Rest 5 min\n\n\
         ## Pier: AMRAP 1 min\n\nAim: even\n\n- 10 air squats\n- 5 sit-ups\n",
    );
    floor.call(Call::Start).expect("starts");
    let rest = SegmentIndex(2);
    assert_eq!(floor.class.plan().get(rest).expect("four segments").kind, SegmentKind::Rest);
    floor.ask(COACH, Command::Trim { segment: rest, trim: Trim::Drop }).expect("leaves it out");
    floor.pass(secs(75));
    assert_eq!((floor.kind(), floor.class_time()), (Some(SegmentKind::Rest), secs(5)));
    floor.pass(secs(6));
    assert_eq!((floor.kind(), floor.class_time()), (Some(SegmentKind::Work), secs(1)));

    let mut floor =
        Floor::of("# One\n\n## Quay: AMRAP 1 min\n\nAim: even\n\n- 10 air squats\n- 5 sit-ups\n");
    let lead_in = Command::Trim { segment: SegmentIndex(0), trim: Trim::Drop };
    assert!(matches!(floor.ask(COACH, lead_in), Err(Refusal::NotNow(_))));
}
