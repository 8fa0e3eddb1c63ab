//! From a session to the segments of the class clock (rules 1.1, 1.2 and 1.9).

use serde::{Deserialize, Serialize};

use super::AfterBell;
use crate::ids::{BlockIndex, MovementIndex};
use crate::time::Span;

/// One stretch of the class clock.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Segment {
    /// The block it belongs to.
    pub block: BlockIndex,
    /// What happens in it.
    pub kind: SegmentKind,
    /// How long it lasts; without a length it counts up until the coach's next call.
    pub length: Option<Span>,
    /// How long it is expected to take: its length, or what was worked out for an open one. A
    /// coach-led movement by time adds the change-over to the next one.
    pub planned: Span,
    /// What follows its bell.
    pub after: AfterBell,
    /// Which window or interval of its block this is, from 1, and of how many.
    pub window: Option<Window>,
    /// The movement that a coach-led block is at.
    pub movement: Option<MovementIndex>,
    /// How many of a rest's last seconds are the lead-in of the work that follows it (rule 1.2).
    pub lead_in: Span,
    /// Whether half-way, one minute and ten seconds to go are announced.
    pub announce: bool,
    /// Taken out by the coach before it began (the clock passes over it).
    pub dropped: bool,
}

/// What happens in a segment.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(rename_all = "kebab-case")]
pub enum SegmentKind {
    /// Talk, set-up, warm-up, drill, cool-down.
    Open,
    /// The last seconds before work.
    LeadIn,
    /// Scored work.
    Work,
    /// Rest.
    Rest,
}

/// Which of how many.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Window {
    /// This one, from 1.
    pub number: u32,
    /// Of so many.
    pub of: u32,
}
