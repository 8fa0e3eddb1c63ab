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
    /// How often their network goes away in a minute of work.
    pub(super) loses_network: f64,
    /// Whether they do movements another way where the sheet offers one.
    scales: bool,
    /// The longest they take for an interval that is to be made in its time, as a share of it.
    slowest: f64,
    /// How many of one thing they do before they tap.
    pub(super) counts_by: u32,
    /// The heaviest that they lift.
    pub(super) heaviest_grams: f64,
    chance: Chance,
}

impl Person {
    /// Person `number` of the class of a seed, who works `hurry` times as fast as in life.
    pub(super) fn new(seed: u64, number: usize, hurry: f64) -> Self {
        let mut chance =
            Chance::new(seed ^ (number as u64 + 1).wrapping_mul(0xd6e8_feb8_6659_fd93));
        let again = number / NAMES.len();
        let name = NAMES[number % NAMES.len()];
        Self {
            name: if again == 0 { name.to_owned() } else { format!("{name} {}", again + 1) },
            at_home: number % 16 == 15,
            pace: chance.between(0.8, 1.35) / hurry,
            fade: chance.between(-0.005, 0.04),
            forgets: chance.between(0.0, 0.08),
            touches_twice: chance.between(0.0, 0.06),
            loses_network: if chance.happens(0.4) { 0.2 } else { 0.02 },
            scales: chance.happens(0.4),
            slowest: chance.between(0.85, 1.1),
            counts_by: if chance.happens(0.5) { 5 } else { 1 },
            heaviest_grams: chance.between(40_000.0, 110_000.0),
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

    /// How long they take for what takes somebody of middling pace `even` seconds, with so many
    /// rounds or minutes in their limbs.
    pub(super) fn secs(&mut self, even: f64, before: u32) -> f64 {
        let tired = (1.0 + self.fade).powi(before.min(1_000).cast_signed());
        even * self.pace * tired * self.chance.between(0.95, 1.07)
    }

    /// How long they take for an interval that is to be made in its time, as a share of it.
    pub(super) fn share_of_interval(&mut self) -> f64 {
        self.chance.between(0.6, self.slowest)
    }
}

/// How long somebody of middling pace takes for a movement of a round, in seconds; `reps` of it
/// where the heading has them.
pub(super) fn movement_secs(movement: &Movement, reps: Option<u32>) -> f64 {
    let by_heading = reps.map(|count| Amount { count, unit: Unit::Reps });
    let Some(Amount { count, unit }) = by_heading.or(movement.amount) else {
        return CHANGE_SECS;
    };
    let sides = if movement.sides == Sides::PerSide { 2.0 } else { 1.0 };
    let each = match movement.tempo {
        Some(tempo) if unit == Unit::Reps => tempo.rep().as_secs_f64(),
        _ => unit_secs(unit),
    };
    f64::from(count) * each * sides + CHANGE_SECS
}

/// How long somebody of middling pace takes for one of a unit, in seconds.
pub(super) fn unit_secs(unit: Unit) -> f64 {
    match unit {
        Unit::Reps => REP_SECS,
        Unit::Metres => METRE_SECS,
        Unit::Calories => CALORIE_SECS,
        Unit::Seconds => 1.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_makes_the_same_people() {
        let people =
            |seed| (0..40).map(|n| format!("{:?}", Person::new(seed, n, 1.0))).collect::<Vec<_>>();
        assert_eq!(people(7), people(7));
        assert_ne!(people(7), people(8));
        let mut names: Vec<String> =
            (0..40).map(|number| Person::new(7, number, 1.0).name).collect();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), 40);
    }
}
