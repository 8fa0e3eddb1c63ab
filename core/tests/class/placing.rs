//! Where a tap belongs that was made, or comes, at an awkward instant.

use floorbell_core::class::clock::Phase;
use floorbell_core::class::command::{Call, Command, Counts, Reached, Tap};
use floorbell_core::ids::{BlockIndex, MovementIndex, SegmentIndex};
use floorbell_core::score::{Mark, Standing, WhyNot};
use floorbell_core::session::layout::SegmentKind;
use floorbell_core::time::{HouseTime, Span};

use crate::floor::{COACH, Floor, NOTHING_HEARD, at, athlete, phone, rounds, secs};

fn counted(at: Span) -> Standing {
    Standing::Counted { at, mark: None }
}

fn marked(at: Span, mark: Mark) -> Standing {
    Standing::Counted { at, mark: Some(mark) }
}

fn not_counted(why: WhyNot, marked: bool) -> Standing {
    Standing::NotCounted { why, marked }
}

/// Two windows of one minute with a rest of 0:30 between, run up to the start of the first.
fn two_windows() -> Floor {
    let mut floor = Floor::of(
        "# Windows\n\n## Quay: AMRAP 1 min, 2 times, rest 0:30 between\n\nAim: even\n\n\
         - 10 air squats\n- 5 sit-ups\n\n## Talk\n",
    );
    floor.join(1);
    floor.call(Call::Start).expect("starts");
    floor.pass(secs(10));
    floor
}

/// Two windows of one minute that flow into one another.
fn flowing_windows() -> Floor {
    let mut floor = Floor::of(
        "# Windows\n\n## Quay: AMRAP 1 min, 2 times\n\nAim: even\n\n- 10 air squats\n- 5 sit-ups\n\n## Talk\n",
    );
    floor.join(1);
    floor.call(Call::Start).expect("starts");
    floor.pass(secs(10));
    floor
}

#[test]
fn after_a_bell_that_flows_into_work_a_tap_belongs_to_what_it_names_for_two_seconds() {
    let (first, second) = (SegmentIndex(1), SegmentIndex(2));
    for (named, after_bell, segment, expected) in [
        (first, secs(2), first, marked(at("1:00"), Mark::AfterBell)),
        (
            first,
            Span::from_millis(2_001),
            second,
            marked(Span::from_millis(2_001), Mark::OtherSegment),
        ),
        (second, secs(6), second, counted(secs(6))),
    ] {
        let mut floor = flowing_windows();
        let start = floor.now;
        floor.pass(at("1:10"));
        assert_eq!(floor.class.plan().get(second).map(|s| s.kind), Some(SegmentKind::Work));
        let tap = floor.tap_made(1, named, start + at("1:00") + after_bell);
        assert_eq!(floor.late(&tap), expected, "{after_bell} after the bell");
        assert_eq!(floor.class.tally(athlete(1), segment), rounds(1, 0));
    }
}

#[test]
fn a_late_tap_that_names_an_earlier_window_counts_where_it_was_made() {
    let mut floor = two_windows();
    let (first, second) = (SegmentIndex(1), SegmentIndex(3));
    let start = floor.now;
    floor.pass(at("3:00"));
    let tap = floor.tap_made(1, first, start + at("2:10"));
    assert_eq!(floor.late(&tap), marked(secs(40), Mark::OtherSegment));
    assert_eq!(floor.class.tally(athlete(1), second), rounds(1, 0));
    assert_eq!(floor.class.tally(athlete(1), first), None);
    let windows = floor.class.windows(athlete(1));
    assert_eq!(windows.iter().map(|window| window.segment).collect::<Vec<_>>(), [first, second]);
    let score = &floor.class.rows()[0].scores[0];
    assert_eq!((score.block, score.marked), (BlockIndex(0), true));
}

#[test]
fn a_hold_in_the_lead_in_of_a_resume_gives_no_round() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.pass(at("2:50"));
    floor.call(Call::Hold).expect("holds");
    floor.pass(secs(30));
    floor.call(Call::Resume).expect("resumes");
    floor.pass(secs(5));
    let heard = floor.class.clock().revision;
    floor.call(Call::Hold).expect("holds again in the lead-in");
    floor.pass(secs(1));
    let tap = Tap { heard, ..floor.tap_now(1) };
    assert_eq!(floor.late(&tap), not_counted(WhyNot::Held, true));
    floor.call(Call::Resume).expect("resumes");
    floor.pass(secs(11));
    assert_eq!(floor.class_time(), at("2:51"), "no class time was lost or won");
    floor.check_replay();
}

#[test]
fn next_in_the_lead_in_of_a_resume_ends_the_work_where_it_stood() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.pass(at("2:50"));
    floor.tap(1);
    floor.call(Call::Hold).expect("holds");
    floor.pass(secs(30));
    floor.call(Call::Resume).expect("resumes");
    floor.pass(secs(5));
    let work = floor.work();
    floor.call(Call::Next).expect("no more of it");
    assert_eq!((floor.kind(), floor.class_time()), (Some(SegmentKind::Rest), Span::ZERO));
    let tap = floor.tap_made(1, work, floor.now);
    assert_eq!(floor.late(&tap), not_counted(WhyNot::AfterBell, true));
    assert_eq!(floor.tally(1), rounds(1, 0));
}

#[test]
fn a_stop_during_a_rest_holds_it_and_resume_goes_on_with_it() {
    let mut floor = two_windows();
    floor.pass(at("1:10"));
    floor.call(Call::Stop).expect("stops");
    floor.pass(at("2:00"));
    assert_eq!((floor.kind(), floor.class_time()), (Some(SegmentKind::Rest), secs(10)));
    floor.call(Call::Resume).expect("resumes");
    assert_eq!(floor.class.next_deadline(), Some(floor.now + secs(20)), "no lead-in but its own");
}

#[test]
fn a_tap_after_work_was_started_anew_belongs_to_the_run_that_is_void() {
    for call in [Call::Restart, Call::Back, Call::Jump { to: SegmentIndex(1) }] {
        let mut floor = Floor::in_amrap(6);
        floor.join(1);
        floor.pass(at("1:00"));
        let work = floor.work();
        let heard = floor.class.clock().revision;
        let first = floor.tap_now(1);
        floor.late(&first);
        floor.call(call).expect("starts anew");
        floor.pass(secs(1));
        let unheard = Tap { heard, ..floor.tap_made(1, work, floor.now) };
        assert_eq!(floor.late(&unheard), not_counted(WhyNot::Repeated, false), "{call:?}");
        let before = floor.class.standing(athlete(1), first.id);
        assert_eq!(before, Some(not_counted(WhyNot::Repeated, false)), "{call:?}");
        floor.pass(secs(4));
        let in_lead_in = floor.tap_made(1, work, floor.now);
        assert_eq!(floor.late(&in_lead_in), not_counted(WhyNot::LeadIn, false), "{call:?}");
        floor.pass(secs(15));
        assert_eq!(floor.tap(1), counted(secs(10)), "{call:?}");
        assert_eq!(floor.tally(1), rounds(1, 0), "{call:?}");
    }
}

#[test]
fn back_from_the_end_starts_the_last_work_anew() {
    let mut floor =
        Floor::of("# One\n\n## Quay: AMRAP 1 min\n\nAim: even\n\n- 10 air squats\n- 5 sit-ups\n");
    floor.join(1);
    floor.call(Call::Start).expect("starts");
    floor.pass(secs(40));
    floor.tap(1);
    floor.pass(secs(40));
    assert!(floor.waits());
    floor.call(Call::Next).expect("nothing follows");
    assert_eq!(floor.class.clock().phase, Phase::Done);
    let back = floor.call(Call::Back).expect("starts it anew");
    assert_eq!((floor.kind(), floor.tally(1)), (Some(SegmentKind::Work), None));
    floor.pass(secs(30));
    floor.take_back(back).expect("until the bell");
    assert_eq!(floor.class.clock().phase, Phase::Done);
    assert_eq!(floor.tally(1), rounds(1, 0));
    floor.check_replay();
}

#[test]
fn a_class_closed_in_the_middle_of_work_takes_no_taps_made_since() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.pass(at("3:00"));
    let work = floor.work();
    let made = floor.now;
    let before = floor.tap_made(1, work, made);
    let mut revision = floor.class.clock().revision;
    floor.ask(COACH, Command::Close).expect("closes");
    revision.0 += 1;
    assert_eq!(floor.class.clock().phase, Phase::Done, "no screen counts on");
    assert_eq!(floor.class.clock().revision, revision);
    floor.pass(at("4:00"));
    assert_eq!(floor.late(&before), marked(at("3:00"), Mark::AfterBell));
    let since = floor.tap_made(1, work, made + at("1:00"));
    assert_eq!(floor.late(&since), not_counted(WhyNot::AfterBell, true));
    let reached = Reached { movement: MovementIndex(0), reps: 4 };
    let extra = Command::EnterExtra { athlete: athlete(1), segment: work, reached };
    floor.ask(phone(1), extra).expect("the work is over");
    assert_eq!(floor.tally(1), rounds(1, 4));
    floor.check_replay();
}

#[test]
fn closing_takes_the_stop_notice_away_for_nobody_else_could() {
    let mut floor = Floor::in_amrap(6);
    floor.call(Call::Stop).expect("stops");
    floor.ask(COACH, Command::Close).expect("closes");
    assert!(!floor.class.clock().stopped);
    let mut floor = Floor::of("# Talk\n\n## Talk 2 min\n");
    floor.ask(COACH, Command::Close).expect("closes before it began");
    assert_eq!(floor.class.clock().phase, Phase::Gathering);
    assert_eq!(floor.class.started(), None);
}

#[test]
fn finish_in_a_rest_throws_nobody_into_the_work_after_it() {
    let mut floor = Floor::of(
        "# Two\n\n## Quay: AMRAP 1 min\n\nAim: even\n\n- 10 air squats\n- 5 sit-ups\n\n## Rest 5 min\n\n\
         ## Pier: AMRAP 1 min\n\nAim: even\n\n- 10 air squats\n- 5 sit-ups\n",
    );
    floor.call(Call::Start).expect("starts");
    floor.pass(at("2:00"));
    assert_eq!(floor.kind(), Some(SegmentKind::Rest));
    floor.call(Call::Finish).expect("the rest is over");
    floor.pass(secs(11));
    assert_eq!((floor.kind(), floor.class_time()), (Some(SegmentKind::Work), secs(1)));
}

#[test]
fn no_date_however_absurd_breaks_the_class_or_counts_unmarked() {
    let (least, most) = (i64::MIN, i64::MAX);
    for (made, bound) in
        [(most, 0), (most, most), (most, least), (least, 0), (least, most), (least, least)]
    {
        let mut floor = Floor::in_amrap(6);
        floor.join(1);
        floor.pass(at("1:00"));
        let work = floor.work();
        let honest = floor.tap_now(1);
        floor.late(&honest);
        let absurd = Tap {
            made_at: HouseTime::from_micros(made),
            bound: Span::from_micros(bound),
            ..floor.tap_made(1, work, floor.now)
        };
        let standing = floor.late(&absurd);
        floor.pass(at("1:00"));
        floor.call(Call::Hold).expect("holds");
        floor.call(Call::Resume).expect("resumes");
        floor.pass(at("6:00"));
        let later = floor.class.standing(athlete(1), absurd.id);
        assert_eq!(later, Some(standing.clone()), "no call or bell since has moved it");
        if made == least {
            assert_eq!(standing, not_counted(WhyNot::NotWork, false));
        } else {
            assert!(
                matches!(standing, Standing::Counted { at, .. } if at == secs(60)),
                "{standing:?}"
            );
        }
        floor.check_replay();
    }
}

#[test]
fn taps_of_a_clock_that_is_set_right_keep_their_order_and_their_splits() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    let work = floor.work();
    floor.pass(at("1:00"));
    let ahead = floor.tap_made(1, work, floor.now + at("60:00"));
    assert_eq!(floor.late(&ahead), marked(at("1:00"), Mark::AheadOfTime));
    for minute in 2..=4 {
        floor.pass(at("1:00"));
        assert_eq!(floor.tap(1), counted(secs(60 * minute)));
    }
    assert_eq!(floor.tally(1), rounds(4, 0));
    assert_eq!(floor.class.windows(athlete(1))[0].splits, [secs(60); 4]);
}

#[test]
fn a_tap_dated_ahead_inside_its_bound_is_placed_no_later_than_it_came() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.pass(at("5:59") + Span::from_millis(998));
    let work = floor.work();
    let tap = floor.tap_made(1, work, floor.now + Span::from_millis(5));
    assert_eq!(floor.late(&tap), counted(at("5:59") + Span::from_millis(998)));
    floor.pass(secs(5));
    let standing = floor.class.standing(athlete(1), tap.id);
    assert_eq!(standing, Some(counted(at("5:59") + Span::from_millis(998))));
}

#[test]
fn undo_that_comes_before_its_tap_takes_it_back_all_the_same() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.pass(at("1:00"));
    let tap = floor.tap_now(1);
    let undo = Command::Undo { athlete: athlete(1), of: tap.id };
    assert_eq!(floor.ask(phone(1), undo.clone()), Ok(1));
    assert_eq!(floor.ask(phone(1), undo), Ok(0), "the same again changes nothing");
    assert_eq!(floor.late(&tap), not_counted(WhyNot::Undone, false));
    floor.pass(Span::from_millis(300));
    assert_eq!(
        floor.tap(1),
        counted(at("1:00") + Span::from_millis(300)),
        "what was taken back is no first tap of two"
    );
    floor.check_replay();
}

#[test]
fn a_round_caught_up_within_400_ms_of_a_tap_is_one_of_its_own() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.pass(at("2:00"));
    floor.tap(1);
    floor.pass(Span::from_millis(300));
    let forgotten = Tap { counts: Counts::RoundBefore, ..floor.tap_now(1) };
    floor.late(&forgotten);
    assert_eq!(floor.tally(1), rounds(2, 0));
}

#[test]
fn an_unheard_rest_is_marked_and_a_heard_one_is_not() {
    let mut floor = two_windows();
    let second = SegmentIndex(3);
    floor.call(Call::AddTime { span: secs(0) }).expect("a call that a phone may not have heard");
    floor.pass(at("1:20"));
    let heard = floor.tap_made(1, second, floor.now);
    let unheard = Tap { heard: NOTHING_HEARD, ..floor.tap_made(1, second, floor.now) };
    assert_eq!(floor.late(&heard), not_counted(WhyNot::NotWork, false));
    assert_eq!(floor.late(&unheard), not_counted(WhyNot::NotWork, true));
}
