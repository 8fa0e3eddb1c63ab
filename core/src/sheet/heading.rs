//! From the clauses of a heading to the kind of block. What a format needs is taken out of the
//! clauses one by one; what is then left has no place in it, and is said.

use core::ops::Range;

use super::clause::{Clause, Found, UnscoredKind};
use super::problem::Problems;
use crate::session::{
    AfterBell, BlockKind, Format, IntervalScore, Ladder, Pace, Piece, Sharing, Unscored,
    WindowsRanked,
};
use crate::time::Span;

/// A block longer than this is a slip of the pen: `10 h` for `10 min`.
pub(super) const LENGTH_MAX: Span = Span::from_mins(4 * 60);
/// Starts, rounds and repeats of a block: two hours of every minute.
const ROUNDS_MAX: u32 = 120;
/// People in a team: more than a class has.
const TEAM_MAX: u32 = 60;
/// Lead-in before a piece unless the sheet says otherwise: common practice.
const LEAD_IN: Span = Span::from_secs(10);

/// Takes what a block needs out of what its heading says.
pub(super) struct Parts<'p, 'a> {
    pub(super) found: Vec<Found>,
    /// Where the heading stands.
    pub(super) heading: Range<usize>,
    pub(super) problems: &'p mut Problems<'a>,
}

impl Parts<'_, '_> {
    /// The block's kind; none where something was missing, which is then among the problems.
    pub(super) fn kind(mut self) -> Option<BlockKind> {
        self.check_bounds();
        let kind = self.main()?;
        let name = match &kind {
            BlockKind::Piece(_) => "this format",
            BlockKind::Rest { .. } => "a rest",
            _ => "a block without a score",
        };
        for left in core::mem::take(&mut self.found) {
            let message = format!("this has no place in {name}, or is said twice");
            self.problems.error(left.at, message, "one format and its own numbers in each heading");
        }
        Some(kind)
    }

    fn take<T>(&mut self, pick: impl Fn(&Clause) -> Option<T>) -> Option<T> {
        let (index, value) =
            self.found.iter().enumerate().find_map(|(i, f)| Some((i, pick(&f.clause)?)))?;
        self.found.remove(index);
        Some(value)
    }

    fn missing<T>(&mut self, what: &str, example: &str) -> Option<T> {
        self.problems.error(self.heading.clone(), format!("{what} is missing here"), example);
        None
    }

    fn check_bounds(&mut self) {
        for Found { clause, at } in &self.found {
            let (wrong, example) = match clause {
                Clause::Length(s)
                | Clause::Cap(s)
                | Clause::Every(s)
                | Clause::Work(s)
                | Clause::Rest(Some(s)) => {
                    ((*s <= Span::ZERO || *s > LENGTH_MAX).then_some("1 s to 4 hours"), "9 min")
                }
                Clause::LeadIn(s) => ((*s > LENGTH_MAX).then_some("up to 4 hours"), "lead-in 10 s"),
                Clause::Rounds(n) | Clause::Times(n) | Clause::Heavy(n) => {
                    ((*n == 0 || *n > ROUNDS_MAX).then_some("1 to 120"), "4 times")
                }
                Clause::Numbers { values, .. } => (
                    values.iter().any(|n| !(1..=1000).contains(n)).then_some("1 to 1000 each"),
                    "20-16-12",
                ),
                Clause::Team(n) => {
                    ((!(2..=TEAM_MAX).contains(n)).then_some("2 to 60 people"), "in teams of 3")
                }
                _ => (None, ""),
            };
            if let Some(expected) = wrong {
                self.problems.error(at.clone(), format!("expected {expected}"), example);
            }
        }
    }

    fn main(&mut self) -> Option<BlockKind> {
        let unscored = |clause: &Clause| match clause {
            Clause::Unscored(kind) => Some(*kind),
            _ => None,
        };
        if let Some(kind) = self.take(unscored) {
            return Some(self.unscored(kind));
        }
        if self.found.iter().any(|f| f.clause.is_main() && !matches!(f.clause, Clause::Rest(_))) {
            return self.piece().map(BlockKind::Piece);
        }
        self.rest_block()
    }

    fn unscored(&mut self, kind: UnscoredKind) -> BlockKind {
        let unscored = Unscored {
            pace: self.take(pace).unwrap_or(Pace::SelfPaced),
            rounds: self.take(rounds).unwrap_or(1),
            given: self.take(length),
        };
        match kind {
            UnscoredKind::Talk => BlockKind::Talk(unscored),
            UnscoredKind::SetUp => BlockKind::SetUp(unscored),
            UnscoredKind::WarmUp => BlockKind::WarmUp(unscored),
            UnscoredKind::Drill => BlockKind::Drill(unscored),
            UnscoredKind::CoolDown => BlockKind::CoolDown(unscored),
        }
    }

    fn rest_block(&mut self) -> Option<BlockKind> {
        let said = self.take(|clause| match clause {
            Clause::Rest(length) => Some(*length),
            _ => None,
        })?;
        let Some(length) = said.or_else(|| self.take(length)) else {
            return self.missing("the length of the rest", "Rest 3 min");
        };
        let wait = self.take(|clause| (*clause == Clause::Wait).then_some(AfterBell::Wait));
        Some(BlockKind::Rest { length, after: wait.unwrap_or(AfterBell::Next) })
    }

    fn piece(&mut self) -> Option<Piece> {
        let format = self.format()?;
        let lead_in = self.take(|clause| match clause {
            Clause::LeadIn(span) => Some(*span),
            _ => None,
        });
        let repeats = self.take(times).unwrap_or(1);
        let sharing = self.take(|clause| match clause {
            Clause::Team(size) => Some(Sharing::Team { size: *size }),
            _ => None,
        });
        let rest = if repeats > 1 { self.take(rest) } else { None };
        Some(Piece {
            format,
            lead_in: lead_in.unwrap_or(LEAD_IN),
            repeats,
            repeat_rest: rest.unwrap_or(Span::ZERO),
            sharing: sharing.unwrap_or(Sharing::Alone),
            first_there_splits_ties: self
                .take(|clause| (*clause == Clause::FirstThere).then_some(()))
                .is_some(),
            windows: if repeats > 1 {
                self.take(windows).unwrap_or_default()
            } else {
                WindowsRanked::default()
            },
        })
    }

    fn format(&mut self) -> Option<Format> {
        let main = self.take(|clause| match clause {
            Clause::Rest(_) => None,
            other => other.is_main().then(|| other.clone()),
        })?;
        match main {
            Clause::Amrap => {
                let ladder = self.ladder();
                let window = self.window("AMRAP 9 min")?;
                Some(Format::Amrap { window, ladder })
            }
            Clause::ForTime => self.for_time(),
            Clause::Every(every) => self.every(every),
            Clause::Work(work) => self.intervals(work),
            Clause::Heavy(reps) => {
                let window = self.window("build to a heavy set of 3 in 15 min")?;
                Some(Format::MaxLoad { window, reps })
            }
            Clause::Max(unit) => {
                let window = self.window("max metres in 4 min")?;
                Some(Format::MaxCount { window, unit })
            }
            // The last of the main clauses: what is left of them is quality.
            _ => {
                let rounds = self.take(rounds);
                let window = self.window("quality for 10 min")?;
                Some(Format::Quality { window, rounds })
            }
        }
    }

    fn window(&mut self, example: &str) -> Option<Span> {
        self.take(length).or_else(|| self.missing("how long it lasts", example))
    }

    fn ladder(&mut self) -> Option<Ladder> {
        let index = self.found.iter().position(|f| matches!(f.clause, Clause::Numbers { .. }))?;
        let Found { clause: Clause::Numbers { values, .. }, at } = self.found.remove(index) else {
            return None;
        };
        let step = values[1].checked_sub(values[0]);
        match step {
            Some(step) if values.windows(2).all(|w| w[1].checked_sub(w[0]) == Some(step)) => {
                Some(Ladder { start: values[0], step })
            }
            _ => {
                let message = "a ladder grows by the same number each round";
                self.problems.error(at, message, "AMRAP 7 min, ladder 4-8-12-…");
                None
            }
        }
    }

    fn for_time(&mut self) -> Option<Format> {
        const EXAMPLE: &str = "3 rounds for time, cap 12 min";
        let scheme = self.take(|clause| match clause {
            Clause::Numbers { values, open: false } => Some(values.clone()),
            _ => None,
        });
        let scheme = scheme.unwrap_or_default();
        let rounds = match scheme.len() {
            0 => self.take(rounds).unwrap_or(1),
            rounds => rounds as u32,
        };
        let cap = self.take(|clause| match clause {
            Clause::Cap(span) => Some(*span),
            _ => None,
        });
        let cap = cap.or_else(|| self.take(length));
        let cap = cap.or_else(|| self.missing("the time at which everybody stops", EXAMPLE))?;
        Some(Format::ForTime { rounds, scheme, cap })
    }

    fn every(&mut self, every: Span) -> Option<Format> {
        const EXAMPLE: &str = "every 2 min for 10 min";
        let rounds = match self.take(length) {
            Some(whole) if whole.as_micros() % every.as_micros().max(1) == 0 => {
                (whole.as_micros() / every.as_micros().max(1)) as u32
            }
            Some(whole) => {
                let message = format!("{whole} is no whole number of {every}");
                self.problems.error(self.heading.clone(), message, EXAMPLE);
                return None;
            }
            None => match self.take(rounds).or_else(|| self.take(times)) {
                Some(rounds) => rounds,
                None => return self.missing("for how long, or how many times,", EXAMPLE),
            },
        };
        if !(1..=ROUNDS_MAX).contains(&rounds) {
            let message = format!("{rounds} starts; expected 1 to {ROUNDS_MAX}");
            self.problems.error(self.heading.clone(), message, EXAMPLE);
        }
        let score = self.take(score).unwrap_or(IntervalScore::RoundsMade);
        Some(Format::EveryN { every, rounds, score })
    }

    fn intervals(&mut self, work: Span) -> Option<Format> {
        const EXAMPLE: &str = "8 × (20 s work, 10 s rest)";
        let Some(rounds) = self.take(times).or_else(|| self.take(rounds)) else {
            return self.missing("how many times", EXAMPLE);
        };
        let Some(rest) = self.take(rest) else {
            return self.missing("the rest after each stretch of work", EXAMPLE);
        };
        let score = self.take(score).unwrap_or(IntervalScore::Total);
        Some(Format::Intervals { work, rest, rounds, score })
    }
}

fn length(clause: &Clause) -> Option<Span> {
    match clause {
        Clause::Length(span) => Some(*span),
        _ => None,
    }
}

fn rest(clause: &Clause) -> Option<Span> {
    match clause {
        Clause::Rest(length) => *length,
        _ => None,
    }
}

fn rounds(clause: &Clause) -> Option<u32> {
    match clause {
        Clause::Rounds(n) => Some(*n),
        _ => None,
    }
}

fn times(clause: &Clause) -> Option<u32> {
    match clause {
        Clause::Times(n) => Some(*n),
        _ => None,
    }
}

fn pace(clause: &Clause) -> Option<Pace> {
    match clause {
        Clause::Pace(pace) => Some(*pace),
        _ => None,
    }
}

fn score(clause: &Clause) -> Option<IntervalScore> {
    match clause {
        Clause::Score(score) => Some(*score),
        _ => None,
    }
}

fn windows(clause: &Clause) -> Option<WindowsRanked> {
    match clause {
        Clause::Windows(windows) => Some(*windows),
        _ => None,
    }
}
