//! What one simulated person is like. All of it follows from the seed, so that a class can be run
//! again with the same people.

use floorbell_core::class::command::{Choice, Chosen};
use floorbell_core::ids::{BlockIndex, MovementIndex, OptionIndex};
use floorbell_core::session::{Amount, Block, Movement, Sides, Unit};

use crate::chance::Chance;

/// Invented first names; none is anybody.
const NAMES: [&str; 24] = [
    "Ansa", "Birk", "Caro", "Dov", "Edda", "Falk", "Gesa", "Hale", "Ilse", "Jory", "Kaia", "Levin",
    "Mirre", "Nils", "Oda", "Pim", "Quill", "Rune", "Svea", "Tjark", "Una", "Veit", "Wiebke",
    "Yori",
];

/// Seconds of one rep, metre or calorie of somebody of middling pace, made up for the demonstration.
const REP_SECS: f64 = 2.2;
const METRE_SECS: f64 = 0.35;
const CALORIE_SECS: f64 = 3.5;
/// Changing from one movement to the next.
const CHANGE_SECS: f64 = 3.0;

/// One simulated person.
#[derive(Clone, Debug)]
pub(super) struct Person {
    /// What they are called.
    pub(super) name: String,
    /// Whether they join from home.
    pub(super) at_home: bool,
    /// How long they take for what somebody of middling pace does in 1.
    pace: f64,
    /// How much longer each round takes than the one before, as a fraction.
    fade: f64,
    /// How often a round is not tapped when it is done.
    pub(super) forgets: f64,
    /// How often they touch twice.
    pub(super) touches_twice: f64,
    /// How often their network goes away in a round.
    pub(super) loses_network: f64,
    /// Whether they do movements another way where the sheet offers one.
    scales: bool,
    chance: Chance,
}

impl Person {
    /// Person `number` of the class of a seed.
    pub(super) fn new(seed: u64, number: usize) -> Self {
        let mut chance =
            Chance::new(seed ^ (number as u64 + 1).wrapping_mul(0xd6e8_feb8_6659_fd93));
        let again = number / NAMES.len();
        let name = NAMES[number % NAMES.len()];
        Self {
            name: if again == 0 { name.to_owned() } else { format!("{name} {}", again + 1) },
            at_home: number % 16 == 15,
            pace: chance.between(0.8, 1.35),
            fade: chance.between(-0.005, 0.04),
            forgets: chance.between(0.0, 0.08),
            touches_twice: chance.between(0.0, 0.06),
            loses_network: if chance.happens(0.4) { 0.2 } else { 0.02 },
            scales: chance.happens(0.4),
            chance,
        }
    }

    /// Chance of their own.
    pub(super) fn chance(&mut self) -> &mut Chance {
        &mut self.chance
    }

    /// How they do the class: whoever scales takes the first option of some movements.
    pub(super) fn choice(&mut self, blocks: &[Block]) -> Choice {
        let mut options = Vec::new();
        for (block, movements) in (0..).map(BlockIndex).zip(blocks.iter().map(|b| &b.movements)) {
            for (movement, with) in (0..).map(MovementIndex).zip(movements) {
                if self.scales && !with.options.is_empty() && self.chance.happens(0.6) {
                    let option = self.chance.index(with.options.len());
                    let option = OptionIndex(u32::try_from(option).unwrap_or_default());
                    options.push(Chosen { block, movement, option });
                }
            }
        }
        Choice { scaled: !options.is_empty(), options }
    }

    /// How long they take for a round of these movements, in seconds; `before` rounds are done.
    pub(super) fn round_secs(&mut self, movements: &[Movement], before: u32) -> f64 {
        let even: f64 = movements.iter().map(movement_secs).sum();
        let tired = (1.0 + self.fade).powi(before.min(1_000).cast_signed());
        even.max(5.0) * self.pace * tired * self.chance.between(0.95, 1.07)
    }
}

fn movement_secs(movement: &Movement) -> f64 {
    let Some(Amount { count, unit }) = movement.amount else {
        return CHANGE_SECS;
    };
    let sides = if movement.sides == Sides::PerSide { 2.0 } else { 1.0 };
    let each = match unit {
        Unit::Reps => movement.tempo.map_or(REP_SECS, |tempo| tempo.rep().as_secs_f64()),
        Unit::Metres => METRE_SECS,
        Unit::Calories => CALORIE_SECS,
        Unit::Seconds => 1.0,
    };
    f64::from(count) * each * sides + CHANGE_SECS
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_makes_the_same_people() {
        let people =
            |seed| (0..40).map(|n| format!("{:?}", Person::new(seed, n))).collect::<Vec<_>>();
        assert_eq!(people(7), people(7));
        assert_ne!(people(7), people(8));
        let mut names: Vec<String> = (0..40).map(|number| Person::new(7, number).name).collect();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), 40);
    }
}
