//! Who may do what, to whom, and whether the class still takes it.

use super::Class;
use super::command::{Actor, Command};
use super::refusal::Refusal;
use crate::ids::AthleteId;

/// What a command asks for, as far as rights go.
enum Right {
    /// Coaches alone.
    Coach,
    /// To come into the class as somebody.
    ComeIn,
    /// To change how somebody does the class.
    Own(AthleteId),
    /// To count for somebody.
    Count(AthleteId),
    /// To enter what somebody came to.
    Result(AthleteId),
    /// To say who counts for somebody; and who is to, if it is somebody else.
    Lend(AthleteId, Option<AthleteId>),
}

impl Right {
    fn of(command: &Command) -> Self {
        match command {
            Command::Tap { tap, .. } => Self::Count(tap.athlete),
            Command::Undo { athlete, .. } => Self::Count(*athlete),
            Command::EnterExtra { athlete, .. } | Command::SetTally { athlete, .. } => {
                Self::Result(*athlete)
            }
            Command::Choose { athlete, .. } => Self::Own(*athlete),
            Command::LetCount { athlete, counter } => Self::Lend(*athlete, *counter),
            Command::Join { .. } => Self::ComeIn,
            Command::Call { .. }
            | Command::TakeBack { .. }
            | Command::Remove { .. }
            | Command::Team { .. }
            | Command::Assign { .. }
            | Command::Settle { .. }
            | Command::Trim { .. }
            | Command::Swap { .. }
            | Command::Close => Self::Coach,
        }
    }
}

impl Class {
    /// Lets a command pass, or says why not. A closed class takes the taps that were made before and
    /// its results, nothing else.
    pub(super) fn allow(&self, by: Actor, command: &Command) -> Result<(), Refusal> {
        let right = Right::of(command);
        match by {
            Actor::Coach { .. } => {}
            Actor::Athlete { athlete, .. } => self.allow_phone(athlete, &right, command)?,
            Actor::Tablet { tablet, .. } => {
                let known = self.tablets.get(&tablet);
                let may = match right {
                    Right::Count(whose) => known.is_some_and(|it| it.ever.contains(&whose)),
                    Right::Result(whose) => known.is_some_and(|it| it.now.contains(&whose)),
                    _ => return Err(Refusal::CoachOnly),
                };
                if !may {
                    return Err(Refusal::NotYours);
                }
            }
        }
        match right {
            Right::Own(whose)
            | Right::Count(whose)
            | Right::Result(whose)
            | Right::Lend(whose, _) => {
                self.athlete(whose).ok_or(Refusal::NoSuchAthlete)?;
            }
            Right::Coach | Right::ComeIn => {}
        }
        let late_result = matches!(right, Right::Count(_) | Right::Result(_))
            || matches!(command, Command::Settle { .. });
        if self.closed() && !late_result { Err(Refusal::Closed) } else { Ok(()) }
    }

    fn allow_phone(&self, own: AthleteId, right: &Right, command: &Command) -> Result<(), Refusal> {
        let whom = |whose: &AthleteId| self.athlete(*whose);
        let may = match right {
            Right::Coach => return Err(Refusal::CoachOnly),
            Right::ComeIn => matches!(command, Command::Join { athlete, .. } if *athlete == own),
            Right::Own(whose) => *whose == own,
            // What was counted before the count was handed over may still be on its way.
            Right::Count(whose) => {
                *whose == own || whom(whose).is_some_and(|it| it.was_counted_by(own))
            }
            Right::Result(whose) => {
                *whose == own || whom(whose).is_some_and(|it| it.counter() == Some(own))
            }
            Right::Lend(whose, to) => {
                let counts = whom(whose).is_some_and(|it| it.counter() == Some(own));
                *whose == own || (to.is_none() && counts)
            }
        };
        if may { Ok(()) } else { Err(Refusal::NotYours) }
    }
}
