//! What was counted, and how it ranks. One [`Tally`] serves every format.

pub mod board;
pub(crate) mod count;
pub mod reps;
pub mod scoring;
pub mod sent;
mod splits;
pub mod standing;
pub mod window;

use core::cmp::Ordering;

use serde::{Deserialize, Serialize};

use crate::time::Span;

pub use count::{TEAM_WITHIN, TWICE_WITHIN};
pub use scoring::Scoring;
pub use standing::{Mark, Standing, WhyNot};
pub use window::{Attempt, Marked, Odd};

/// What a piece has counted for one athlete or team.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Tally {
    /// Full rounds and the reps of an unfinished one.
    Rounds {
        /// Full rounds.
        rounds: u32,
        /// Extra reps.
        extra: u32,
    },
    /// Finished, at this class time.
    Finished {
        /// The time.
        time: Span,
    },
    /// Not finished at the cap, with so many reps done.
    AtCap {
        /// Reps.
        reps: u32,
    },
    /// The heaviest good attempt.
    Load {
        /// In grams; 0 is unweighted, assistance is negative.
        grams: i32,
    },
    /// Stretches of work that were made in their time.
    Made {
        /// So many.
        made: u32,
        /// Of so many.
        of: u32,
    },
    /// A count of the piece's own unit.
    Count {
        /// Reps, metres or calories.
        amount: u32,
    },
    /// Done, without a score.
    Done,
}

impl Tally {
    /// How two tallies of one piece rank (rule 4.1): `Less` comes first. Finished comes before
    /// capped; kinds that never meet in one piece have an order all the same, so that it is total.
    pub fn rank(&self, other: &Self) -> Ordering {
        use Tally::{AtCap, Count, Finished, Load, Made, Rounds};
        match (self, other) {
            (Rounds { rounds, extra }, Rounds { rounds: r, extra: e }) => {
                (r, e).cmp(&(rounds, extra))
            }
            (Finished { time }, Finished { time: t }) => time.cmp(t),
            (AtCap { reps }, AtCap { reps: r }) => r.cmp(reps),
            (Load { grams }, Load { grams: g }) => g.cmp(grams),
            (Count { amount }, Count { amount: a }) => a.cmp(amount),
            (Made { made, .. }, Made { made: m, .. }) => m.cmp(made),
            _ => self.kind().cmp(&other.kind()),
        }
    }

    const fn kind(&self) -> u8 {
        match self {
            Self::Finished { .. } => 0,
            Self::AtCap { .. } => 1,
            Self::Rounds { .. } => 2,
            Self::Load { .. } => 3,
            Self::Count { .. } => 4,
            Self::Made { .. } => 5,
            Self::Done => 6,
        }
    }
}
