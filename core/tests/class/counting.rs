//! Counting: what a tap is worth.

use floorbell_core::class::command::{Call, Choice, Chosen, Command, Counts, Reached};
use floorbell_core::class::refusal::Refusal;
use floorbell_core::ids::{BlockIndex, MovementIndex, OptionIndex};
use floorbell_core::score::{Mark, Standing, Tally, WhyNot};
use floorbell_core::time::Span;

use crate::floor::{COACH, Floor, NOTHING_HEARD, at, athlete, phone, rounds, secs};

fn counted(at: Span) -> Standing {
    Standing::Counted { at, mark: None }
}

fn marked(at: Span, mark: Mark) -> Standing {
    Standing::Counted { at, mark: Some(mark) }
}

#[test]
fn a_phone_that_heard_no_hold_counts_by_when_it_tapped() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    let (work, start) = (floor.work(), floor.now);
    floor.pass(at("2:50"));
    floor.call(Call::Hold).expect("holds");
    let mut in_hold = floor.tap_made(1, work, start + at("3:00"));
    floor.pass(secs(30));
    floor.call(Call::Resume).expect("hold and lead-in took 0:40");
    floor.pass(secs(30));
    let mut tap = floor.tap_made(1, work, start + at("3:50"));
    (tap.heard, in_hold.heard) = (NOTHING_HEARD, NOTHING_HEARD);
    assert_eq!(floor.late(&tap), counted(at("3:10")));
    let kept = Standing::NotCounted { why: WhyNot::Held, marked: true };
    assert_eq!(floor.late(&in_hold), kept, "kept and marked");
}

#[test]
fn a_tap_in_an_unheard_added_minute_counts() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    let (work, start) = (floor.work(), floor.now);
    floor.pass(at("5:00"));
    floor.call(Call::AddTime { span: secs(60) }).expect("adds a minute");
    floor.pass(at("2:30"));
    let mut tap = floor.tap_made(1, work, start + at("6:30"));
    tap.heard = NOTHING_HEARD;
    assert_eq!(floor.late(&tap), counted(at("6:30")));
}

#[test]
fn two_seconds_after_the_bell_count_and_are_marked() {
    for (after_bell, expected) in [
        (0, marked(at("6:00"), Mark::AfterBell)),
        (1_900, marked(at("6:00"), Mark::AfterBell)),
        (2_000, marked(at("6:00"), Mark::AfterBell)),
        (2_100, Standing::NotCounted { why: WhyNot::AfterBell, marked: true }),
    ] {
        let mut floor = Floor::in_amrap(6);
        floor.join(1);
        let (work, start) = (floor.work(), floor.now);
        floor.pass(at("6:05"));
        let tap = floor.tap_made(1, work, start + at("6:00") + Span::from_millis(after_bell));
        assert_eq!(floor.late(&tap), expected, "{after_bell} ms after the bell");
    }
}

#[test]
fn delivered_five_minutes_later_it_counts_by_when_it_was_made() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.pass(at("5:59"));
    let tap = floor.tap_now(1);
    floor.pass(at("5:00"));
    assert_eq!(floor.late(&tap), counted(at("5:59")));
}

#[test]
fn one_tap_received_twice_counts_once() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.pass(at("1:00"));
    let tap = floor.tap_now(1);
    let first = floor.late(&tap);
    floor.pass(secs(1));
    assert_eq!(floor.late(&tap), first);
    assert_eq!(floor.tally(1), rounds(1, 0));
}

#[test]
fn heard_holds_lead_ins_and_rests_take_no_taps() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.pass(at("1:00"));
    floor.tap(1);
    floor.call(Call::Hold).expect("holds");
    floor.pass(secs(5));
    let unmarked = |why| Standing::NotCounted { why, marked: false };
    assert_eq!(floor.tap(1), unmarked(WhyNot::Held));
    floor.call(Call::Resume).expect("resumes");
    floor.pass(secs(5));
    assert_eq!(floor.tap(1), unmarked(WhyNot::LeadIn));
    assert_eq!(floor.tally(1), rounds(1, 0), "earlier ones are kept");
}

#[test]
fn a_tap_just_after_a_hold_counts_at_the_hold() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.pass(at("2:00"));
    floor.call(Call::Hold).expect("holds");
    floor.pass(Span::from_millis(1_500));
    assert_eq!(floor.tap(1), marked(at("2:00"), Mark::AfterHold));
}

#[test]
fn a_caught_up_round_counts_and_gives_no_split() {
    let mut floor =
        Floor::of("# Evening\n\n## Tide: AMRAP 9 min\n\nAim: 9 to 11 rounds\n\n- 11 air squats\n");
    floor.call(Call::Start).expect("starts");
    floor.pass(secs(10));
    floor.join(1);
    floor.pass(at("2:00"));
    assert_eq!(floor.tap(1), counted(at("2:00")));
    floor.pass(secs(3));
    assert_eq!(floor.tap(1), marked(at("2:03"), Mark::Quick));
    assert_eq!(floor.tally(1), rounds(2, 0), "both count");
    let splits = || floor.class.windows(athlete(1)).remove(0).splits;
    assert_eq!(splits(), [], "neither gives a split");
    floor.pass(at("0:55"));
    floor.tap(1);
    let splits = floor.class.windows(athlete(1)).remove(0).splits;
    assert_eq!(splits, [at("0:55")]);
}

#[test]
fn a_round_forgotten_and_added_counts_without_a_mark() {
    let mut floor = Floor::in_amrap(9);
    floor.join(1);
    for _ in 0..3 {
        floor.pass(at("1:00"));
        floor.tap(1);
    }
    floor.pass(at("2:00"));
    floor.tap(1);
    floor.pass(secs(4));
    let forgotten =
        floorbell_core::class::command::Tap { counts: Counts::RoundBefore, ..floor.tap_now(1) };
    assert_eq!(floor.late(&forgotten), counted(at("5:04")));
    assert_eq!(floor.tally(1), rounds(5, 0));
    let splits = floor.class.windows(athlete(1)).remove(0).splits;
    assert_eq!(splits, [at("1:00"); 3], "the two minutes were two rounds");
}

#[test]
fn two_taps_within_400_ms_are_one() {
    for (apart, expected) in [
        (399, Standing::NotCounted { why: WhyNot::Twice, marked: false }),
        (400, marked(at("1:00") + Span::from_millis(400), Mark::Quick)),
    ] {
        let mut floor = Floor::in_amrap(6);
        floor.join(1);
        floor.pass(at("1:00"));
        floor.tap(1);
        floor.pass(Span::from_millis(apart));
        assert_eq!(floor.tap(1), expected, "{apart} ms apart");
    }
}

#[test]
fn dates_that_cannot_be_right_are_marked() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.pass(at("1:00"));
    let work = floor.work();
    let ahead = floor.tap_made(1, work, floor.now + secs(3600));
    assert_eq!(floor.late(&ahead), marked(at("1:00"), Mark::AheadOfTime));
    floor.pass(at("1:00"));
    let old = floor.tap_made(1, work, floor.now - secs(6));
    let connected_since = floor.now - secs(100);
    assert_eq!(floor.send(&old, connected_since), marked(at("1:54"), Mark::Backdated));
}

#[test]
fn undo_takes_the_own_tap_back() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.pass(at("1:00"));
    let tap = floor.tap_now(1);
    floor.late(&tap);
    floor.ask(phone(1), Command::Undo { athlete: athlete(1), of: tap.id }).expect("takes it back");
    assert_eq!(floor.tally(1), None);
    let undone = Standing::NotCounted { why: WhyNot::Undone, marked: false };
    assert_eq!(floor.late(&tap), undone, "sent again it stays taken back");
}

#[test]
fn nobody_counts_for_another() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.join(2);
    let tap = floor.tap_now(2);
    let connected_since = floor.now;
    let for_another = Command::Tap { tap, connected_since };
    assert_eq!(floor.ask(phone(1), for_another.clone()), Err(Refusal::NotYours));
    assert_eq!(floor.ask(COACH, for_another), Ok(1), "the coach may");
    let stranger = floor.tap_now(3);
    let stranger = Command::Tap { tap: stranger, connected_since };
    assert_eq!(floor.ask(COACH, stranger), Err(Refusal::NoSuchAthlete));
}

#[test]
fn extra_reps_follow_the_movement_reached() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    for _ in 0..5 {
        floor.pass(at("1:05"));
        floor.tap(1);
    }
    let work = floor.work();
    let extra = |movement, reps| Command::EnterExtra {
        athlete: athlete(1),
        segment: work,
        reached: Reached { movement: MovementIndex(movement), reps },
    };
    let early = floor.ask(phone(1), extra(2, 4));
    assert!(matches!(early, Err(Refusal::NotNow(_))), "not in the middle of work: {early:?}");
    floor.pass(at("1:00"));
    floor.ask(phone(1), extra(2, 4)).expect("after the bell");
    assert_eq!(floor.tally(1), rounds(5, 23), "11 + 8 + 4");
    floor.ask(phone(1), extra(2, 7)).expect("corrects it");
    assert_eq!(floor.tally(1), rounds(6, 0), "5 + 26 is 6 + 0");
    floor.ask(phone(1), extra(1, 0)).expect("corrects it again");
    assert_eq!(floor.tally(1), rounds(5, 11));
    let too_many = floor.ask(phone(1), extra(1, 9));
    assert_eq!(
        too_many,
        Err(Refusal::OutOfRange { what: "Reps of this movement", least: 0, most: 8 })
    );
    floor.check_replay();
}

#[test]
fn the_coach_sets_a_tally_at_any_time_and_taps_go_on_from_it() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.pass(at("1:00"));
    floor.tap(1);
    floor.pass(secs(5));
    let segment = floor.work();
    let tally = Tally::Rounds { rounds: 3, extra: 0 };
    let set = Command::SetTally { athlete: athlete(1), segment, tally };
    assert!(matches!(floor.ask(phone(1), set.clone()), Err(Refusal::NotNow(_))));
    floor.ask(COACH, set).expect("sets it");
    assert_eq!(floor.tally(1), rounds(3, 0));
    floor.pass(at("1:00"));
    floor.tap(1);
    assert_eq!(floor.tally(1), rounds(4, 0));
    let absurd = Tally::Rounds { rounds: 1_000, extra: 0 };
    let absurd = Command::SetTally { athlete: athlete(1), segment, tally: absurd };
    assert!(matches!(floor.ask(COACH, absurd), Err(Refusal::OutOfRange { .. })));
    let load = Command::SetTally { athlete: athlete(1), segment, tally: Tally::Load { grams: 1 } };
    assert!(matches!(floor.ask(COACH, load), Err(Refusal::NotNow(_))));
}

#[test]
fn equals_share_a_place_inside_their_group() {
    let mut floor = Floor::of(
        "# Evening\n\n## Tide: AMRAP 6 min\n\nAim: steady\n\n- 11 air squats\n  - easier: box squats (mechanics)\n",
    );
    floor.call(Call::Start).expect("starts");
    floor.pass(secs(10));
    for number in 1..=6 {
        floor.join(number);
    }
    let block = BlockIndex(0);
    let option = Chosen { block, movement: MovementIndex(0), option: OptionIndex(0) };
    let choice = Choice { scaled: false, options: vec![option] };
    floor.ask(phone(5), Command::Choose { athlete: athlete(5), choice }).expect("chooses");
    for (number, taps) in [(1, 3), (2, 2), (3, 2), (4, 1), (5, 1)] {
        for _ in 0..taps {
            floor.pass(secs(20));
            floor.tap(number);
        }
    }
    let rows = floor.class.rows();
    let places: Vec<_> = rows.iter().map(|row| row.scores[0].place).collect();
    assert_eq!(places, [Some(1), Some(2), Some(2), Some(4), Some(1), None]);
    assert!(rows[4].scaled, "a chosen option says so by itself");
    let no_option = Chosen { option: OptionIndex(7), ..option };
    let choice = Choice { scaled: true, options: vec![no_option] };
    let refused = floor.ask(phone(6), Command::Choose { athlete: athlete(6), choice });
    assert_eq!(refused, Err(Refusal::NotInSheet("option")));
}

/// A tap that comes last is counted on; anything else has all taps gone through anew.
#[test]
fn counting_on_comes_to_the_same_as_counting_anew() {
    let mut floor = Floor::of(
        "# Evening\n\n## Tide: AMRAP 9 min\n\nAim: 1 to 3 rounds\n\n- 11 squat\n- 8 lunge\n",
    );
    floor.call(Call::Start).expect("starts");
    floor.pass(secs(10));
    floor.join(1);
    // In milliseconds: doubles, quick ones, fair ones, and one that comes late.
    for gap in [50_000, 200, 3_000, 55_000, 500, 61_000, 58_000, 64_000, 57_000, 399, 401] {
        floor.pass(Span::from_millis(gap));
        floor.tap(1);
        let counted_on = (floor.class.windows(athlete(1)), floor.class.rows());
        // Teams, of which there are none, have everything counted anew.
        floor.ask(COACH, Command::Team { teams: Vec::new() }).expect("no teams");
        assert_eq!((floor.class.windows(athlete(1)), floor.class.rows()), counted_on, "{gap}");
    }
    let late = floor.tap_made(1, floor.work(), floor.now - secs(30));
    floor.late(&late);
    let counted = floor.class.windows(athlete(1));
    floor.ask(COACH, Command::Team { teams: Vec::new() }).expect("no teams");
    assert_eq!(floor.class.windows(athlete(1)), counted);
}
