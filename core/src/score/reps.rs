//! Counting reps inside rounds (rules 3.7 and 3.8).

use crate::class::command::Reached;
use crate::session::Ladder;

/// Extra reps of an unfinished round whose movements have `movement_reps` each: those of the
/// movements before the one reached, and those done of it. None if there is no such movement or it
/// has fewer reps.
pub fn extra_reps(movement_reps: &[u32], reached: Reached) -> Option<u32> {
    let movement = reached.movement.0 as usize;
    let of_it = *movement_reps.get(movement)?;
    let before = in_all(movement_reps[..movement].iter().copied());
    (reached.reps <= of_it).then_some(before.saturating_add(reached.reps))
}

/// Reps of several movements or rounds together. A ladder without end saturates.
pub fn in_all(reps: impl IntoIterator<Item = u32>) -> u32 {
    reps.into_iter().fold(0, u32::saturating_add)
}

/// Reps of each movement in a round of a ladder, rounds counted from 0.
pub fn ladder_reps(ladder: Ladder, round: u32) -> u32 {
    ladder.start.saturating_add(ladder.step.saturating_mul(round))
}

/// All reps of a ladder of so many movements after full rounds and extra reps.
pub fn ladder_total(ladder: Ladder, movements: u32, rounds: u32, extra: u32) -> u64 {
    let in_rounds: u64 = (0..rounds).map(|round| u64::from(ladder_reps(ladder, round))).sum();
    in_rounds * u64::from(movements) + u64::from(extra)
}

/// A count by a unit of several, with what was done of the last one: seven trips of 120 m and 45 m
/// are 885 m (rule 3.9).
pub fn by_unit(units: u32, of_each: u32, remainder: u32) -> u64 {
    u64::from(units) * u64::from(of_each) + u64::from(remainder)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::MovementIndex;
    use crate::session::{Amount, Sides, Unit};

    #[test]
    fn extra_reps_are_those_up_to_the_movement_reached() {
        let at = |movement, reps| {
            extra_reps(&[11, 8, 7], Reached { movement: MovementIndex(movement), reps })
        };
        assert_eq!(at(2, 4), Some(23), "11 + 8 + 4");
        assert_eq!(at(0, 0), Some(0));
        assert_eq!(at(2, 7), Some(26), "a full round");
        assert_eq!(at(1, 9), None, "more than the movement has");
        assert_eq!(at(3, 1), None, "no such movement");
    }

    #[test]
    fn seven_trips_of_120_metres_and_45_are_885() {
        assert_eq!(by_unit(7, 120, 45), 885);
    }

    #[test]
    fn sides_are_counted_together() {
        let reps = |sides| Amount { count: 6, unit: Unit::Reps }.reps(sides);
        assert_eq!(reps(Sides::PerSide), 12, "6 per side are 12");
        assert_eq!(reps(Sides::Alternating), 6, "alternating reps are counted in all");
    }

    #[test]
    fn a_ladder_of_fours_with_two_movements() {
        let ladder = Ladder { start: 4, step: 4 };
        assert_eq!(ladder_total(ladder, 2, 4, 7), 87);
    }
}
