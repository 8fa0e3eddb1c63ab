//! The plan that a sheet was read into: an ordered list of blocks, and what each asks of people.
//!
//! A [`Session`] is plain data. [`layout`] turns it into the segments of the class clock.

pub mod fit;
pub mod layout;
mod movement;
pub mod planned;
pub mod report;

use serde::{Deserialize, Serialize};

pub use movement::{
    Amount, Load, Movement, MovementOption, OptionSide, Reason, Sides, Tempo, Unit,
};

use crate::time::Span;

/// The whole plan of one class.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Session {
    /// The sheet's first heading.
    pub title: String,
    /// The date that the sheet was written for, as written; a class has its own.
    pub date: Option<String>,
    /// How long the class has the floor; none if the sheet does not say.
    pub slot: Option<Span>,
    /// How many people the coach expects.
    pub people: Option<u32>,
    /// What the sheet says for everyone before its first block, paragraph by paragraph.
    pub notes: Vec<String>,
    /// What the whole class is ranked by.
    #[serde(default)]
    pub whole_class: WholeClass,
    /// In the order in which they are run; never empty.
    pub blocks: Vec<Block>,
}

/// One heading of the sheet.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Block {
    /// The heading as written.
    pub name: String,
    /// What kind of block it is, with what only that kind has.
    pub kind: BlockKind,
    /// What is done in it, in order.
    pub movements: Vec<Movement>,
    /// How it should feel, and what to expect of it.
    pub aim: Option<Aim>,
    /// What the coach says during it; shown to the coach alone.
    pub cues: Vec<String>,
    /// The coach's own notes; shown to the coach alone.
    pub coach_notes: Vec<String>,
    /// Other text of the block, for everyone.
    pub notes: Vec<String>,
    /// Whether half-way, one minute and ten seconds to go are announced (rule 1.10).
    pub announce: bool,
}

/// The kinds of block, each with what only it has.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum BlockKind {
    /// The coach explains.
    Talk(Unscored),
    /// Gear is fetched and loads are set.
    SetUp(Unscored),
    /// Getting warm.
    WarmUp(Unscored),
    /// Practice, step by step.
    Drill(Unscored),
    /// Coming down again.
    CoolDown(Unscored),
    /// A rest of its own between blocks.
    Rest {
        /// How long.
        length: Span,
        /// What follows its bell.
        after: AfterBell,
    },
    /// A scored block.
    Piece(Piece),
}

/// How a block without a score runs (rule 1.9).
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Unscored {
    /// Who sets the pace.
    pub pace: Pace,
    /// How often the movements are gone through, at least 1.
    pub rounds: u32,
    /// The length that the sheet gives; where it gives none, it is worked out from the movements.
    pub given: Option<Span>,
}

/// Who sets the pace of a block without a score.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(rename_all = "kebab-case")]
pub enum Pace {
    /// Next steps through the movements; timed ones run and chime.
    CoachLed,
    /// Every movement is shown, and each phone has its own timers.
    SelfPaced,
}

/// What follows the bell of a segment (rule 1.1).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(rename_all = "kebab-case")]
pub enum AfterBell {
    /// The next segment begins by itself.
    Next,
    /// The clock stands at zero and shows by how much it has overrun, until the coach calls next.
    Wait,
}

/// A scored block.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Piece {
    /// How it is timed and scored.
    pub format: Format,
    /// Length of the lead-in before it, 10 s unless the sheet says otherwise *(cp)*.
    pub lead_in: Span,
    /// How often the whole format is repeated (four windows of one piece), at least 1.
    pub repeats: u32,
    /// The rest between two repeats.
    pub repeat_rest: Span,
    /// Who shares a tally.
    pub sharing: Sharing,
    /// Whether equal tallies are split by who got there first (rule 4.2).
    pub first_there_splits_ties: bool,
    /// How several windows of the piece are ranked.
    #[serde(default)]
    pub windows: WindowsRanked,
}

/// How several windows of one piece are ranked (four AMRAPs of 4 minutes).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(rename_all = "kebab-case")]
pub enum WindowsRanked {
    /// By what they come to together.
    #[default]
    Together,
    /// Each by itself; the piece by the sum of these places.
    OneByOne,
}

/// What the whole class is ranked by (rule 4.4).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(rename_all = "kebab-case")]
pub enum WholeClass {
    /// The sum of places over the pieces.
    #[default]
    Places,
    /// The sum of reps, where all pieces count reps.
    Reps,
}

/// Who shares a tally of a piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(tag = "sharing", rename_all = "kebab-case")]
pub enum Sharing {
    /// Everyone counts for themselves.
    Alone,
    /// So many people share one tally.
    Team {
        /// People in a team, 2 or more.
        size: u32,
    },
}

/// How a piece is timed and scored.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(tag = "format", rename_all = "kebab-case")]
pub enum Format {
    /// As many rounds as possible in a window.
    Amrap {
        /// The window.
        window: Span,
        /// How the reps grow from round to round, where they do.
        ladder: Option<Ladder>,
    },
    /// A set amount of work, least time first.
    ForTime {
        /// Rounds of the movements, at least 1.
        rounds: u32,
        /// Reps of each movement round by round (20-16-12), where they change; else empty.
        scheme: Vec<u32>,
        /// The time at which everybody stops.
        cap: Span,
    },
    /// Every N: work starts anew each `every`.
    EveryN {
        /// From one start to the next.
        every: Span,
        /// How many starts, at least 1.
        rounds: u32,
        /// What is ranked.
        score: IntervalScore,
    },
    /// Fixed stretches of work and rest.
    Intervals {
        /// One stretch of work.
        work: Span,
        /// The rest after it (left out after the last).
        rest: Span,
        /// How many stretches of work, at least 1.
        rounds: u32,
        /// What is ranked.
        score: IntervalScore,
    },
    /// The heaviest good attempt in a window.
    MaxLoad {
        /// The window.
        window: Span,
        /// Reps that make one attempt, at least 1.
        reps: u32,
    },
    /// The most of one thing in a window.
    MaxCount {
        /// The window.
        window: Span,
        /// What is counted.
        unit: Unit,
    },
    /// Done well, without a score.
    Quality {
        /// The window.
        window: Span,
        /// Rounds that the sheet asks for, where it does.
        rounds: Option<u32>,
    },
}

/// What is ranked in a piece of several intervals (rule 4.1).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(rename_all = "kebab-case")]
pub enum IntervalScore {
    /// Rounds completed in their time.
    RoundsMade,
    /// The sum over all intervals.
    Total,
    /// The lowest interval.
    Lowest,
}

/// Rounds that grow: `start`, `start + step`, … reps of each movement (rule 3.8).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Ladder {
    /// Reps of each movement in the first round, at least 1.
    pub start: u32,
    /// Reps that each further round adds.
    pub step: u32,
}

/// What a block should feel like and lead to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Aim {
    /// The coach's words.
    pub text: String,
    /// Least and most rounds expected, where the words say so ("5 to 7 rounds").
    pub rounds: Option<(u32, u32)>,
}

impl Piece {
    /// Windows or intervals of work in all.
    pub fn windows_in_all(&self) -> u32 {
        let once = match self.format {
            Format::EveryN { rounds, .. } | Format::Intervals { rounds, .. } => rounds,
            _ => 1,
        };
        once.saturating_mul(self.repeats)
    }
}

impl BlockKind {
    /// The piece, where the block is one.
    pub fn piece(&self) -> Option<&Piece> {
        match self {
            Self::Piece(piece) => Some(piece),
            _ => None,
        }
    }
}
