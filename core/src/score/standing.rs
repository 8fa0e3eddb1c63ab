//! What a tap is worth. Every authorised tap is kept as a fact; its standing is worked out from the
//! class's time line and the athlete's other taps, so the order in which taps arrive changes nothing.

use serde::{Deserialize, Serialize};

use crate::time::Span;

/// What a tap is worth.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(tag = "standing", rename_all = "kebab-case")]
pub enum Standing {
    /// It counts.
    Counted {
        /// At this class time of its segment.
        at: Span,
        /// What the coach is to look at, if anything.
        mark: Option<Mark>,
    },
    /// It is kept, and does not count.
    NotCounted {
        /// Why.
        why: WhyNot,
        /// Whether the coach is to look at it.
        marked: bool,
    },
}

/// Why a tap that counts is to be looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(rename_all = "kebab-case")]
pub enum Mark {
    /// Made within 2 s after the bell.
    AfterBell,
    /// Made within 2 s after a hold.
    AfterHold,
    /// Dated later than the server could have seen it.
    AheadOfTime,
    /// Dated long before it came from a device that was connected all the while.
    Backdated,
    /// Sooner after the round before than a round can take.
    Quick,
    /// Made for another segment than the one the clock was in.
    OtherSegment,
}

/// Why a tap does not count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(rename_all = "kebab-case")]
pub enum WhyNot {
    /// The clock was held.
    Held,
    /// It was made in a lead-in.
    LeadIn,
    /// No work was under way.
    NotWork,
    /// It was made more than 2 s after the bell.
    AfterBell,
    /// The work was started anew.
    Repeated,
    /// Two taps of one device within 400 ms are one.
    Twice,
    /// It was taken back.
    Undone,
    /// The tally was set outright later on.
    SetSince,
    /// The piece is not counted in this way.
    NotThisWay,
    /// It was made or finished already.
    Already,
    /// Another member of the team has tapped this round.
    TeamMate,
    /// Somebody else counted for this athlete then.
    OtherCounts,
    /// The coach has looked at it: it does not count.
    Settled,
}

impl WhyNot {
    /// The reason as a sentence for the athlete.
    pub const fn sentence(self) -> &'static str {
        match self {
            Self::Held => "The clock is held: this tap does not count.",
            Self::LeadIn => "Work has not begun: this tap does not count.",
            Self::NotWork => "No work is under way: this tap does not count.",
            Self::AfterBell => "The bell has gone: enter your result instead.",
            Self::Repeated => "The coach started this work anew: count from the new start.",
            Self::Twice => "Two taps at once count as one.",
            Self::Undone => "Taken back.",
            Self::SetSince => "The tally has been set since.",
            Self::NotThisWay => {
                "This piece is not counted in this way: tell the coach your result."
            }
            Self::Already => "It was counted already.",
            Self::TeamMate => "Your team mate has tapped this round.",
            Self::OtherCounts => "Somebody else counts for this athlete: take it over first.",
            Self::Settled => "The coach has looked at it: it does not count.",
        }
    }
}

impl Standing {
    /// Whether the coach is to look at it.
    pub fn is_marked(&self) -> bool {
        match self {
            Self::Counted { mark, .. } => mark.is_some(),
            Self::NotCounted { marked, .. } => *marked,
        }
    }
}
