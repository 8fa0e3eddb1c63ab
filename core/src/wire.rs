//! The protocol between the server and what follows a class: JSON text frames over a WebSocket whose
//! subprotocol names the version. The web client's types are generated from these, and golden
//! messages guard their form. `docs/protocol.md` describes every message with an example.
//!
//! Times on the wire are whole microseconds of house time, unless a field says device time.

use serde::{Deserialize, Serialize};

use crate::class::clock::Clock;
use crate::class::command::{Call, Choice, Chosen, Reached, Seen, Tap, Trim};
use crate::ids::{
    AthleteId, BlockIndex, ClassId, DeviceId, Generation, MovementIndex, OptionIndex, RequestId,
    Revision, SegmentIndex, TapId,
};
use crate::score::{Standing, Tally};
use crate::session::Session;
use crate::session::layout::Segment;
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
    /// Lets a waiting wall in, or turns it away. Coach.
    Wall {
        /// The number that the wall shows.
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
    /// When the last counted round was finished.
    pub last_at: Option<HouseTime>,
    /// Whether something in it is marked for the coach.
    pub marked: bool,
}

/// What only the athlete's own devices are told.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct OwnView {
    /// Who.
    pub athlete: AthleteId,
    /// Their name in full.
    pub name: String,
    /// What of it the wall shows.
    pub shown: NameShown,
    /// How they do the class.
    pub choice: Choice,
    /// One for each window of work that they have something in.
    pub windows: Vec<OwnWindow>,
    /// Their questions that the coach has not dealt with.
    pub questions: Vec<String>,
}

/// One window of work of one athlete.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct OwnWindow {
    /// The window.
    pub segment: SegmentIndex,
    /// What it has counted.
    pub tally: Tally,
    /// Whether extra reps were entered or the tally was set.
    pub entered: bool,
    /// Times of the full rounds that gave one, in order.
    pub splits: Vec<Span>,
    /// What the window ends at if the last rounds' pace holds (rule 5.2).
    pub pace: Option<Tally>,
    /// The last tap that counts and can be taken back.
    pub last_tap: Option<TapId>,
    /// Reps of each movement in the round under way, as the athlete does it (for extra reps).
    pub reps: Vec<u32>,
}

/// What only coach devices are told.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct CoachView {
    /// The call that can be taken back, and until when.
    pub take_back: Option<TakeBack>,
    /// Everyone in the class or expected.
    pub people: Vec<Person>,
    /// Questions that were not dealt with.
    pub questions: Vec<Question>,
    /// Numbers of walls that wait to be let in.
    pub walls_waiting: Vec<u32>,
    /// Every device that follows the class.
    pub devices: Vec<DeviceLine>,
    /// What is wrong with the house itself, as sentences: a disk that refuses, a rebuilt clock.
    pub warnings: Vec<String>,
}

/// A call that can still be taken back.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct TakeBack {
    /// The call's id.
    pub id: RequestId,
    /// What was called.
    #[serde(flatten)]
    pub call: Call,
    /// Until when; none: until the bell of the work that was started anew.
    pub until: Option<HouseTime>,
}

/// A person as the coach sees them.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[expect(clippy::struct_excessive_bools, reason = "four independent facts about a person")]
pub struct Person {
    /// Who.
    pub athlete: AthleteId,
    /// Their name in full.
    pub name: String,
    /// Whether they are in the class (else only expected).
    pub here: bool,
    /// Whether they join from home.
    pub at_home: bool,
    /// First class here.
    pub first_class: bool,
    /// Told the coach something today.
    pub told_me: bool,
    /// How they do the class.
    pub choice: Choice,
    /// When their phone was last heard; none if they have none.
    pub heard: Option<HouseTime>,
    /// One for each window of work that they have something in.
    pub windows: Vec<OwnWindow>,
}

/// A question to the coach.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Question {
    /// Its number in the class.
    pub number: u32,
    /// Who asks.
    pub athlete: AthleteId,
    /// What.
    pub text: String,
}

/// One device (rule 2.6).
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct DeviceLine {
    /// Which.
    pub device: DeviceId,
    /// What it is here.
    #[serde(flatten)]
    pub role: Role,
    /// Whether it is connected.
    pub connected: bool,
    /// When it was last heard.
    pub heard: HouseTime,
    /// The error bound that it reports.
    pub bound: Option<Span>,
    /// The round trip that it reports.
    pub round_trip: Option<Span>,
    /// Taps that wait on it.
    pub waiting: u32,
    /// Exchanges that it says it refused.
    pub refused: u32,
    /// Whether it has confirmed the stop notice that stands now.
    pub stop_seen: bool,
}
