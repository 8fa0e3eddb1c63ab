//! The protocol between the server and what follows a class: JSON text frames over a WebSocket whose
//! subprotocol names the version. The web client's types are generated from these, and golden
//! messages guard their form. `docs/protocol.md` describes every message with an example.
//!
//! Times on the wire are whole microseconds of house time, unless a field says device time.

mod state;
mod views;

use serde::{Deserialize, Serialize};

pub use state::{Frame, Join, Now, Row, Score, State, WindowScore};
pub use views::{
    AimSide, CoachView, Counted, DeviceLine, Fellow, OwnView, OwnWindow, Person, Question, Reading,
    TabletView, TakeBack,
};

use crate::class::clock::Clock;
use crate::class::command::{Call, Choice, Reached, Seen, Settlement, Tap, Trim};
use crate::ids::{
    AthleteId, BlockIndex, DeviceId, Generation, MovementIndex, OptionIndex, RequestId, Revision,
    SegmentIndex, TapId,
};
use crate::score::{Standing, Tally};
use crate::time::{DeviceTime, HouseTime, Span};

/// The WebSocket subprotocol, and with it the version that both ends speak.
pub const SUBPROTOCOL: &str = "floorbell.v1";

/// The longest message that a device may send, in bytes. The largest honest one, a choice of options
/// for a long session, is under 8 KiB.
pub const MESSAGE_BYTES_MAX: usize = 16 * 1024;

/// What a device sends.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(tag = "type", rename_all = "kebab-case")]
pub enum FromDevice {
    /// The first message: who this device is. Answered by `welcome`.
    Hello {
        /// Made once on the device and kept there.
        device: DeviceId,
    },
    /// A timestamp exchange. Answered by `sync`.
    Sync {
        /// When it was sent, in device time.
        t0: DeviceTime,
    },
    /// How the device is doing; sent after exchanges and when `waiting` changes.
    Report {
        /// The error bound of its house time.
        bound: Span,
        /// The least round trip of its last exchanges.
        round_trip: Span,
        /// Taps that wait on the device.
        waiting: u32,
        /// Exchanges that it refused since it began to follow, since they cannot have happened so.
        #[serde(default)]
        refused: u32,
    },
    /// A coach's call to the clock. Answered by `answer`.
    Call {
        /// Made on the device; sent again with the same id until it is answered.
        id: RequestId,
        /// What is called.
        #[serde(flatten)]
        call: Call,
        /// What the coach was looking at.
        seen: Seen,
    },
    /// Takes a call back. Answered by `answer`.
    TakeBack {
        /// Made on the device.
        id: RequestId,
        /// The call.
        of: RequestId,
    },
    /// The device shows the stop notice.
    StopSeen {
        /// The clock revision that brought it.
        revision: Revision,
    },
    /// A count. Answered by `kept` once it is on disk, or `not-kept`.
    Tap {
        /// The count.
        tap: Tap,
    },
    /// Takes back the device's own tap. Answered by `answer`.
    Undo {
        /// Made on the device.
        id: RequestId,
        /// For whom the tap was made.
        athlete: AthleteId,
        /// The tap.
        of: TapId,
    },
    /// Any other request. Answered by `answer`.
    Ask {
        /// Made on the device.
        id: RequestId,
        /// What is asked.
        #[serde(flatten)]
        ask: Ask,
    },
}

/// Requests other than calls and counts.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(tag = "ask", rename_all = "kebab-case")]
pub enum Ask {
    /// Extra reps after the bell. Athlete or coach.
    EnterExtra {
        /// Whose.
        athlete: AthleteId,
        /// Of which window.
        segment: SegmentIndex,
        /// How far they came.
        reached: Reached,
    },
    /// A tally outright. The coach at any time; an athlete for themselves after the bell.
    SetTally {
        /// Whose.
        athlete: AthleteId,
        /// Of which window.
        segment: SegmentIndex,
        /// To what.
        tally: Tally,
    },
    /// Who counts for an athlete from now on. The athlete, who counts for them (to hand it back), or
    /// the coach.
    LetCount {
        /// For whom.
        athlete: AthleteId,
        /// Who; none: the athlete again.
        counter: Option<AthleteId>,
    },
    /// Who shares a tally in pieces for teams. Replaces the teams that there were. Coach.
    Team {
        /// The members of each team, in the order in which they take turns.
        teams: Vec<Vec<AthleteId>>,
    },
    /// For whom a tally tablet counts from now on. Coach.
    Assign {
        /// The number that the tablet shows.
        number: u32,
        /// For whom: up to 12.
        athletes: Vec<AthleteId>,
    },
    /// What the coach makes of something that was marked. Coach.
    Settle {
        /// Whose.
        athlete: AthleteId,
        /// Of which window.
        segment: SegmentIndex,
        /// What came of it.
        #[serde(flatten)]
        settlement: Settlement,
    },
    /// How an athlete does the class. Athlete or coach.
    Choose {
        /// Who.
        athlete: AthleteId,
        /// How.
        choice: Choice,
    },
    /// What of the name the wall shows. Athlete or coach.
    ShowName {
        /// Whose.
        athlete: AthleteId,
        /// What is shown.
        shown: NameShown,
    },
    /// A question to the coach. Athlete.
    Question {
        /// Up to 280 characters.
        text: String,
    },
    /// The coach has dealt with a question.
    Answered {
        /// Which.
        question: u32,
    },
    /// Somebody without a phone, or who said they will come. Coach.
    AddAthlete {
        /// Their name.
        name: String,
        /// Whether they join from home; the answer then carries the personal link.
        at_home: bool,
        /// Whether they are on the floor now (else only expected, to be picked on a phone).
        here: bool,
    },
    /// Takes somebody out of the class. Coach.
    RemoveAthlete {
        /// Who.
        athlete: AthleteId,
    },
    /// The coach's own marks on a person. Coach.
    Note {
        /// Who.
        athlete: AthleteId,
        /// First class here.
        first_class: bool,
        /// Told the coach something today.
        told_me: bool,
    },
    /// Trims a segment that has not begun. Coach.
    Trim {
        /// Which.
        segment: SegmentIndex,
        /// How.
        #[serde(flatten)]
        trim: Trim,
    },
    /// Swaps a movement for all. Coach.
    Swap {
        /// The block.
        block: BlockIndex,
        /// Its movement.
        movement: MovementIndex,
        /// The option for all; none to swap back.
        option: Option<OptionIndex>,
    },
    /// Lets a waiting wall or tally tablet in, or turns it away. Coach.
    Wall {
        /// The number that it shows.
        number: u32,
        /// Whether it is let in.
        accept: bool,
    },
    /// Closes the class for good. Coach; the device has asked twice.
    Close,
}

/// What of a member's name a wall shows (rule 4.6).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(rename_all = "kebab-case")]
pub enum NameShown {
    /// The whole name.
    #[default]
    Whole,
    /// Its first letter.
    Initial,
    /// Nothing.
    Nothing,
}

/// What the server sends.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(tag = "type", rename_all = "kebab-case")]
pub enum ToDevice {
    /// The first message, once the device is let in. A `state` follows at once, if there is a class.
    Welcome {
        /// Who the device is here.
        #[serde(flatten)]
        role: Role,
        /// The journal's life; another one after a backup was restored.
        generation: Generation,
        /// The house's name.
        house: String,
        /// What the stop notice says: the local emergency number, where first aid is.
        emergency: String,
        /// Whether boards show places; else counts alone.
        places: bool,
    },
    /// The other half of a timestamp exchange.
    Sync {
        /// As sent, in device time.
        t0: DeviceTime,
        /// When it was received.
        t1: HouseTime,
        /// When this was sent.
        t2: HouseTime,
    },
    /// Everything that a screen needs.
    State(Box<State>),
    /// What has changed since the last state or frame.
    Frame(Box<Frame>),
    /// The coach's own view; sent whole when anything in it changes. To coach devices alone.
    Coach(Box<CoachView>),
    /// An athlete's own view; sent whole when anything in it changes. To their devices alone.
    Own(Box<OwnView>),
    /// A tally tablet's own view; sent whole when anything in it changes. To it alone.
    Tablet(Box<TabletView>),
    /// The one answer to a request.
    Answer {
        /// The request.
        to: RequestId,
        /// What became of it.
        #[serde(flatten)]
        outcome: Outcome,
    },
    /// A tap is on disk: the device need not keep it for sending any longer.
    Kept {
        /// The tap.
        tap: TapId,
        /// What it is worth.
        #[serde(flatten)]
        standing: Standing,
    },
    /// A tap was not taken.
    NotKept {
        /// The tap.
        tap: TapId,
        /// Why, in a short word.
        code: String,
        /// Why, as a sentence.
        text: String,
        /// Whether the device should keep it and send it again.
        again: bool,
    },
    /// Stop: show the stop notice. Sent three times; also stands in the clock of the next frame.
    Stop {
        /// The clock, held.
        clock: Clock,
        /// Whether it is on disk yet.
        saved: bool,
    },
    /// There is no class for this device, or it has ended.
    NoClass {
        /// What to do, as a sentence.
        text: String,
    },
    /// A message was not understood. The connection stays.
    Error {
        /// Why, in a short word.
        code: String,
        /// Why, as a sentence.
        text: String,
    },
}

/// Who a device is here.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(tag = "role", rename_all = "kebab-case")]
pub enum Role {
    /// A coach device.
    Coach,
    /// A wall.
    Wall {
        /// Whether the coach has let it in. Until then nothing but this is sent.
        accepted: bool,
        /// The number by which the coach knows it.
        number: u32,
    },
    /// A phone.
    Athlete {
        /// The athlete whom it counts for.
        athlete: AthleteId,
    },
    /// A tally tablet.
    Tablet {
        /// Whether the coach has let it in. Until then nothing but this is sent.
        accepted: bool,
        /// The number by which the coach knows it.
        number: u32,
    },
}

/// What became of a request.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(tag = "outcome", rename_all = "kebab-case")]
pub enum Outcome {
    /// Carried out, and on disk.
    Done {
        /// The personal link that was asked for, as a path with a fragment.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        link: Option<String>,
    },
    /// Carried out, but the disk refuses; it is written as soon as it can be. Stop and hold alone.
    NotYetSaved,
    /// Not carried out; nothing has changed.
    Refused {
        /// Why, in a short word that never changes.
        code: String,
        /// Why, as a sentence that says what to do.
        text: String,
    },
}
