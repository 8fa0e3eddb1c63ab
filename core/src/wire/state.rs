//! What everyone sees of a class.

use serde::{Deserialize, Serialize};

use crate::class::clock::Clock;
use crate::class::command::Chosen;
use crate::ids::{AthleteId, BlockIndex, ClassId, SegmentIndex};
use crate::score::{Scoring, Tally};
use crate::session::Session;
use crate::session::layout::Segment;
use crate::time::HouseTime;

/// Everything that a screen needs to follow a class.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct State {
    /// Goes up by one with each frame of this class; the next frame's `number` is this plus one.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub number: u64,
    /// The class.
    pub class: ClassId,
    /// The plan. What only coaches see in it is left out for others.
    pub session: Session,
    /// How each block is counted, where it is a piece.
    pub scoring: Vec<Option<Scoring>>,
    /// The class code and the address that goes with it, where phones may still come in.
    pub join: Option<Join>,
    /// The rest is as in a frame, with everything in it.
    #[serde(flatten)]
    pub now: Now,
}

/// How phones come in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Join {
    /// The class code.
    pub code: String,
    /// The address to scan, code included.
    pub address: String,
}

/// What changes while a class runs.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Now {
    /// The class clock.
    pub clock: Clock,
    /// The segments of the class, trimmed ones included.
    pub segments: Vec<Segment>,
    /// Movements that everyone does another way.
    pub swaps: Vec<Chosen>,
    /// When the first segment began.
    pub started: Option<HouseTime>,
    /// Whether the class is closed.
    pub closed: bool,
    /// Everyone in the class, in the order in which they came.
    pub rows: Vec<Row>,
}

/// Changes since the last state or frame. What is left out is as it was.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Frame {
    /// One more than the state or frame before; a gap means that something was missed, and a full
    /// state is on its way.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub number: u64,
    /// The class clock.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clock: Option<Clock>,
    /// All segments, when any was trimmed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub segments: Option<Vec<Segment>>,
    /// All swaps, when any changed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub swaps: Option<Vec<Chosen>>,
    /// When the first segment began.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub started: Option<HouseTime>,
    /// That the class was closed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub closed: Option<bool>,
    /// Rows that changed or are new, whole.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub rows: Vec<Row>,
    /// Rows that are gone.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub gone: Vec<AthleteId>,
}

/// One athlete on the board.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Row {
    /// Who.
    pub athlete: AthleteId,
    /// What the wall shows of their name; empty where they want nothing shown.
    pub name: String,
    /// Whether they join from home.
    pub at_home: bool,
    /// Whether they do the class scaled.
    pub scaled: bool,
    /// One for each scored piece, in order.
    pub scores: Vec<Score>,
    /// Place over the whole class so far inside their group; none before they have a tally.
    pub overall: Option<u32>,
    /// Reps over the whole class so far, where that is what ranks it.
    pub total_reps: Option<u32>,
    /// The team that they are in, from 1. In pieces for teams its members have the same scores.
    pub team: Option<u32>,
}

/// What one athlete has in one piece.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Score {
    /// The piece.
    pub block: BlockIndex,
    /// All its windows together; none before anything was counted.
    pub tally: Option<Tally>,
    /// Place inside their group; equal tallies share it.
    pub place: Option<u32>,
    /// Each window that has begun, where the piece has several.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub windows: Vec<WindowScore>,
    /// What the window under way ends at if the pace holds (rule 5.2).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pace: Option<Tally>,
    /// When the last counted round was finished.
    pub last_at: Option<HouseTime>,
    /// Whether something in it is marked for the coach.
    pub marked: bool,
}

/// What one athlete has in one of several windows of a piece.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct WindowScore {
    /// The window.
    pub segment: SegmentIndex,
    /// What it has come to.
    pub tally: Option<Tally>,
    /// Place in this window inside their group.
    pub place: Option<u32>,
}
