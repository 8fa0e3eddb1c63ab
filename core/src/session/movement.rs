//! One exercise with its amount, and the other ways to do it.

use serde::{Deserialize, Serialize};

use crate::time::Span;

/// One exercise with its amount.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Movement {
    /// What it is called, without amount and load: `goblet squat`.
    pub name: String,
    /// How much of it one round asks for; none where the sheet leaves it open.
    pub amount: Option<Amount>,
    /// Whether the amount is for each side.
    pub sides: Sides,
    /// The weight, as written and in kilograms.
    pub load: Option<Load>,
    /// Box or target height as written (`50 cm`), where it has one.
    pub height: Option<String>,
    /// The speed of each rep.
    pub tempo: Option<Tempo>,
    /// What counts as a rep.
    pub standard: Option<String>,
    /// What the coach says about it; shown to the coach alone.
    pub cues: Vec<String>,
    /// Other ways to do it.
    pub options: Vec<MovementOption>,
}

/// How much of a movement.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Amount {
    /// How many units, at least 1.
    pub count: u32,
    /// Of what.
    pub unit: Unit,
}

/// What a movement is measured in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(rename_all = "kebab-case")]
pub enum Unit {
    /// Repetitions.
    Reps,
    /// Metres.
    Metres,
    /// Kilocalories as a machine shows them.
    Calories,
    /// Seconds of a held position, or of a movement done by time.
    Seconds,
}

/// Whether an amount is for both sides together or for each (rule 3.9).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(rename_all = "kebab-case")]
pub enum Sides {
    /// The amount is the whole.
    #[default]
    Both,
    /// The amount is done on each side, so it counts twice.
    PerSide,
    /// Sides take turns; the amount is the whole.
    Alternating,
}

/// A weight.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Load {
    /// What the sheet says: `24/16 kg`, `2 × 15 kg`, `by feel`.
    pub text: String,
    /// The weights in grams that the sheet offers, heaviest first as written; empty for `by feel`.
    pub grams: Vec<u32>,
    /// How many of the thing are held at once: 2 for a pair.
    pub pieces: u32,
    /// Whether the athlete chooses it; as written whatever they choose (rule 4.3).
    pub by_feel: bool,
}

/// Seconds of each rep's four parts: down, still at the bottom, up, still at the top.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Tempo(pub [u8; 4]);

/// Another way to do a movement. Never a lesser one.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct MovementOption {
    /// What is done instead, as written: `step-up 40 cm`.
    pub name: String,
    /// How much of it, where it differs from the movement's own amount.
    pub amount: Option<Amount>,
    /// Whether that amount is for each side.
    pub sides: Sides,
    /// The weight, where it differs.
    pub load: Option<Load>,
    /// What the option serves; several may serve one reason.
    pub reasons: Vec<Reason>,
    /// Whether it goes easier, sideways or harder.
    pub side: OptionSide,
    /// What counts as one, where it is not plain: `a trip is 40 s of skipping`.
    pub counts_as: Option<String>,
}

/// Why an option is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(rename_all = "kebab-case")]
pub enum Reason {
    /// No running.
    NoRunning,
    /// Nothing over the head.
    NoOverhead,
    /// No jumping or landing.
    LowImpact,
    /// The movement itself is not there yet.
    Mechanics,
    /// The gear is taken or missing.
    Gear,
    /// A lighter weight.
    Lighter,
    /// For those who join from home.
    AtHome,
}

/// Which way an option goes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(rename_all = "kebab-case")]
pub enum OptionSide {
    /// Less of something.
    Easier,
    /// Something else of the same worth.
    #[default]
    Sideways,
    /// More of something.
    Harder,
}

impl Amount {
    /// How many reps this amount adds to a count of extra reps when it is done whole: reps and
    /// calories one by one (both sides together), a distance or a held position as one (common
    /// practice).
    pub fn reps(self, sides: Sides) -> u32 {
        match self.unit {
            Unit::Reps | Unit::Calories => self.whole(sides),
            Unit::Metres | Unit::Seconds => Self { count: 1, ..self }.whole(sides),
        }
    }

    /// All of it in its own unit, both sides together.
    pub fn whole(self, sides: Sides) -> u32 {
        match sides {
            Sides::PerSide => self.count.saturating_mul(2),
            Sides::Both | Sides::Alternating => self.count,
        }
    }
}

impl Tempo {
    /// How long one rep takes.
    pub fn rep(self) -> Span {
        Span::from_secs(self.0.iter().map(|&part| i64::from(part)).sum())
    }
}

impl Movement {
    /// What it is counted in: the unit of its amount, or what it says it is done for (`row for
    /// calories`).
    pub fn unit(&self) -> Option<Unit> {
        self.amount.map(|amount| amount.unit).or_else(|| match self.name.rsplit_once(" for ")?.1 {
            "reps" => Some(Unit::Reps),
            "calories" => Some(Unit::Calories),
            "metres" | "meters" | "distance" => Some(Unit::Metres),
            _ => None,
        })
    }

    /// Reps that one round of the movement as written counts; 1 where the sheet leaves the amount
    /// open.
    pub fn reps(&self) -> u32 {
        self.amount.map_or(1, |amount| amount.reps(self.sides))
    }

    /// Reps that one round counts for someone who does `option` of it.
    pub fn reps_with(&self, option: Option<&MovementOption>) -> u32 {
        option
            .and_then(|option| option.amount.map(|amount| amount.reps(option.sides)))
            .unwrap_or_else(|| self.reps())
    }
}
