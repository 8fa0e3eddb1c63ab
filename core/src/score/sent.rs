//! Everything that was sent and entered for one athlete, as facts: nothing of it is ever judged here.

use std::collections::{BTreeMap, BTreeSet};

use super::Tally;
use crate::class::command::Tap;
use crate::ids::{AthleteId, DeviceId, SegmentIndex, Seq, TapId};
use crate::time::{HouseTime, Span};

/// A tap older than this on arrival is marked, if its device was connected all the while.
pub const BACKDATED_AFTER: Span = Span::from_secs(5);

/// A tap with what the server knows of its coming.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fact {
    /// The tap.
    pub tap: Tap,
    /// The device that sent it.
    pub device: DeviceId,
    /// Whose phone that is; none for a coach device or a tally tablet, which may count at any time.
    pub by: Option<AthleteId>,
    /// When it came.
    pub arrived: HouseTime,
    /// Since when the device had been connected without a break.
    pub connected_since: HouseTime,
}

/// A tally that was set outright, extra reps that were entered, or a look by the coach.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Which of the class's events it is: of two in one instant the later one stands.
    pub seq: Seq,
    /// When.
    pub at: HouseTime,
    /// Of which window.
    pub segment: SegmentIndex,
    /// What.
    pub entered: Entered,
}

/// What was entered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Entered {
    /// The whole tally.
    Tally {
        /// What it is.
        to: Tally,
        /// What it was before.
        from: Option<Tally>,
        /// Whether the athlete, or who counts for them, set it and not the coach.
        by_hand: bool,
    },
    /// Extra reps, and how many make a round for this athlete.
    Extra {
        /// Reps beyond the last full round.
        reps: u32,
        /// Reps of a full round.
        of_round: u32,
    },
    /// The coach has looked at the tally, and it stands.
    Stands,
}

/// Where a tap stands among the others: by the instant that it is placed at, and where that is one,
/// by when it says that it was made.
pub(super) type Order = (HouseTime, HouseTime, TapId);

/// Everything that was sent and entered for one athlete.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sent {
    /// In the order in which they are gone through.
    pub(super) taps: BTreeMap<Order, Fact>,
    received: BTreeSet<TapId>,
    pub(super) undone: BTreeSet<TapId>,
    /// Taps that the coach has settled, and whether they count.
    pub(super) settled: BTreeMap<TapId, bool>,
    pub(super) entries: Vec<Entry>,
}

impl Sent {
    /// Whether a tap of this id was received.
    pub fn has(&self, tap: TapId) -> bool {
        self.received.contains(&tap)
    }

    /// Whether a tap of this id was taken back.
    pub fn has_undone(&self, tap: TapId) -> bool {
        self.undone.contains(&tap)
    }

    /// How a tap was settled, if it was.
    pub fn settled(&self, tap: TapId) -> Option<bool> {
        self.settled.get(&tap).copied()
    }

    /// How many things were sent: taps, undos and entries.
    pub fn how_many(&self) -> usize {
        self.taps.len() + self.undone.len() + self.entries.len()
    }

    /// Keeps a tap. The same id again changes nothing.
    pub fn receive(&mut self, fact: Fact) {
        if self.received.insert(fact.tap.id) {
            self.taps.insert(fact.order(), fact);
        }
    }

    /// Takes a tap back, even one that is still to come.
    pub fn undo(&mut self, tap: TapId) {
        self.undone.insert(tap);
    }

    /// Settles a tap.
    pub fn settle(&mut self, tap: TapId, counts: bool) {
        self.settled.insert(tap, counts);
    }

    /// Keeps what was entered.
    pub fn enter(&mut self, entry: Entry) {
        self.entries.push(entry);
    }
}

impl Fact {
    /// The instant that the tap is placed at: when it was made, by its own word, and never later
    /// than it came, for no tap comes before it is made.
    pub(super) fn instant(&self) -> HouseTime {
        self.tap.made_at.min(self.arrived)
    }

    pub(super) fn order(&self) -> Order {
        (self.instant(), self.tap.made_at, self.tap.id)
    }

    /// Whether it is dated later than the server could have seen it.
    pub(super) fn is_ahead_of_time(&self) -> bool {
        self.tap.made_at > self.arrived + self.tap.bound
    }

    /// Whether it is dated long before it came from a device that was connected all the while.
    pub(super) fn is_backdated(&self) -> bool {
        let made = self.tap.made_at;
        self.arrived - made > BACKDATED_AFTER && self.connected_since <= made
    }
}
