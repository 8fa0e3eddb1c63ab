//! What happened, as the journal keeps it. Events hold outcomes, not wishes: applying them needs no
//! decision, so an old journal gives the same state after the rules have changed. They hold ids and
//! never names.

use serde::{Deserialize, Serialize};

use super::clock::Phase;
use super::command::{Actor, Call, Choice, Settlement, Tap};
use crate::ids::{
    AthleteId, BlockIndex, DeviceId, MovementIndex, OptionIndex, RequestId, SegmentIndex, Seq,
    TapId,
};
use crate::score::Tally;
use crate::session::Session;
use crate::session::layout::Segment;
use crate::time::{HouseTime, Span};

/// An event with its place in the journal. `seq` goes up by one, `at` never goes down.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stamped {
    /// The event's number in its class.
    pub seq: Seq,
    /// When the server recorded it.
    pub at: HouseTime,
    /// What happened.
    pub event: Event,
}

/// What happened.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "event", rename_all = "kebab-case")]
pub enum Event {
    /// The class was opened. Always the first event, and the only one of its kind.
    Opened {
        /// The plan that it runs.
        session: Box<Session>,
        /// The plan as segments.
        segments: Vec<Segment>,
        /// The lead-in after a hold of work.
        resume_lead_in: Span,
    },
    /// A call was carried out.
    Called {
        /// The call's own id.
        id: RequestId,
        /// Who called.
        by: Actor,
        /// When it was carried out. The stamp is later where what the clock did was worked out
        /// anew, for a call before this one was taken back.
        at: HouseTime,
        /// What.
        call: Call,
        /// What the clock does from now on.
        phase: Phase,
        /// Whether the stop notice stands from now on.
        stopped: bool,
        /// The work that is done anew: its former taps no longer count.
        repeats: Option<Repeats>,
    },
    /// A call was taken back.
    TakenBack {
        /// This request's own id.
        id: RequestId,
        /// Who took it back.
        by: Actor,
        /// The call.
        of: RequestId,
    },
    /// A segment ended.
    Rang {
        /// The segment.
        segment: SegmentIndex,
        /// When its bell was due; the stamp says when it was recorded.
        due: HouseTime,
        /// What the clock does from `due` on.
        phase: Phase,
    },
    /// A tap was received.
    Tapped {
        /// The tap.
        tap: Tap,
        /// Who sent it.
        by: Actor,
        /// Since when the device had been connected without a break.
        connected_since: HouseTime,
    },
    /// A tap was taken back.
    Undone {
        /// For whom it was made.
        athlete: AthleteId,
        /// The tap.
        of: TapId,
        /// Who took it back.
        by: Actor,
    },
    /// Extra reps of the unfinished round were entered.
    ExtraEntered {
        /// Whose.
        athlete: AthleteId,
        /// Of which window.
        segment: SegmentIndex,
        /// Reps beyond the last full round.
        reps: u32,
        /// Reps of a full round, as the athlete does it.
        of_round: u32,
        /// Who entered them.
        by: Actor,
    },
    /// A tally was set outright.
    TallySet {
        /// Whose.
        athlete: AthleteId,
        /// Of which window.
        segment: SegmentIndex,
        /// What it was before, if there was one.
        from: Option<Tally>,
        /// What it is.
        to: Tally,
        /// Who set it.
        by: Actor,
    },
    /// Somebody came in.
    Joined {
        /// Who.
        athlete: AthleteId,
        /// Whether from home.
        at_home: bool,
    },
    /// Somebody was taken out.
    Removed {
        /// Who.
        athlete: AthleteId,
    },
    /// Somebody chose how to do the class.
    Chose {
        /// Who.
        athlete: AthleteId,
        /// How.
        choice: Choice,
    },
    /// Somebody else counts for an athlete from now on, or nobody else again.
    CounterSet {
        /// For whom.
        athlete: AthleteId,
        /// Who.
        counter: Option<AthleteId>,
        /// Who said so.
        by: Actor,
    },
    /// The teams are these from now on.
    Teamed {
        /// The members of each, in the order in which they take turns.
        teams: Vec<Vec<AthleteId>>,
    },
    /// A tally tablet counts for these from now on.
    Assigned {
        /// The house's own id of the tablet.
        tablet: DeviceId,
        /// For whom.
        athletes: Vec<AthleteId>,
    },
    /// The coach has settled something that was marked.
    Settled {
        /// Whose.
        athlete: AthleteId,
        /// Of which window.
        segment: SegmentIndex,
        /// What came of it.
        settlement: Settlement,
        /// Who settled it.
        by: Actor,
    },
    /// Segments that had not begun were changed.
    Trimmed {
        /// Each changed segment as it now stands.
        segments: Vec<(SegmentIndex, Segment)>,
    },
    /// A movement was swapped for all, or back.
    Swapped {
        /// The block.
        block: BlockIndex,
        /// Its movement.
        movement: MovementIndex,
        /// The option for all; none: as the sheet has it.
        option: Option<OptionIndex>,
    },
    /// The class is over for good.
    Closed,
}

/// The stretch of segments that is done anew, both ends included.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Repeats {
    /// The first.
    pub from: SegmentIndex,
    /// The last.
    pub to: SegmentIndex,
}
