//! What one window of work has counted for one athlete or team.

use serde::{Deserialize, Serialize};

use super::{Standing, Tally};
use crate::ids::{AthleteId, TapId};
use crate::time::{HouseTime, Span};

/// What one window has counted. Which of it makes the tally is for the piece's
/// [`Scoring`](super::Scoring) to say.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WindowCount {
    /// Full rounds that were tapped or set.
    pub rounds: u32,
    /// Of these, the ones that were done as written.
    pub as_written: u32,
    /// Reps of these rounds together, as the athlete does them.
    pub rounds_reps: u32,
    /// Reps, metres or calories beyond what was tapped, that were set or entered.
    pub extra: u32,
    /// How many reps make a full round, where extra reps were entered.
    pub of_round: Option<u32>,
    /// An amount that was tapped or set.
    pub amount: u32,
    /// Class time and amount of each tap that counted one.
    pub amounts: Vec<(Span, u32)>,
    /// The class time of finishing.
    pub finished: Option<Span>,
    /// Attempts at a load, in the order in which they were made.
    pub attempts: Vec<Attempt>,
    /// A tally that was set outright, of a kind that nothing is added to.
    pub set: Option<Tally>,
    /// Whether a tally was set or extra reps were entered.
    pub entered: bool,
    /// Times of the rounds that gave one, in order.
    pub splits: Vec<Span>,
    /// Class time of the last tap that counts.
    pub last: Option<Span>,
    /// House time of the last tap that counts.
    pub last_at: Option<HouseTime>,
    /// The last tap that counts.
    pub last_tap: Option<TapId>,
    /// Whose phone made it; none for a coach device or a tally tablet.
    pub last_by: Option<AthleteId>,
    /// What is odd about the tally, for the coach to look at.
    pub odd: Vec<Odd>,
    /// Taps that the coach is to look at.
    pub marked: Vec<Marked>,
}

/// One try at a load.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Attempt {
    /// The tap that told of it.
    pub tap: TapId,
    /// The load; assistance is negative.
    pub grams: i32,
    /// Whether it was good, or no lift.
    pub good: bool,
}

/// Something that the coach is to look at (rules 3.3, 3.4 and 3.6).
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(tag = "on", rename_all = "kebab-case")]
pub enum Marked {
    /// A tap.
    Tap {
        /// Which.
        tap: TapId,
        /// What it is worth until it is settled.
        worth: Standing,
        /// When it says that it was made.
        made_at: HouseTime,
    },
    /// The tally itself.
    Tally {
        /// What is odd about it.
        why: Odd,
    },
}

/// What is odd about a tally.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(tag = "odd", rename_all = "kebab-case")]
pub enum Odd {
    /// The athlete entered another one than was counted.
    ByHand {
        /// What was counted.
        from: Option<Tally>,
    },
    /// The athlete entered one that is far from what somebody else had counted for them.
    FarFromCounter {
        /// What was counted.
        from: Option<Tally>,
    },
    /// It lies far over what the sheet expects.
    FarOver {
        /// The most rounds that the sheet expects.
        most: u32,
    },
}

impl WindowCount {
    /// A window whose tally was set.
    pub(super) fn set_to(tally: Tally, scaled: bool) -> Self {
        let nothing = Self { entered: true, ..Self::default() };
        match tally {
            Tally::Rounds { rounds, extra } => {
                Self { rounds, extra, as_written: if scaled { 0 } else { rounds }, ..nothing }
            }
            Tally::Count { amount } => Self { amount, ..nothing },
            Tally::Finished { .. }
            | Tally::AtCap { .. }
            | Tally::Load { .. }
            | Tally::Made { .. }
            | Tally::Done => Self { set: Some(tally), ..nothing },
        }
    }

    pub(super) fn add_amount(&mut self, at: Span, amount: u32) {
        self.amount = self.amount.saturating_add(amount);
        self.amounts.push((at, amount));
    }

    /// What the coach is to look at: the tally first.
    pub fn marks(&self) -> impl Iterator<Item = Marked> {
        let odd = self.odd.iter().map(|&why| Marked::Tally { why });
        odd.chain(self.marked.iter().cloned())
    }

    /// Rounds and extra reps, in which a full round's worth of extra reps is a round.
    pub fn rounds_and_extra(&self) -> (u32, u32) {
        match self.of_round {
            Some(of_round) if self.extra >= of_round => (self.rounds + 1, self.extra - of_round),
            _ => (self.rounds, self.extra),
        }
    }

    /// Whether the way of doing it was changed between rounds.
    pub fn is_mixed(&self) -> bool {
        (1..self.rounds).contains(&self.as_written)
    }

    /// What the last minute up to the last tap has counted; of a shorter run, what it would be at
    /// the same rate (rule 3.9).
    pub fn in_last_minute(&self) -> Option<u32> {
        const MINUTE: Span = Span::from_mins(1);
        let last = self.last.filter(|last| *last > Span::ZERO)?;
        let recent = self.amounts.iter().rev().take_while(|(at, _)| *at + MINUTE > last);
        let recent: u64 = recent.map(|(_, amount)| u64::from(*amount)).sum();
        let over = last.min(MINUTE).as_micros().unsigned_abs();
        u32::try_from(recent.saturating_mul(MINUTE.as_micros().unsigned_abs()) / over).ok()
    }
}
