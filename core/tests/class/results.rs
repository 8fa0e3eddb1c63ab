//! Results that are entered, beside the taps, and what follows from them.

use floorbell_core::class::SENT_MAX;
use floorbell_core::class::command::{Actor, Call, Command, Counts, Reached, Tap};
use floorbell_core::class::refusal::Refusal;
use floorbell_core::ids::{BlockIndex, MovementIndex, OptionIndex, SegmentIndex, TapId};
use floorbell_core::score::{Standing, Tally, WhyNot};
use floorbell_core::time::Span;
use uuid::Uuid;

use crate::floor::{COACH, Floor, at, athlete, phone, rounds, secs};

fn set(floor: &mut Floor, by: Actor, tally: Tally) -> Result<usize, Refusal> {
    let segment = floor.work();
    floor.ask(by, Command::SetTally { athlete: athlete(1), segment, tally })
}

fn enter(floor: &mut Floor, movement: u32, reps: u32) -> Result<usize, Refusal> {
    let reached = Reached { movement: MovementIndex(movement), reps };
    let segment = floor.work();
    floor.ask(phone(1), Command::EnterExtra { athlete: athlete(1), segment, reached })
}

fn splits(floor: &Floor) -> Vec<Span> {
    floor.class.windows(athlete(1))[0].splits.clone()
}

#[test]
fn extra_reps_after_a_tally_was_set_are_beyond_the_rounds_that_were_set() {
    let mut floor = Floor::in_amrap(1);
    floor.join(1);
    floor.pass(at("1:30"));
    set(&mut floor, COACH, Tally::Rounds { rounds: 3, extra: 5 }).expect("sets it");
    assert_eq!(floor.tally(1), rounds(3, 5));
    enter(&mut floor, 1, 2).expect("corrects the extra reps");
    assert_eq!(floor.tally(1), rounds(3, 13), "3 rounds, and 11 + 2 in place of the 5");
    set(&mut floor, COACH, Tally::Rounds { rounds: 2, extra: 0 }).expect("sets it again");
    assert_eq!(floor.tally(1), rounds(2, 0), "the later word holds");
    floor.check_replay();
}

#[test]
fn taps_undone_after_the_tally_was_set_leave_it_as_it_is() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.pass(at("1:00"));
    let first = floor.tap_now(1);
    floor.late(&first);
    floor.pass(secs(5));
    set(&mut floor, COACH, Tally::Rounds { rounds: 3, extra: 0 }).expect("sets it");
    let since = Standing::NotCounted { why: WhyNot::SetSince, marked: false };
    assert_eq!(floor.class.standing(athlete(1), first.id), Some(since.clone()));
    let at_once = floor.tap_now(1);
    assert_eq!(floor.late(&at_once), since, "in the instant of the setting it is covered");
    floor.pass(at("1:00"));
    let last = floor.tap_now(1);
    floor.late(&last);
    assert_eq!(floor.tally(1), rounds(4, 0));
    for tap in [first.id, last.id] {
        floor.ask(phone(1), Command::Undo { athlete: athlete(1), of: tap }).expect("takes it back");
    }
    assert_eq!(floor.tally(1), rounds(3, 0));
}

#[test]
fn the_first_round_after_a_set_tally_gives_no_split() {
    let mut floor = Floor::in_amrap(9);
    floor.join(1);
    floor.pass(at("3:30"));
    set(&mut floor, COACH, Tally::Rounds { rounds: 3, extra: 0 }).expect("sets it");
    floor.pass(secs(30));
    floor.tap(1);
    assert_eq!(splits(&floor), [], "its four minutes were four rounds");
    floor.pass(secs(60));
    floor.tap(1);
    assert_eq!(splits(&floor), [secs(60)]);
    let pace = floor.class.windows(athlete(1))[0].pace;
    assert_eq!(pace, rounds(9, 0), "5 at 5:00 of 9:00, a minute each");
}

#[test]
fn time_that_was_added_is_time_to_go_on_in_at_that_pace() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    let pace = |floor: &Floor| floor.class.windows(athlete(1))[0].pace;
    for _ in 0..2 {
        floor.pass(at("1:00"));
        floor.tap(1);
    }
    assert_eq!(pace(&floor), rounds(6, 0));
    floor.call(Call::AddTime { span: at("2:00") }).expect("adds");
    assert_eq!(pace(&floor), rounds(8, 0));
    floor.pass(at("7:00"));
    assert_eq!(pace(&floor), rounds(8, 0), "the bell changes nothing");
}

#[test]
fn a_ladder_asks_for_the_round_that_was_under_way_even_once_it_was_entered_as_full() {
    let mut floor = Floor::of(
        "# Evening\n\n## Tide: AMRAP 6 min, ladder 4-8-12-…\n\nAim: steady\n\n- air squats\n- push-ups\n",
    );
    floor.join(1);
    floor.call(Call::Start).expect("starts");
    floor.pass(secs(10));
    for _ in 0..4 {
        floor.pass(at("1:00"));
        floor.tap(1);
    }
    floor.pass(at("3:00"));
    let offered = |floor: &Floor| floor.class.windows(athlete(1))[0].reps.clone();
    assert_eq!(offered(&floor), [20, 20]);
    enter(&mut floor, 1, 20).expect("all of it");
    assert_eq!(floor.tally(1), rounds(5, 0));
    assert_eq!(offered(&floor), [20, 20], "a slip is mended in the same round");
    let too_many = enter(&mut floor, 0, 24);
    assert!(matches!(too_many, Err(Refusal::OutOfRange { most: 20, .. })), "{too_many:?}");
    enter(&mut floor, 0, 7).expect("mends it");
    assert_eq!(floor.tally(1), rounds(4, 7));
}

#[test]
fn a_swap_for_all_leaves_the_extra_reps_that_were_entered() {
    let mut floor = Floor::of(
        "# Evening\n\n## Tide: AMRAP 1 min\n\nAim: steady\n\n- 11 air squats\n\
         \x20 - easier: 6 box squats (mechanics)\n- 8 push-ups\n",
    );
    floor.join(1);
    floor.call(Call::Start).expect("starts");
    floor.pass(secs(50));
    floor.tap(1);
    floor.pass(at("1:00"));
    enter(&mut floor, 1, 4).expect("after the bell");
    assert_eq!(floor.tally(1), rounds(1, 15));
    let (block, movement) = (BlockIndex(0), MovementIndex(0));
    let swap = Command::Swap { block, movement, option: Some(OptionIndex(0)) };
    floor.ask(COACH, swap).expect("swaps");
    assert_eq!(floor.tally(1), rounds(1, 15), "they were done as it was then, of 19");
    assert_eq!(floor.class.windows(athlete(1))[0].reps, [6, 8]);
    enter(&mut floor, 1, 8).expect("enters them anew");
    assert_eq!(floor.tally(1), rounds(2, 0), "14 of 14");
    floor.check_replay();
}

#[test]
fn extra_reps_are_refused_where_no_rounds_are_counted() {
    let mut floor = Floor::of(
        "# Evening\n\n## Tide: build to a heavy set of 3 in 5 min\n\nAim: steady\n\n- deadlift\n",
    );
    floor.join(1);
    floor.call(Call::Start).expect("starts");
    floor.pass(at("6:00"));
    assert!(matches!(enter(&mut floor, 0, 4), Err(Refusal::NotNow(_))));
    set(&mut floor, phone(1), Tally::Load { grams: 92_500 }).expect("is how it is scored");
    let segment = floor.work();
    let tap = floor.tap_made(1, segment, floor.now - at("3:00"));
    let no_rounds = Standing::NotCounted { why: WhyNot::NotThisWay, marked: false };
    assert_eq!(floor.late(&tap), no_rounds);
}

#[test]
fn an_athlete_enters_nothing_while_held_and_everything_once_the_bell_waits() {
    let mut floor = Floor::of("# One\n\n## Quay: AMRAP 1 min\n\nAim: even\n\n- 10 air squats\n");
    floor.join(1);
    assert!(matches!(enter(&mut floor, 0, 4), Err(Refusal::NotNow(_))), "not begun");
    floor.call(Call::Start).expect("starts");
    floor.pass(secs(30));
    floor.call(Call::Hold).expect("holds");
    assert!(matches!(enter(&mut floor, 0, 4), Err(Refusal::NotNow(_))), "still under way");
    floor.call(Call::Resume).expect("resumes");
    floor.pass(secs(50));
    assert!(floor.waits());
    enter(&mut floor, 0, 4).expect("the bell has gone");
}

#[test]
fn results_of_a_run_come_back_with_it() {
    let mut floor = Floor::in_amrap(1);
    floor.join(1);
    floor.pass(at("1:30"));
    set(&mut floor, COACH, Tally::Rounds { rounds: 3, extra: 5 }).expect("sets it");
    let jump = floor.call(Call::Jump { to: floor.work() }).expect("once more");
    assert_eq!(floor.tally(1), None);
    floor.pass(secs(30));
    floor.take_back(jump).expect("until the bell");
    assert_eq!(floor.tally(1), rounds(3, 5));
    floor.check_replay();
}

#[test]
fn what_one_phone_sends_is_bounded_and_neither_the_coach_nor_an_answer_waits_for_it() {
    let mut floor = Floor::in_amrap(1);
    floor.join(1);
    floor.pass(secs(30));
    let tap = floor.tap_now(1);
    floor.late(&tap);
    let undo = |number: usize| {
        let of = TapId(Uuid::from_u128(0xbad_0000 + number as u128));
        Command::Undo { athlete: athlete(1), of }
    };
    for number in 1..SENT_MAX {
        floor.ask(phone(1), undo(number)).expect("there is room");
    }
    let connected_since = floor.now;
    let more = Tap { id: TapId(Uuid::from_u128(0xbad)), counts: Counts::Round, ..tap.clone() };
    floor.pass(at("1:00"));
    for more in [undo(SENT_MAX), Command::Tap { tap: more, connected_since }] {
        assert!(matches!(floor.ask(phone(1), more), Err(Refusal::NotNow(_))));
    }
    assert!(matches!(enter(&mut floor, 0, 4), Err(Refusal::NotNow(_))));
    assert_eq!(floor.ask(phone(1), Command::Tap { tap, connected_since }), Ok(0), "kept already");
    set(&mut floor, COACH, Tally::Rounds { rounds: 2, extra: 0 }).expect("at any time");
    assert_eq!(floor.tally(1), rounds(2, 0));
    assert_eq!(floor.class.tally(athlete(1), SegmentIndex(0)), None);
}
