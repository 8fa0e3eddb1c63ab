//! Several people, one count: teams, whoever counts for somebody else, and tally tablets.

use floorbell_core::class::command::{Actor, Call, Command, Counts, Settlement, Tap};
use floorbell_core::class::refusal::Refusal;
use floorbell_core::ids::{DeviceId, SegmentIndex};
use floorbell_core::score::{Marked, Standing, Tally, WhyNot};
use floorbell_core::time::{HouseTime, Span};
use uuid::Uuid;

use crate::floor::{COACH, Floor, NOTHING_HEARD, at, athlete, phone, rounds, secs};

const PAIRS: &str = "# Evening\n\n## Tide: AMRAP 6 min, in pairs\n\n- 11 squat\n- 8 push-up\n\n\
                     ## Rest 1 min\n\n## Quay: AMRAP 6 min\n\n- 11 squat\n- 8 push-up\n";

/// Four people in two pairs, at the start of the first piece.
fn in_pairs() -> Floor {
    let mut floor = Floor::of(PAIRS);
    (1..=4).for_each(|number| floor.join(number));
    let teams = vec![vec![athlete(1), athlete(2)], vec![athlete(3), athlete(4)]];
    floor.ask(COACH, Command::Team { teams }).expect("pairs them");
    floor.call(Call::Start).expect("starts");
    floor.pass(secs(10));
    floor
}

/// Made by an athlete's own phone for themselves, so long after the work began.
fn tap_at(floor: &mut Floor, number: u128, begun: HouseTime, after: Span) -> Tap {
    floor.tap_made(number, floor.work(), begun + after)
}

fn turns(floor: &Floor, number: u128) -> u128 {
    let window = floor.class.windows(athlete(number)).remove(0);
    window.turn.expect("somebody's turn").0.as_u128() - 0xa000
}

#[test]
fn a_pair_shares_one_tally_in_pieces_for_pairs_alone() {
    let mut floor = in_pairs();
    floor.pass(secs(50));
    floor.tap(1);
    assert_eq!(turns(&floor, 1), 2, "the one after who tapped");
    floor.pass(secs(50));
    floor.tap(2);
    assert_eq!(turns(&floor, 2), 1);
    floor.pass(secs(10));
    floor.tap(3);
    for (number, tally) in [(1, 2), (2, 2), (3, 1), (4, 1)] {
        assert_eq!(floor.tally(number), rounds(tally, 0), "athlete {number}");
    }
    let places = |floor: &Floor, piece: usize| -> Vec<_> {
        floor.class.rows().iter().map(|row| row.scores[piece].place).collect()
    };
    assert_eq!(places(&floor, 0), [Some(1), Some(1), Some(2), Some(2)], "teams have places");
    floor.pass(at("6:00"));
    floor.tap(1);
    assert_eq!(places(&floor, 1), [Some(1), None, None, None], "alone again");
    floor.check_replay();
}

#[test]
fn two_phones_of_a_team_tap_one_round_once() {
    let mut floor = in_pairs();
    let begun = floor.now;
    floor.pass(at("3:00"));
    let near = Standing::NotCounted { why: WhyNot::TeamMate, marked: true };
    for (first, second, counts) in [
        (Span::from_secs(50), Span::from_millis(50_050), false),
        (Span::from_secs(100), Span::from_secs(103), false),
        (Span::from_secs(150), Span::from_secs(155), true),
    ] {
        let one = tap_at(&mut floor, 1, begun, first);
        let two = tap_at(&mut floor, 2, begun, second);
        // In whatever order they come.
        floor.late(&two);
        floor.late(&one);
        let standing = |tap: &Tap| floor.class.standing(tap.athlete, tap.id).expect("is kept");
        assert!(matches!(standing(&one), Standing::Counted { .. }));
        if counts {
            assert!(matches!(standing(&two), Standing::Counted { .. }));
        } else {
            assert_eq!(standing(&two), near);
        }
    }
    assert_eq!(floor.tally(1), rounds(4, 0));
    assert_eq!(floor.tally(2), rounds(4, 0));
}

#[test]
fn a_mark_of_a_shared_tally_is_settled_with_any_of_the_team() {
    let mut floor = in_pairs();
    floor.pass(secs(50));
    floor.tap(1);
    floor.pass(secs(2));
    let mate = floor.tap_now(2);
    floor.late(&mate);
    let segment = floor.work();
    let settlement = Settlement::Tap { tap: mate.id, counts: true };
    for (whose, recorded) in [(1, 1), (2, 0)] {
        let settle = Command::Settle { athlete: athlete(whose), segment, settlement };
        assert_eq!(floor.ask(COACH, settle), Ok(recorded), "once");
    }
    assert_eq!((floor.tally(1), floor.tally(2)), (rounds(2, 0), rounds(2, 0)));
    floor.check_replay();
}

#[test]
fn of_two_tallies_set_for_a_team_in_one_instant_the_later_one_stands_for_both() {
    let mut floor = in_pairs();
    floor.pass(secs(50));
    let segment = floor.work();
    for (number, rounds) in [(1, 4), (2, 7)] {
        let tally = Tally::Rounds { rounds, extra: 0 };
        let set = Command::SetTally { athlete: athlete(number), segment, tally };
        floor.ask(COACH, set).expect("sets it");
    }
    assert_eq!([1, 2].map(|number| floor.tally(number)), [rounds(7, 0), rounds(7, 0)]);
    floor.check_replay();
}

#[test]
fn who_leaves_halfway_leaves_their_rounds_to_the_team() {
    let mut floor = in_pairs();
    floor.pass(secs(50));
    floor.tap(1);
    floor.pass(secs(50));
    floor.tap(2);
    floor.ask(COACH, Command::Remove { athlete: athlete(1) }).expect("leaves");
    assert_eq!(floor.tally(2), rounds(2, 0));
    assert_eq!(turns(&floor, 2), 2, "nobody else is there");
    floor.join(1);
    assert_eq!(floor.tally(1), rounds(2, 0), "back, they have it again");
    floor.check_replay();
}

#[test]
fn one_person_is_in_one_team() {
    let mut floor = in_pairs();
    let twice = vec![vec![athlete(1), athlete(2)], vec![athlete(2), athlete(3)]];
    let refused = floor.ask(COACH, Command::Team { teams: twice });
    assert!(matches!(refused, Err(Refusal::NotNow(_))));
    let by_phone = floor.ask(phone(1), Command::Team { teams: Vec::new() });
    assert_eq!(by_phone, Err(Refusal::CoachOnly));
}

/// A tap that somebody's phone makes for somebody else.
fn tap_for(floor: &mut Floor, by: u128, whose: u128) -> Result<Standing, Refusal> {
    let tap = floor.tap_now(whose);
    let command = Command::Tap { tap: tap.clone(), connected_since: floor.now };
    floor.ask(phone(by), command)?;
    Ok(floor.class.standing(tap.athlete, tap.id).expect("is kept"))
}

fn let_count(
    floor: &mut Floor,
    by: u128,
    whose: u128,
    counter: Option<u128>,
) -> Result<usize, Refusal> {
    let (whose, counter) = (athlete(whose), counter.map(athlete));
    floor.ask(phone(by), Command::LetCount { athlete: whose, counter })
}

#[test]
fn one_counter_at_a_time_handed_over_by_a_touch() {
    let mut floor = Floor::in_amrap(6);
    (1..=3).for_each(|number| floor.join(number));
    assert_eq!(tap_for(&mut floor, 2, 1), Err(Refusal::NotYours), "not without being let");
    assert_eq!(let_count(&mut floor, 2, 1, Some(2)), Err(Refusal::NotYours));
    floor.pass(secs(50));
    floor.tap(1);
    let_count(&mut floor, 1, 1, Some(2)).expect("their own count");
    floor.pass(secs(50));
    assert!(matches!(tap_for(&mut floor, 2, 1), Ok(Standing::Counted { .. })));
    floor.pass(secs(2));
    let kept = Standing::NotCounted { why: WhyNot::OtherCounts, marked: true };
    assert_eq!(floor.tap(1), kept, "two people count for one: the coach is shown it");
    floor.pass(secs(48));
    let_count(&mut floor, 2, 1, None).expect("hands it back");
    assert_eq!(let_count(&mut floor, 2, 1, Some(3)), Err(Refusal::NotYours), "and no further");
    floor.pass(secs(1));
    assert_eq!(tap_for(&mut floor, 2, 1), Ok(kept), "kept, for it may have been on its way");
    assert!(matches!(floor.tap(1), Standing::Counted { .. }));
    assert_eq!(floor.tally(1), rounds(3, 0));
    floor.check_replay();
}

#[test]
fn a_count_made_before_it_was_handed_back_still_counts() {
    let mut floor = Floor::in_amrap(6);
    (1..=2).for_each(|number| floor.join(number));
    let_count(&mut floor, 1, 1, Some(2)).expect("lets them count");
    floor.pass(secs(50));
    let tap = floor.tap_now(1);
    floor.pass(secs(5));
    let_count(&mut floor, 1, 1, None).expect("takes it back");
    floor.pass(at("2:00"));
    let late = Command::Tap { tap: tap.clone(), connected_since: floor.now };
    floor.ask(phone(2), late).expect("is kept");
    let standing = floor.class.standing(athlete(1), tap.id);
    assert_eq!(standing, Some(Standing::Counted { at: secs(50), mark: None }));
}

const TABLET: DeviceId = DeviceId(Uuid::from_u128(0x7ab1));

fn tablet() -> Actor {
    Actor::Tablet { tablet: TABLET, device: DeviceId(Uuid::from_u128(0x7ab2)) }
}

#[test]
fn a_tally_tablet_counts_for_those_assigned_to_it() {
    let mut floor = Floor::in_amrap(6);
    (1..=13).for_each(|number| floor.join(number));
    let assign = |athletes: Vec<_>| Command::Assign { tablet: TABLET, athletes };
    let all = (1..=13).map(athlete).collect();
    assert!(matches!(floor.ask(COACH, assign(all)), Err(Refusal::NotNow(_))), "up to twelve");
    floor.ask(COACH, assign(vec![athlete(1), athlete(2)])).expect("assigns");
    let assigned: Vec<_> = floor.class.tablets().collect();
    assert_eq!(assigned, [(TABLET, vec![athlete(1), athlete(2)])]);
    floor.pass(secs(50));
    let tap = |floor: &mut Floor, whose: u128| {
        let tap = floor.tap_now(whose);
        let command = Command::Tap { tap: tap.clone(), connected_since: floor.now };
        floor.ask(tablet(), command)?;
        Ok(floor.class.standing(tap.athlete, tap.id).expect("is kept"))
    };
    assert!(matches!(tap(&mut floor, 1), Ok(Standing::Counted { .. })));
    assert_eq!(tap(&mut floor, 3), Err(Refusal::NotYours));
    let (athlete, segment, tally) =
        (athlete(2), floor.work(), Tally::Rounds { rounds: 4, extra: 0 });
    floor.ask(tablet(), Command::SetTally { athlete, segment, tally }).expect("sets it");
    assert_eq!(floor.tally(2), rounds(4, 0));
    for command in [Command::Close, Command::Remove { athlete }, assign(Vec::new())] {
        assert_eq!(floor.ask(tablet(), command), Err(Refusal::CoachOnly));
    }
}

#[test]
fn scaled_in_mid_piece_keeps_the_rounds_apart() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    let choose = |scaled| Command::Choose {
        athlete: athlete(1),
        choice: floorbell_core::class::command::Choice { scaled, options: Vec::new() },
    };
    for _ in 0..4 {
        floor.pass(secs(50));
        floor.tap(1);
    }
    assert_eq!(floor.class.windows(athlete(1))[0].as_written, None, "all the same way");
    floor.ask(phone(1), choose(true)).expect("scales");
    // Made before and delivered after: it was done as written.
    let before = floor.tap_made(1, floor.work(), floor.now - Span::from_millis(500));
    assert!(matches!(floor.late(&before), Standing::Counted { .. }));
    for _ in 0..3 {
        floor.pass(secs(40));
        floor.tap(1);
    }
    let window = floor.class.windows(athlete(1)).remove(0);
    assert_eq!((window.tally, window.as_written), (Tally::Rounds { rounds: 8, extra: 0 }, Some(5)));
    assert!(floor.class.rows()[0].scaled, "shown as scaled");
    floor.check_replay();
}

#[test]
fn a_tap_for_a_hold_that_was_not_heard_is_among_the_marks() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    let begun = floor.now;
    floor.pass(at("1:00"));
    floor.call(Call::Hold).expect("holds");
    let mut tap = floor.tap_made(1, SegmentIndex(1), begun + at("1:10"));
    tap.heard = NOTHING_HEARD;
    floor.pass(secs(30));
    floor.late(&tap);
    let marks = floor.class.windows(athlete(1)).remove(0).marks;
    let worth = Standing::NotCounted { why: WhyNot::Held, marked: true };
    assert_eq!(marks, [Marked::Tap { tap: tap.id, worth, made_at: tap.made_at }]);
    assert_eq!(tap.counts, Counts::Round);
}
