//! What single devices are told: an athlete's own, a coach's, a tally tablet.

use serde::{Deserialize, Serialize};

use super::{NameShown, Role};
use crate::class::command::{Call, Choice};
use crate::ids::{AthleteId, DeviceId, RequestId, SegmentIndex, TapId};
use crate::score::{Attempt, Marked, Scoring, Tally};
use crate::time::{HouseTime, Span};

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
    /// One for each window of work that was begun.
    pub windows: Vec<OwnWindow>,
    /// Who counts for them, if it is somebody else.
    pub counter: Option<Fellow>,
    /// For whom this phone counts beside them.
    pub counts_for: Vec<Counted>,
    /// With whom they share a tally in pieces for teams, themselves included, in the order in which
    /// they take turns; empty where they are in no team.
    pub team: Vec<Fellow>,
    /// Their questions that the coach has not dealt with.
    pub questions: Vec<String>,
}

/// Somebody in the class, by their name in full.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Fellow {
    /// Who.
    pub athlete: AthleteId,
    /// Their name.
    pub name: String,
}

/// Somebody for whom a phone counts beside its own athlete, or a tally tablet.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Counted {
    /// Who.
    #[serde(flatten)]
    pub who: Fellow,
    /// How they do the class.
    pub choice: Choice,
    /// One for each window of work that was begun.
    pub windows: Vec<OwnWindow>,
}

/// What only a tally tablet is told.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct TabletView {
    /// For whom it counts, in the order in which they are shown.
    pub lines: Vec<Counted>,
}

/// One window of work of one athlete.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct OwnWindow {
    /// The window.
    pub segment: SegmentIndex,
    /// How it is counted.
    pub scoring: Scoring,
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
    /// Whose phone made it; none for a coach device or a tally tablet.
    pub last_by: Option<AthleteId>,
    /// Class time of that tap.
    pub last: Option<Span>,
    /// Whose turn it is in a team: the member after the one who tapped last.
    pub turn: Option<AthleteId>,
    /// Of the rounds, those done as written, where the way of doing it was changed in between.
    pub as_written: Option<u32>,
    /// Reps of each movement in the round under way, as the athlete does it (for extra reps); of
    /// one thing that is counted all along, what is counted at once.
    pub reps: Vec<u32>,
    /// Attempts at a load, in the order in which they were made.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub attempts: Vec<Attempt>,
    /// What the coach is to look at.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub marks: Vec<Marked>,
    /// Class time from which the round under way is overdue (rule 5.3).
    pub overdue_at: Option<Span>,
}

/// What only coach devices are told.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct CoachView {
    /// The call that can be taken back, and until when.
    pub take_back: Option<TakeBack>,
    /// Everyone in the class or expected.
    pub people: Vec<Person>,
    /// What the coach may want to look at in the work under way (rule 5.3).
    pub readings: Vec<Reading>,
    /// Questions that were not dealt with.
    pub questions: Vec<Question>,
    /// Numbers of walls that wait to be let in.
    pub walls_waiting: Vec<u32>,
    /// Numbers of tally tablets that wait to be let in.
    pub tablets_waiting: Vec<u32>,
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
    /// The team that they are in, from 1.
    pub team: Option<u32>,
    /// Who counts for them, if it is somebody else.
    pub counter: Option<AthleteId>,
    /// One for each window of work that they have something in.
    pub windows: Vec<OwnWindow>,
}

/// How somebody's work under way stands out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Reading {
    /// Who.
    pub athlete: AthleteId,
    /// Whether they fade more than the class does.
    pub fades: bool,
    /// On which side of the sheet's aim they are, if outside.
    pub aim: Option<AimSide>,
}

/// A side of the range that the sheet aims at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(rename_all = "kebab-case")]
pub enum AimSide {
    /// Fewer rounds.
    Below,
    /// More rounds.
    Above,
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
    /// For whom it counts, if it is a tally tablet.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub counts_for: Vec<AthleteId>,
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
