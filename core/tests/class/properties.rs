//! What holds for every class: the same journal gives the same state, and neither the order in
//! which taps arrive nor their repetition changes what they are worth.

use floorbell_core::class::command::{Call, Command, Tap};
use floorbell_core::score::{Mark, Standing};
use floorbell_core::time::Span;
use proptest::prelude::*;

use crate::floor::{COACH, Floor, athlete, secs};

/// One thing that happens on the floor.
#[derive(Clone, Copy, Debug)]
enum Step {
    Pass(i64),
    Call(u8),
    Tap(u128),
    TakeBackLast,
}

fn steps() -> impl Strategy<Value = Vec<Step>> {
    let step = prop_oneof![
        4 => (0_i64..90_000).prop_map(Step::Pass),
        2 => (0_u8..9).prop_map(Step::Call),
        6 => (1_u128..4).prop_map(Step::Tap),
        1 => Just(Step::TakeBackLast),
    ];
    prop::collection::vec(step, 0..60)
}

fn call_of(number: u8, floor: &Floor) -> Call {
    match number {
        0 => Call::Hold,
        1 => Call::Resume,
        2 => Call::Next,
        3 => Call::Back,
        4 => Call::Restart,
        5 => Call::AddTime { span: secs(30) },
        6 => Call::AddTime { span: secs(-30) },
        7 => Call::Jump { to: floor.work() },
        _ => Call::Stop,
    }
}

/// Runs the steps; the taps that were made come back unsent.
fn run(steps: &[Step]) -> (Floor, Vec<Tap>) {
    let mut floor = Floor::in_amrap(6);
    for number in 1..4 {
        floor.join(number);
    }
    let (mut taps, mut last) = (Vec::new(), None);
    for step in steps {
        match *step {
            Step::Pass(millis) => floor.pass(Span::from_millis(millis)),
            Step::Call(number) => {
                if let Ok(id) = floor.call(call_of(number, &floor)) {
                    last = Some(id);
                }
            }
            Step::Tap(number) => {
                let work = floor.work();
                let made = floor.now;
                taps.push(floor.tap_made(number, work, made));
            }
            Step::TakeBackLast => {
                // A refusal is as good an outcome as any here.
                let _ = last.take().map(|id| floor.take_back(id));
            }
        }
    }
    (floor, taps)
}

fn standings(mut floor: Floor, taps: &[Tap]) -> Vec<Option<Standing>> {
    for tap in taps {
        let command = Command::Tap { tap: tap.clone(), connected_since: floor.now };
        floor.ask(COACH, command).expect("kept");
    }
    floor.check_replay();
    let mut by_id: Vec<_> = taps.iter().map(|tap| (tap.id, athlete_of(&floor, tap))).collect();
    by_id.sort_by_key(|(id, _)| *id);
    by_id.dedup_by_key(|(id, _)| *id);
    by_id.into_iter().map(|(_, standing)| standing).collect()
}

fn athlete_of(floor: &Floor, tap: &Tap) -> Option<Standing> {
    assert!(floor.class.people().any(|(id, _)| id == tap.athlete));
    floor.class.standing(tap.athlete, tap.id)
}

proptest! {
    #[test]
    fn order_and_repetition_of_taps_change_nothing(steps in steps(), seed in any::<u64>()) {
        let (floor, taps) = run(&steps);
        let in_order = standings(floor, &taps);
        let (floor, _) = run(&steps);
        let mut shuffled: Vec<_> = taps.iter().chain(taps.iter().step_by(2)).cloned().collect();
        // A fixed rearrangement from the seed.
        shuffled.sort_by_key(|tap| (tap.id.0.as_u128() as u64).wrapping_mul(seed | 1).rotate_left(17));
        prop_assert_eq!(in_order, standings(floor, &shuffled));
    }

    #[test]
    fn tallies_are_the_taps_that_count(steps in steps()) {
        let (mut floor, taps) = run(&steps);
        for tap in &taps {
            let command = Command::Tap { tap: tap.clone(), connected_since: floor.now };
            floor.ask(COACH, command).expect("kept");
        }
        for number in 1..4 {
            let counted = taps
                .iter()
                .filter(|tap| tap.athlete == athlete(number))
                .filter(|tap| matches!(
                    floor.class.standing(tap.athlete, tap.id),
                    Some(Standing::Counted { mark, .. }) if mark != Some(Mark::OtherSegment)
                ))
                .count();
            let rounds = match floor.tally(number) {
                Some(floorbell_core::score::Tally::Rounds { rounds, .. }) => rounds,
                _ => 0,
            };
            prop_assert_eq!(rounds as usize, counted);
        }
    }

    #[test]
    fn bells_never_go_backwards_and_revisions_only_up(steps in steps()) {
        let (floor, _) = run(&steps);
        let mut last = floor.journal[0].at;
        for stamped in &floor.journal {
            prop_assert!(stamped.at >= last);
            last = stamped.at;
        }
        if let Some(deadline) = floor.class.next_deadline() {
            prop_assert!(deadline > floor.now || floor.class.due(floor.now).len() == 1);
        }
    }
}
