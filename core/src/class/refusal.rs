//! Why a command was not carried out, as a sentence that says what to do.

use core::fmt;

use super::command::Call;

/// Why a command was not carried out. Nothing has changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// The clock has moved on since the caller looked (rule 1.3).
    Stale {
        /// The last call that was carried out, if that is what moved it.
        last: Option<Call>,
    },
    /// The call makes no sense at this moment.
    NotNow(&'static str),
    /// The call can no longer be taken back.
    TooLateToTakeBack,
    /// There is no such call.
    NoSuchCall,
    /// The athlete is not in the class.
    NoSuchAthlete,
    /// The sheet has no such segment, movement or option.
    NotInSheet(&'static str),
    /// Only the coach may do this.
    CoachOnly,
    /// A phone counts for its own athlete alone.
    NotYours,
    /// A number lies outside what its unit allows.
    OutOfRange {
        /// Which number.
        what: &'static str,
        /// The least that is taken.
        least: i64,
        /// The most that is taken.
        most: i64,
    },
    /// The class has been closed.
    Closed,
    /// The class holds as many people as it can.
    Full {
        /// So many.
        most: usize,
    },
}

impl Refusal {
    /// A short name for programs; it never changes.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Stale { .. } => "stale",
            Self::NotNow(_) => "not-now",
            Self::TooLateToTakeBack => "too-late",
            Self::NoSuchCall => "no-such-call",
            Self::NoSuchAthlete => "no-such-athlete",
            Self::NotInSheet(_) => "not-in-sheet",
            Self::CoachOnly => "coach-only",
            Self::NotYours => "not-yours",
            Self::OutOfRange { .. } => "out-of-range",
            Self::Closed => "closed",
            Self::Full { .. } => "full",
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Stale { last: Some(call) } => {
                write!(f, "The class has moved on: {} was called already.", call.word())
            }
            Self::Stale { last: None } => f.write_str("The class has moved on: a bell has gone."),
            Self::NotNow(why) => f.write_str(why),
            Self::TooLateToTakeBack => f.write_str("It is too late to take that call back."),
            Self::NoSuchCall => f.write_str("There is no such call to take back."),
            Self::NoSuchAthlete => {
                f.write_str("Nobody of that name is in the class: join it first.")
            }
            Self::NotInSheet(what) => write!(f, "The sheet has no such {what}."),
            Self::CoachOnly => f.write_str("Only the coach can do that."),
            Self::NotYours => f.write_str(
                "This device does not count for them: they or the coach have to let it.",
            ),
            Self::OutOfRange { what, least, most } => {
                write!(f, "{what}: a whole number from {least} to {most}.")
            }
            Self::Closed => f.write_str("The class is closed. Ask the coach for the next one."),
            Self::Full { most } => write!(f, "The class is full: it holds {most} people."),
        }
    }
}

impl std::error::Error for Refusal {}

impl Call {
    /// The call in one or two words.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Start => "start",
            Self::Hold => "hold",
            Self::Resume => "resume",
            Self::Next => "next",
            Self::Back => "back",
            Self::Restart => "restart",
            Self::AddTime { .. } => "add time",
            Self::Jump { .. } => "jump",
            Self::Finish => "finish",
            Self::Stop => "stop",
        }
    }
}
