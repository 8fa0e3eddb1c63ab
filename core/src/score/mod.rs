//! What was counted, and how it ranks. One [`Tally`] serves every format.

pub mod board;
pub mod count;
pub mod reps;
pub mod standing;

use core::cmp::Ordering;

use serde::{Deserialize, Serialize};

use crate::time::Span;

pub use standing::{Mark, Standing, WhyNot};

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
        /// In grams.
        grams: u32,
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
    /// capped; kinds that have no order between them are equal.
    pub fn rank(&self, other: &Self) -> Ordering {
        use Tally::{AtCap, Count, Done, Finished, Load, Rounds};
        match (self, other) {
            (Rounds { rounds, extra }, Rounds { rounds: r, extra: e }) => {
                (r, e).cmp(&(rounds, extra))
            }
            (Finished { time }, Finished { time: t }) => time.cmp(t),
            (AtCap { reps }, AtCap { reps: r }) => r.cmp(reps),
            (Finished { .. }, AtCap { .. }) => Ordering::Less,
            (AtCap { .. }, Finished { .. }) => Ordering::Greater,
            (Load { grams }, Load { grams: g }) => g.cmp(grams),
            (Count { amount }, Count { amount: a }) => a.cmp(amount),
            (
                Rounds { .. } | Finished { .. } | AtCap { .. } | Load { .. } | Count { .. } | Done,
                _,
            ) => Ordering::Equal,
        }
    }
}

/// Two windows of one piece together: rounds and counts add up, the heavier load stands, and of two
/// that have no sum the later one.
pub fn total(earlier: Tally, later: Tally) -> Tally {
    use Tally::{Count, Load, Rounds};
    match (earlier, later) {
        (Rounds { rounds, extra }, Rounds { rounds: r, extra: e }) => {
            Rounds { rounds: rounds + r, extra: extra + e }
        }
        (Count { amount }, Count { amount: a }) => Count { amount: amount + a },
        (Load { grams }, Load { grams: g }) => Load { grams: grams.max(g) },
        (_, later) => later,
    }
}
