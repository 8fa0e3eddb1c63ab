//! How long unscored movements take, where the sheet gives no length (rule 1.9).
//!
//! A block is a chain of bouts with a change-over between any two of them. A movement by time is
//! one bout, or one for each side; anything else is one bout as long as its amount.

use super::{Movement, Sides, Unit};
use crate::time::Span;

/// From the end of one bout to the start of the next: common practice.
pub const CHANGE_OVER: Span = Span::from_secs(5);
/// One rep without a tempo: common practice.
pub const REP: Span = Span::from_secs(3);
/// One metre, between a walk and a run, or on a rowing machine: common practice.
pub const METRE: Span = Span::from_millis(400);
/// One calorie on a machine at an easy pace: common practice.
pub const CALORIE: Span = Span::from_secs(5);
/// A movement whose amount is left open: common practice.
pub const UNSAID: Span = Span::from_secs(30);
/// A block with neither a length nor movements: common practice.
pub const EMPTY_BLOCK: Span = Span::from_mins(3);

/// How long `rounds` rounds of `movements` take, change-overs between bouts counted.
pub fn rounds(movements: &[Movement], rounds: u32) -> Span {
    if movements.is_empty() {
        return EMPTY_BLOCK;
    }
    let one: Span = movements.iter().map(|movement| once(movement) + CHANGE_OVER).sum();
    one.times(rounds) - CHANGE_OVER
}

/// How long one round of a movement takes, with the change-over between its sides.
pub fn once(movement: &Movement) -> Span {
    let Some(amount) = movement.amount else { return UNSAID };
    let both = u32::from(movement.sides == Sides::PerSide) + 1;
    match amount.unit {
        Unit::Seconds => {
            Span::from_secs(1).times(amount.count).times(both) + CHANGE_OVER.times(both - 1)
        }
        Unit::Reps => movement.tempo.map_or(REP, super::Tempo::rep).times(amount.count).times(both),
        Unit::Metres => METRE.times(amount.count).times(both),
        Unit::Calories => CALORIE.times(amount.count).times(both),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::{Amount, Tempo};

    fn movement(count: u32, unit: Unit, sides: Sides, tempo: Option<Tempo>) -> Movement {
        Movement {
            name: "something".to_owned(),
            amount: Some(Amount { count, unit }),
            sides,
            load: None,
            height: None,
            tempo,
            standard: None,
            cues: vec![],
            options: vec![],
        }
    }

    #[test]
    fn the_worked_examples() {
        let held = movement(20, Unit::Seconds, Sides::PerSide, None);
        assert_eq!(rounds(&[held], 2), Span::from_secs(95));
        let slow = movement(6, Unit::Reps, Sides::PerSide, Some(Tempo([4, 0, 1, 0])));
        assert_eq!(rounds(&[slow], 1), Span::from_secs(60));
    }

    #[test]
    fn change_overs_stand_between_movements_and_rounds() {
        let reps = movement(10, Unit::Reps, Sides::Both, None);
        let row = movement(100, Unit::Metres, Sides::Both, None);
        let machine = movement(12, Unit::Calories, Sides::Both, None);
        let open = Movement { amount: None, ..reps.clone() };
        let one = 30 + 40 + 60 + 30;
        assert_eq!(rounds(&[reps, row, machine, open], 2), Span::from_secs(one * 2 + 7 * 5));
    }
}
