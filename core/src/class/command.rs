//! What may be asked of a class, and by whom.

use serde::{Deserialize, Serialize};

use crate::ids::{
    AthleteId, BlockIndex, DeviceId, MovementIndex, OptionIndex, RequestId, Revision, SegmentIndex,
    TapId,
};
use crate::score::Tally;
use crate::time::{HouseTime, Span};

/// Who asks. The shell has let them in; what they may do in the class is decided here.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(tag = "role", rename_all = "kebab-case")]
pub enum Actor {
    /// A signed-in coach device.
    Coach {
        /// The device.
        device: DeviceId,
    },
    /// An athlete's own phone.
    Athlete {
        /// The athlete whom the phone counts for.
        athlete: AthleteId,
        /// The phone.
        device: DeviceId,
    },
    /// A tally tablet.
    Tablet {
        /// The house's own id of it.
        tablet: DeviceId,
        /// The device.
        device: DeviceId,
    },
}

/// What a coach says to the clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(tag = "call", rename_all = "kebab-case")]
pub enum Call {
    /// The class begins with its first segment.
    Start,
    /// The clock stands still.
    Hold,
    /// It goes on; work after a lead-in. Takes the stop notice away.
    Resume,
    /// On to the next segment, now.
    Next,
    /// To the start of the segment, or within its first 2 s to the one before.
    Back,
    /// To the start of the block.
    Restart,
    /// The bell moves.
    AddTime {
        /// By so much; negative takes time away, though never more than remains.
        span: Span,
    },
    /// To any segment.
    Jump {
        /// That one.
        to: SegmentIndex,
    },
    /// The block is over; on to the next block.
    Finish,
    /// Hold, and the stop notice on every screen.
    Stop,
}

/// What the coach was looking at when they called.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Seen {
    /// The segment on the screen, if the clock was in one.
    pub segment: Option<SegmentIndex>,
    /// The clock's revision.
    pub revision: Revision,
}

/// One count that a device sends.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Tap {
    /// Made on the device; the same id counts once.
    pub id: TapId,
    /// For whom.
    pub athlete: AthleteId,
    /// The work segment that the device was showing.
    pub segment: SegmentIndex,
    /// What it counts.
    pub counts: Counts,
    /// When it was made, by the device's estimate of house time.
    pub made_at: HouseTime,
    /// How far off that estimate may be.
    pub bound: Span,
    /// The clock's revision that the device had heard.
    pub heard: Revision,
}

/// What a tap counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Counts {
    /// A round, finished at the moment of the tap.
    Round,
    /// A round finished earlier that was not tapped then; it gives no split.
    RoundBefore,
    /// So many of what the window counts: reps, metres or calories.
    Amount {
        /// So many.
        amount: u32,
    },
    /// All of it is done.
    Finish,
    /// A try at a load.
    Attempt {
        /// The load; 0 is unweighted, assistance is negative.
        grams: i32,
        /// Whether it was good, or no lift.
        good: bool,
    },
}

/// How far an athlete came in an unfinished round: the movement reached and the reps of it done.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Reached {
    /// The movement that was under way.
    pub movement: MovementIndex,
    /// Reps of it that were done.
    pub reps: u32,
}

/// How an athlete does the class today.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Choice {
    /// Whether anything is scaled; a chosen option says so by itself.
    pub scaled: bool,
    /// The options chosen, at most one for a movement.
    pub options: Vec<Chosen>,
}

/// One movement done another way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Chosen {
    /// The block.
    pub block: BlockIndex,
    /// Its movement.
    pub movement: MovementIndex,
    /// The movement's option.
    pub option: OptionIndex,
}

/// How a segment that has not begun is changed to win time, or changed back.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(tag = "trim", rename_all = "kebab-case")]
pub enum Trim {
    /// Left out, with the rest that goes before it where it is a window of work.
    Drop,
    /// Given this length.
    Length {
        /// More than nothing.
        span: Span,
    },
    /// As the sheet has it.
    Restore,
}

/// What the coach makes of something that was marked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(tag = "settle", rename_all = "kebab-case")]
pub enum Settlement {
    /// A tap counts, or not.
    Tap {
        /// Which.
        tap: TapId,
        /// Whether it counts.
        counts: bool,
    },
    /// The tally stands as it is.
    TallyStands,
}

/// Everything that may be asked of a class.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Command {
    /// A call to the clock.
    Call {
        /// Answered once.
        id: RequestId,
        /// What is called.
        call: Call,
        /// What the coach was looking at.
        seen: Seen,
    },
    /// Undo a call as if it had not been made (rule 1.6).
    TakeBack {
        /// Answered once.
        id: RequestId,
        /// The call.
        of: RequestId,
    },
    /// A count.
    Tap {
        /// The count.
        tap: Tap,
        /// Since when the device has been connected without a break.
        connected_since: HouseTime,
    },
    /// Takes back one tap.
    Undo {
        /// For whom it was made.
        athlete: AthleteId,
        /// The tap.
        of: TapId,
    },
    /// Extra reps after the bell (rule 3.7).
    EnterExtra {
        /// Whose.
        athlete: AthleteId,
        /// Of which window.
        segment: SegmentIndex,
        /// How far they came.
        reached: Reached,
    },
    /// A tally set outright, by the coach at any time or by the athlete once the bell has gone.
    SetTally {
        /// Whose.
        athlete: AthleteId,
        /// Of which window.
        segment: SegmentIndex,
        /// To what.
        tally: Tally,
    },
    /// Somebody comes in.
    Join {
        /// Who; the shell has made the id.
        athlete: AthleteId,
        /// Whether they join from home.
        at_home: bool,
    },
    /// Somebody is taken out of the class; their taps stay in the journal.
    Remove {
        /// Who.
        athlete: AthleteId,
    },
    /// How somebody does the class.
    Choose {
        /// Who.
        athlete: AthleteId,
        /// How.
        choice: Choice,
    },
    /// Who counts for an athlete from now on: one counter at a time.
    LetCount {
        /// For whom.
        athlete: AthleteId,
        /// Who; none: the athlete again.
        counter: Option<AthleteId>,
    },
    /// Who shares a tally in pieces for teams. Replaces the teams that there were.
    Team {
        /// The members of each team, in the order in which they take turns. Who is in none counts
        /// alone.
        teams: Vec<Vec<AthleteId>>,
    },
    /// For whom a tally tablet counts from now on.
    Assign {
        /// The house's own id of the tablet.
        tablet: DeviceId,
        /// For whom.
        athletes: Vec<AthleteId>,
    },
    /// The coach has looked at something that was marked.
    Settle {
        /// Whose.
        athlete: AthleteId,
        /// Of which window.
        segment: SegmentIndex,
        /// What came of it.
        settlement: Settlement,
    },
    /// A segment that has not begun is trimmed, or restored.
    Trim {
        /// Which.
        segment: SegmentIndex,
        /// How.
        trim: Trim,
    },
    /// A movement is done another way by everyone, or as the sheet has it again.
    Swap {
        /// The block.
        block: BlockIndex,
        /// Its movement.
        movement: MovementIndex,
        /// The option for all; none to swap back.
        option: Option<OptionIndex>,
    },
    /// The class is over for good. The device asks twice before it sends this.
    Close,
}
