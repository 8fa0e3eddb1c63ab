//! What looks wrong is marked, and the coach settles it; nothing is changed silently.

use floorbell_core::class::command::{Call, Command, Counts, Settlement};
use floorbell_core::class::history::{Change, What, bearing_on, history};
use floorbell_core::class::refusal::Refusal;
use floorbell_core::ids::TapId;
use floorbell_core::score::{Marked, Odd, Standing, Tally, WhyNot};
use floorbell_core::time::Span;
use floorbell_core::wire::AimSide;

use crate::floor::{COACH, Floor, at, athlete, phone, rounds, secs};

fn marks(floor: &Floor, number: u128) -> Vec<Marked> {
    floor.class.windows(athlete(number)).remove(0).marks
}

fn settle(floor: &mut Floor, settlement: Settlement) -> Result<usize, Refusal> {
    let (athlete, segment) = (athlete(1), floor.work());
    floor.ask(COACH, Command::Settle { athlete, segment, settlement })
}

fn settle_tap(floor: &mut Floor, tap: TapId, counts: bool) {
    settle(floor, Settlement::Tap { tap, counts }).expect("settles it");
}

#[test]
fn a_tap_after_the_bell_is_settled_either_way_and_again() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    let (work, begun) = (floor.work(), floor.now);
    floor.pass(at("6:10"));
    let tap = floor.tap_made(1, work, begun + at("6:00") + Span::from_millis(2_100));
    floor.late(&tap);
    assert_eq!(floor.tally(1), None);
    assert!(matches!(marks(&floor, 1)[..], [Marked::Tap { .. }]));
    settle_tap(&mut floor, tap.id, true);
    let counted = Some(Standing::Counted { at: at("6:00"), mark: None });
    assert_eq!(floor.class.standing(athlete(1), tap.id), counted, "at the bell");
    assert_eq!((floor.tally(1), marks(&floor, 1)), (rounds(1, 0), Vec::new()));
    settle_tap(&mut floor, tap.id, false);
    let not = Some(Standing::NotCounted { why: WhyNot::Settled, marked: false });
    assert_eq!(floor.class.standing(athlete(1), tap.id), not);
    assert_eq!((floor.tally(1), marks(&floor, 1)), (None, Vec::new()));
    floor.check_replay();
}

#[test]
fn a_quick_round_stands_or_goes() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.pass(at("1:00"));
    floor.tap(1);
    floor.pass(secs(3));
    let quick = floor.tap_now(1);
    floor.late(&quick);
    assert!(matches!(&marks(&floor, 1)[..], [Marked::Tap { tap, .. }] if *tap == quick.id));
    settle_tap(&mut floor, quick.id, true);
    assert_eq!((floor.tally(1), marks(&floor, 1)), (rounds(2, 0), Vec::new()));
    settle_tap(&mut floor, quick.id, false);
    assert_eq!(floor.tally(1), rounds(1, 0));
}

#[test]
fn only_the_coach_settles_and_only_what_has_come() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    let tap = floor.tap_now(1);
    let (segment, settlement) = (floor.work(), Settlement::Tap { tap: tap.id, counts: true });
    let by_phone = Command::Settle { athlete: athlete(1), segment, settlement };
    assert_eq!(floor.ask(phone(1), by_phone), Err(Refusal::CoachOnly));
    assert!(matches!(settle(&mut floor, settlement), Err(Refusal::NotNow(_))));
}

#[test]
fn what_an_athlete_enters_over_the_count_is_marked_until_it_stands() {
    let mut floor = Floor::in_amrap(6);
    floor.join(1);
    floor.pass(at("2:00"));
    floor.tap(1);
    floor.pass(at("5:00"));
    let (athlete, segment) = (athlete(1), floor.work());
    let set =
        |rounds| Command::SetTally { athlete, segment, tally: Tally::Rounds { rounds, extra: 0 } };
    floor.ask(phone(1), set(1)).expect("after the bell");
    assert_eq!(marks(&floor, 1), [], "it is what was counted");
    floor.ask(phone(1), set(6)).expect("after the bell");
    let by_hand = Odd::ByHand { from: rounds(1, 0) };
    assert_eq!(marks(&floor, 1), [Marked::Tally { why: by_hand }]);
    settle(&mut floor, Settlement::TallyStands).expect("it stands");
    assert_eq!((floor.tally(1), marks(&floor, 1)), (rounds(6, 0), Vec::new()));
    floor.ask(phone(1), set(7)).expect("once more");
    assert_eq!(marks(&floor, 1).len(), 1, "marked anew");
    floor.ask(COACH, set(7)).expect("the coach's own");
    assert_eq!(marks(&floor, 1), [], "what the coach sets is settled");
}

#[test]
fn what_is_far_from_what_somebody_else_counted_says_so() {
    let mut floor = Floor::in_amrap(6);
    (1..=2).for_each(|number| floor.join(number));
    let counter = Some(athlete(2));
    floor.ask(phone(1), Command::LetCount { athlete: athlete(1), counter }).expect("lets them");
    for _ in 0..3 {
        floor.pass(secs(60));
        let tap = floor.tap_now(1);
        floor.ask(phone(2), Command::Tap { tap, connected_since: floor.now }).expect("counts");
    }
    floor.pass(at("4:00"));
    let (athlete, segment) = (athlete(1), floor.work());
    for (entered, far) in [(4, false), (5, true)] {
        let tally = Tally::Rounds { rounds: entered, extra: 0 };
        floor.ask(phone(1), Command::SetTally { athlete, segment, tally }).expect("enters");
        let why = match &marks(&floor, 1)[..] {
            [Marked::Tally { why }] => *why,
            other => panic!("{other:?}"),
        };
        assert_eq!(matches!(why, Odd::FarFromCounter { .. }), far, "{entered}: {why:?}");
        floor
            .ask(
                COACH,
                Command::SetTally {
                    athlete,
                    segment,
                    tally: Tally::Rounds { rounds: 3, extra: 0 },
                },
            )
            .expect("back to what was counted");
    }
}

#[test]
fn far_over_the_aim_is_marked_once() {
    let mut floor = Floor::of(
        "# Evening\n\n## Tide: AMRAP 6 min\n\nAim: 3 to 4 rounds\n\n- 11 squat\n- 8 push-up\n",
    );
    floor.join(1);
    floor.call(Call::Start).expect("starts");
    floor.pass(secs(10));
    for _ in 0..6 {
        floor.pass(secs(45));
        floor.tap(1);
    }
    assert_eq!(marks(&floor, 1), [], "half as many again may be");
    floor.pass(secs(45));
    floor.tap(1);
    assert_eq!(marks(&floor, 1), [Marked::Tally { why: Odd::FarOver { most: 4 } }]);
    settle(&mut floor, Settlement::TallyStands).expect("it stands");
    floor.pass(secs(40));
    floor.tap(1);
    assert_eq!(marks(&floor, 1), [], "looked at");
}

#[test]
fn the_coach_sees_who_fades_who_is_overdue_and_who_is_outside_the_aim() {
    let mut floor = Floor::of(
        "# Evening\n\n## Tide: AMRAP 12 min\n\nAim: 8 to 12 rounds\n\n- 11 squat\n- 8 push-up\n",
    );
    (1..=4).for_each(|number| floor.join(number));
    floor.call(Call::Start).expect("starts");
    floor.pass(secs(10));
    let (work, begun) = (floor.work(), floor.now);
    floor.pass(at("7:00"));
    // Three are steady at 60 s, 66 s and 100 s a round, one fades from 50 s to 80 s.
    for (number, splits) in
        [(1, vec![60; 6]), (2, vec![66; 6]), (3, vec![100; 4]), (4, vec![50, 50, 60, 70, 80, 80])]
    {
        let mut at = 0;
        for split in splits {
            at += split;
            let tap = floor.tap_made(number, work, begun + secs(at));
            floor.late(&tap);
        }
    }
    let readings = floor.class.readings();
    let of = |number: u128| readings.iter().find(|reading| reading.athlete == athlete(number));
    assert_eq!(of(1), None, "steady and on the aim");
    assert_eq!(of(2), None);
    assert_eq!(
        of(3).map(|reading| (reading.fades, reading.aim)),
        Some((false, Some(AimSide::Below)))
    );
    assert_eq!(of(4).map(|reading| (reading.fades, reading.aim)), Some((true, None)));
    // The last round of the first was done at 6:00, and takes 1:00.
    let overdue = floor.class.windows(athlete(1))[0].overdue_at;
    assert_eq!(overdue, Some(at("7:30")));
    assert!(floor.class.rows().iter().all(|row| row.scores[0].tally.is_some()));
}

#[test]
fn on_pace_by_the_rate_of_the_last_minute() {
    let mut floor = Floor::of("# Evening\n\n## Swell: max reps in 6 min\n\n- burpee\n");
    floor.join(1);
    floor.call(Call::Start).expect("starts");
    floor.pass(secs(10));
    let begun = floor.now;
    floor.pass(at("2:00"));
    // 18 in the first minute, 16 in the second, the last of them at 2:00.
    for (at, amount) in [(30, 10), (60, 8), (90, 8), (120, 8)] {
        let mut tap = floor.tap_made(1, floor.work(), begun + secs(at));
        tap.counts = Counts::Amount { amount };
        floor.late(&tap);
    }
    assert_eq!(floor.tally(1), Some(Tally::Count { amount: 34 }));
    let pace = floor.class.rows()[0].scores[0].pace;
    assert_eq!(pace, Some(Tally::Count { amount: 98 }), "34 + 4 × 16");
}

#[test]
fn the_history_of_a_tally_says_who_when_from_and_to() {
    let mut floor = Floor::in_amrap(6);
    (1..=2).for_each(|number| floor.join(number));
    floor.pass(at("1:00"));
    floor.tap(1);
    floor.tap(2);
    floor.pass(secs(3));
    let quick = floor.tap_now(1);
    floor.late(&quick);
    floor.pass(at("1:00"));
    let (athlete, segment) = (athlete(1), floor.work());
    let tally = Tally::Rounds { rounds: 5, extra: 0 };
    floor.ask(COACH, Command::SetTally { athlete, segment, tally }).expect("corrects it");
    floor.pass(secs(10));
    let restart = floor.call(Call::Restart).expect("restarts");
    floor.take_back(restart).expect("takes it back");
    let events = bearing_on(floor.journal.clone(), athlete);
    assert!(events.len() < floor.journal.len(), "what is about the other is left out");
    let changes = history(&events, athlete, segment).expect("a whole journal");
    assert_eq!(history(&floor.journal, athlete, segment), Ok(changes.clone()), "either way");
    let told: Vec<_> = changes
        .iter()
        .map(|Change { by, what, from, to, .. }| {
            let what = match what {
                What::Tap { .. } => "tap",
                What::Set => "set",
                What::Call { .. } => "call",
                What::TakenBack => "taken back",
                other => panic!("{other:?}"),
            };
            (*by, what, *from, *to)
        })
        .collect();
    assert_eq!(
        told,
        [
            (Some(phone(1)), "tap", None, rounds(1, 0)),
            (Some(phone(1)), "tap", rounds(1, 0), rounds(2, 0)),
            (Some(COACH), "set", rounds(2, 0), rounds(5, 0)),
            (Some(COACH), "call", rounds(5, 0), None),
            (Some(COACH), "taken back", None, rounds(5, 0)),
        ]
    );
}
