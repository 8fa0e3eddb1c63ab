//! How a window of work is counted and what it gives. One enum for all formats: what differs between
//! them stands here and nowhere else.

use serde::{Deserialize, Serialize};

use super::window::WindowCount;
use super::{Tally, reps};
use crate::class::command::Counts;
use crate::class::refusal::Refusal;
use crate::session::{Block, Format, IntervalScore, Movement, Piece, Unit};
use crate::time::Span;

/// Rounds and reps beyond these are slips of the finger: three hours of one round in ten seconds.
const ROUNDS_MAX: u32 = 999;
const REPS_MAX: u32 = 9_999;
/// A team's metres exceed 10,000.
const COUNT_MAX: u32 = 100_000;
/// 1,000 kg, and as much again in assistance, which is below zero.
const GRAMS_MAX: i32 = 1_000_000;
/// No single tap counts more: a length of the pool, a trip round the harbour.
const TAP_AMOUNT_MAX: u32 = 10_000;

/// How a window of work is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(tag = "by", rename_all = "kebab-case")]
pub enum Scoring {
    /// Rounds, then extra reps.
    Rounds,
    /// The time at which all of it is done; at the cap, the reps that are.
    Time {
        /// When everybody stops.
        cap: Span,
        /// Rounds in all.
        rounds: u32,
        /// Reps in all, as the sheet has them.
        reps: u32,
    },
    /// Whether it was made in its time.
    Made,
    /// The amount of one thing (rule 3.9).
    Amount {
        /// In what.
        unit: Unit,
        /// What is counted on the floor at once: a trip of 120 m, ten reps, one calorie.
        step: u32,
    },
    /// The heaviest good attempt.
    Load {
        /// Reps of one attempt.
        reps: u32,
    },
    /// Done, without a score.
    Done,
}

impl Scoring {
    /// How the windows of a block are counted, if it is a piece.
    pub fn of(block: &Block) -> Option<Self> {
        let piece = block.kind.piece()?;
        let movements = &block.movements[..];
        Some(match &piece.format {
            Format::Amrap { ladder: None, .. } => match movements {
                [only] if block.aim.as_ref().is_none_or(|aim| aim.rounds.is_none()) => {
                    step_of(only).unwrap_or(Self::Rounds)
                }
                _ => Self::Rounds,
            },
            Format::Amrap { .. } => Self::Rounds,
            Format::ForTime { rounds, scheme, cap } => Self::Time {
                cap: *cap,
                rounds: *rounds,
                reps: reps::in_all((0..*rounds).map(|round| {
                    reps::in_all(movements.iter().map(|movement| {
                        scheme
                            .get(round as usize)
                            .copied()
                            .unwrap_or_else(|| movement.reps_with(None))
                    }))
                })),
            },
            Format::EveryN { score, .. } | Format::Intervals { score, .. } => match score {
                IntervalScore::RoundsMade => Self::Made,
                IntervalScore::Total | IntervalScore::Lowest => {
                    Self::Amount { unit: unit_of(movements).unwrap_or(Unit::Reps), step: 1 }
                }
            },
            Format::MaxLoad { reps, .. } => Self::Load { reps: *reps },
            Format::MaxCount { unit, .. } => {
                let step = movements.first().and_then(|only| match step_of(only)? {
                    Self::Amount { unit: own, step } if own == *unit => Some(step),
                    _ => None,
                });
                Self::Amount { unit: *unit, step: step.unwrap_or(1) }
            }
            Format::Quality { .. } => Self::Done,
        })
    }

    /// Whether the piece has places.
    pub fn is_ranked(self) -> bool {
        self != Self::Done
    }

    /// Whether it comes to reps, which add up over pieces. Whoever has no score counts none.
    pub fn counts_reps(self) -> bool {
        match self {
            Self::Rounds
            | Self::Time { .. }
            | Self::Amount { unit: Unit::Reps, .. }
            | Self::Done => true,
            Self::Made | Self::Amount { .. } | Self::Load { .. } => false,
        }
    }

    /// Whether a tap of this kind means anything here.
    pub fn takes(self, counts: Counts) -> bool {
        use Counts::{Amount, Attempt, Finish, Round, RoundBefore};
        match counts {
            Round | RoundBefore => !matches!(self, Self::Load { .. }),
            Amount { .. } => matches!(self, Self::Amount { .. }),
            Finish => matches!(self, Self::Time { .. } | Self::Done),
            Attempt { .. } => matches!(self, Self::Load { .. }),
        }
    }

    /// What a window has come to, once there is anything to it. A full round's worth of extra reps
    /// is a round: 5 + 26 of 26 is 6 + 0.
    pub fn tally(self, window: &WindowCount) -> Option<Tally> {
        let something = window.entered || window.rounds > 0 || window.amount > 0;
        match self {
            Self::Rounds => {
                let (rounds, extra) = window.rounds_and_extra();
                something.then_some(Tally::Rounds { rounds, extra })
            }
            Self::Time { .. } => {
                let finished = window.finished.map(|time| Tally::Finished { time });
                let reps = window.rounds_reps.saturating_add(window.extra);
                finished.or(window.set).or(something.then_some(Tally::AtCap { reps }))
            }
            Self::Made => {
                window.set.or((window.rounds > 0).then_some(Tally::Made { made: 1, of: 1 }))
            }
            Self::Amount { .. } => {
                let amount = window.amount.saturating_add(window.extra);
                something.then_some(Tally::Count { amount })
            }
            Self::Load { .. } => {
                let good = window.attempts.iter().filter(|it| it.good).map(|it| it.grams);
                let set = window.set.and_then(|set| match set {
                    Tally::Load { grams } => Some(grams),
                    _ => None,
                });
                good.chain(set).max().map(|grams| Tally::Load { grams })
            }
            Self::Done => {
                window.set.or((something || window.finished.is_some()).then_some(Tally::Done))
            }
        }
    }

    /// What a tally stands at before anything was counted.
    pub fn nothing(self) -> Tally {
        match self {
            Self::Rounds | Self::Load { .. } | Self::Done => Tally::Rounds { rounds: 0, extra: 0 },
            Self::Time { .. } => Tally::AtCap { reps: 0 },
            Self::Made => Tally::Made { made: 0, of: 1 },
            Self::Amount { .. } => Tally::Count { amount: 0 },
        }
    }

    /// All windows of a piece together, in order; those that have begun, with their tallies.
    pub fn together(self, piece: &Piece, windows: &[Part]) -> Option<Tally> {
        let tallies = || windows.iter().filter_map(|part| part.tally);
        tallies().next()?;
        match self {
            Self::Amount { .. } if lowest(&piece.format) => {
                // What is under way is no lowest yet, unless it is the first.
                let over = windows.iter().filter(|part| part.over).map(|part| part.tally);
                let least = over.map(|tally| tally.map_or(0, amount)).min();
                let amount = least.or_else(|| tallies().map(amount).min())?;
                Some(Tally::Count { amount })
            }
            Self::Made => {
                let made = tallies().map(made).sum();
                Some(Tally::Made { made, of: piece.windows_in_all() })
            }
            Self::Time { reps, .. } if windows.len() > 1 => Some(times(&tallies(), reps)),
            _ => tallies().reduce(sum),
        }
    }

    /// Whether a tally is of the kind that the piece gives, and inside what its unit allows.
    pub fn check(self, tally: Tally) -> Result<(), Refusal> {
        match (self, tally) {
            (Self::Rounds, Tally::Rounds { rounds, extra }) => {
                within("Rounds", rounds, ROUNDS_MAX)?;
                within("Extra reps", extra, REPS_MAX)
            }
            (Self::Time { cap, .. }, Tally::Finished { time }) => {
                let secs = |span: Span| span.as_micros().div_euclid(1_000_000);
                let most = secs(cap);
                if time < Span::ZERO || time > cap {
                    let what = "Seconds up to the cap";
                    return Err(Refusal::OutOfRange { what, least: 0, most });
                }
                Ok(())
            }
            (Self::Time { .. }, Tally::AtCap { reps }) => within("Reps", reps, REPS_MAX),
            (Self::Made, Tally::Made { made, of: 1 }) => within("Made", made, 1),
            (Self::Amount { .. }, Tally::Count { amount }) => within("Amount", amount, COUNT_MAX),
            (Self::Load { .. }, Tally::Load { grams }) => load(grams),
            (Self::Done, Tally::Done) => Ok(()),
            _ => Err(Refusal::NotNow("This piece is scored in another way.")),
        }
    }
}

/// One window of a piece that has begun.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Part {
    /// What it has come to.
    pub tally: Option<Tally>,
    /// Whether its bell has gone.
    pub over: bool,
}

/// Whether what a tap counts is inside what one tap can mean.
pub fn check_tap(counts: Counts) -> Result<(), Refusal> {
    match counts {
        Counts::Amount { amount } if !(1..=TAP_AMOUNT_MAX).contains(&amount) => {
            let most = TAP_AMOUNT_MAX.into();
            Err(Refusal::OutOfRange { what: "Amount of one tap", least: 1, most })
        }
        Counts::Attempt { grams, .. } => load(grams),
        Counts::Amount { .. } | Counts::Round | Counts::RoundBefore | Counts::Finish => Ok(()),
    }
}

fn within(what: &'static str, value: u32, most: u32) -> Result<(), Refusal> {
    if value <= most {
        Ok(())
    } else {
        Err(Refusal::OutOfRange { what, least: 0, most: most.into() })
    }
}

/// 0 is unweighted and fine; assistance is negative.
fn load(grams: i32) -> Result<(), Refusal> {
    if (-GRAMS_MAX..=GRAMS_MAX).contains(&grams) {
        return Ok(());
    }
    let most = i64::from(GRAMS_MAX);
    Err(Refusal::OutOfRange { what: "Grams", least: -most, most })
}

/// What one tap counts of a window with a single movement; none for one by time or left open.
fn step_of(movement: &Movement) -> Option<Scoring> {
    let amount = movement.amount.filter(|amount| amount.unit != Unit::Seconds)?;
    Some(Scoring::Amount { unit: amount.unit, step: amount.whole(movement.sides) })
}

/// The unit that all movements have in common.
fn unit_of(movements: &[Movement]) -> Option<Unit> {
    let mut units = movements.iter().filter_map(Movement::unit);
    let first = units.next()?;
    units.all(|unit| unit == first).then_some(first)
}

fn lowest(format: &Format) -> bool {
    matches!(
        format,
        Format::EveryN { score: IntervalScore::Lowest, .. }
            | Format::Intervals { score: IntervalScore::Lowest, .. }
    )
}

fn amount(tally: Tally) -> u32 {
    match tally {
        Tally::Count { amount } => amount,
        _ => 0,
    }
}

fn made(tally: Tally) -> u32 {
    match tally {
        Tally::Made { made, .. } => made,
        _ => 0,
    }
}

/// Several windows for time: the times add up where all were finished, else the reps do.
fn times(tallies: &(impl Iterator<Item = Tally> + Clone), whole: u32) -> Tally {
    let time = tallies.clone().try_fold(Span::ZERO, |sum, tally| match tally {
        Tally::Finished { time } => Some(sum + time),
        _ => None,
    });
    let reps = tallies.clone().map(|tally| match tally {
        Tally::AtCap { reps } => reps,
        _ => whole,
    });
    time.map_or_else(|| Tally::AtCap { reps: reps::in_all(reps) }, |time| Tally::Finished { time })
}

/// Two windows together: rounds and counts add up, the heavier load stands, and of two that have no
/// sum the later one.
fn sum(earlier: Tally, later: Tally) -> Tally {
    use Tally::{Count, Load, Rounds};
    match (earlier, later) {
        (Rounds { rounds, extra }, Rounds { rounds: r, extra: e }) => {
            Rounds { rounds: rounds.saturating_add(r), extra: extra.saturating_add(e) }
        }
        (Count { amount }, Count { amount: a }) => Count { amount: amount.saturating_add(a) },
        (Load { grams }, Load { grams: g }) => Load { grams: grams.max(g) },
        (_, later) => later,
    }
}
