//! Taps on their way (rules 3.1 and 3.2), by the rules that the web client's outbox follows.
//!
//! A tap waits here until the server says that it is safe on disk, and stays a week longer: when the
//! server's journal turns out to be of another generation (a backup was restored), it is offered
//! again.
//!
//! An outbox in memory sends at once and is gone with its device. One that was [restored] is kept on
//! the device's own disk, by whoever runs the device: [`Outbox::next_write`] says what is to be
//! written, and a tap goes out, and is shown as made, only once [`Outbox::written`] says that it is
//! there. What [`Outbox::restored`] then gets is what was written, whenever the device went down.
//!
//! [restored]: Outbox::restored

use std::collections::{BTreeMap, VecDeque};

use floorbell_core::class::command::Tap;
use floorbell_core::ids::{ClassId, Generation, TapId};
use floorbell_core::score::Standing;
use floorbell_core::time::{HouseTime, Span};
use serde::{Deserialize, Serialize};

/// Taps that may wait on a device: over ten times the rounds of the longest class.
const WAITING_MAX: usize = 2_000;
/// A week of classes is some hundred taps. Over this the oldest kept ones go; those that wait never do.
const KEPT_MAX: usize = 5_000;
/// Taps sent in one go: well under what a house takes in a row, and answers before it loses patience.
/// The rest goes with the exchanges that follow.
const IN_ONE_GO: usize = 100;
/// How long a tap stays after the server had it: a backup older than that is no help to a class.
const KEPT_FOR: Span = Span::from_mins(7 * 24 * 60);

/// One tap as it stands on the device's disk.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Entry {
    /// The class that it was made in.
    pub class: ClassId,
    /// The tap.
    pub tap: Tap,
    /// None while it waits.
    pub kept: Option<Kept>,
}

/// That the server has a tap on disk.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Kept {
    /// Since when, by the device's estimate of house time.
    pub at: HouseTime,
    /// In which journal.
    pub generation: Generation,
    /// What it was worth then.
    pub standing: Standing,
}

/// One change to what stands on the device's disk. Changes are made in the order in which they come.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Write {
    /// The entry is there from now on, in place of one of the same tap.
    Put(Box<Entry>),
    /// The tap's entry goes.
    Delete(TapId),
}

impl Write {
    /// The tap whose entry is changed.
    pub fn tap(&self) -> TapId {
        match self {
            Self::Put(entry) => entry.tap.id,
            Self::Delete(tap) => *tap,
        }
    }
}

/// There is no room for one more tap.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Full;

/// A tap that the server has not yet called safe.
#[derive(Debug)]
struct Waiting {
    class: ClassId,
    tap: Tap,
    /// Whether it may be sent: it is on the device's disk, if that has one.
    may_go: bool,
    /// Whether it is to be sent with the next exchange: the server had no room, or it was not its turn.
    again: bool,
}

/// The taps of one device.
#[derive(Debug, Default)]
pub struct Outbox {
    waiting: BTreeMap<TapId, Waiting>,
    /// The oldest first.
    kept: BTreeMap<(HouseTime, TapId), Entry>,
    /// What is to be written, where the device has a disk.
    writes: Option<VecDeque<Write>>,
}

impl Outbox {
    /// What stands on the device's disk, which is kept up to date from now on. For a new device that
    /// is nothing.
    pub fn restored(entries: impl IntoIterator<Item = Entry>) -> Self {
        let mut outbox = Self { writes: Some(VecDeque::new()), ..Self::default() };
        for Entry { class, tap, kept } in entries {
            match kept {
                None => {
                    let waiting = Waiting { class, tap, may_go: true, again: false };
                    outbox.waiting.insert(waiting.tap.id, waiting);
                }
                Some(kept) => {
                    let entry = Entry { class, tap, kept: Some(kept.clone()) };
                    outbox.kept.insert((kept.at, entry.tap.id), entry);
                }
            }
        }
        outbox
    }

    /// The next change to be written to the device's disk; none where it has no disk.
    pub fn next_write(&mut self) -> Option<Write> {
        self.writes.as_mut()?.pop_front()
    }

    /// A change is on the device's disk: gives the tap that may now be sent for the first time,
    /// and its class.
    pub(super) fn written(&mut self, write: &Write) -> Option<(ClassId, Tap)> {
        let Write::Put(entry) = write else { return None };
        let waiting = self.waiting.get_mut(&entry.tap.id)?;
        let first = !std::mem::replace(&mut waiting.may_go, true);
        first.then(|| (waiting.class, waiting.tap.clone()))
    }

    /// Takes in a tap; tells whether it may be sent at once.
    pub(super) fn add(&mut self, class: ClassId, tap: Tap) -> Result<bool, Full> {
        if self.waiting.len() >= WAITING_MAX {
            return Err(Full);
        }
        let may_go = self.writes.is_none();
        self.write(|| Write::Put(Box::new(Entry { class, tap: tap.clone(), kept: None })));
        self.waiting.insert(tap.id, Waiting { class, tap, may_go, again: false });
        Ok(may_go)
    }

    /// How many taps wait.
    pub(super) fn waiting(&self) -> usize {
        self.waiting.len()
    }

    /// The connection is a new one: every tap of a class that may be sent is to be sent.
    pub(super) fn all_again(&mut self, class: ClassId) {
        for waiting in self.waiting.values_mut().filter(|waiting| waiting.class == class) {
            waiting.again = waiting.may_go;
        }
    }

    /// The taps of a class whose turn it is, in the order in which they were made.
    pub(super) fn next_go(&mut self, class: ClassId) -> Vec<Tap> {
        let due = |waiting: &&mut Waiting| waiting.class == class && waiting.again;
        let mut going: Vec<_> = self.waiting.values_mut().filter(due).collect();
        going.sort_by_key(|waiting| (waiting.tap.made_at, waiting.tap.id));
        let go = going.into_iter().take(IN_ONE_GO).map(|waiting| {
            waiting.again = false;
            waiting.tap.clone()
        });
        go.collect()
    }

    /// The server had no room for a tap: it is to be sent again.
    pub(super) fn not_now(&mut self, tap: TapId) {
        if let Some(waiting) = self.waiting.get_mut(&tap) {
            waiting.again = true;
        }
    }

    /// The server has a tap on disk; tells whether it waited for that. Where the device does not know
    /// the house time, the tap counts as kept when it was made.
    pub(super) fn kept(
        &mut self,
        tap: TapId,
        standing: Standing,
        generation: Generation,
        now: Option<HouseTime>,
    ) -> bool {
        let Some(Waiting { class, tap, .. }) = self.waiting.remove(&tap) else { return false };
        let at = now.unwrap_or(tap.made_at);
        let entry = Entry { class, tap, kept: Some(Kept { at, generation, standing }) };
        self.write(|| Write::Put(Box::new(entry.clone())));
        self.kept.insert((at, entry.tap.id), entry);
        self.expire(at);
        true
    }

    /// The server will never take a tap; tells whether it waited.
    pub(super) fn let_go(&mut self, tap: TapId) -> bool {
        let waited = self.waiting.remove(&tap).is_some();
        if waited {
            self.write(|| Write::Delete(tap));
        }
        waited
    }

    /// The server's journal is of this generation: what another one kept waits again.
    pub(super) fn offer_again(&mut self, generation: Generation) {
        let in_another =
            |entry: &Entry| entry.kept.as_ref().is_some_and(|kept| kept.generation != generation);
        let lost: Vec<_> =
            self.kept.iter().filter(|(_, entry)| in_another(entry)).map(|(key, _)| *key).collect();
        for key in lost {
            let Some(Entry { class, tap, .. }) = self.kept.remove(&key) else { continue };
            self.write(|| Write::Put(Box::new(Entry { class, tap: tap.clone(), kept: None })));
            self.waiting.insert(tap.id, Waiting { class, tap, may_go: true, again: false });
        }
    }

    fn expire(&mut self, now: HouseTime) {
        while let Some(oldest) = self.kept.first_entry() {
            let (at, tap) = *oldest.key();
            if now - at <= KEPT_FOR && self.kept.len() <= KEPT_MAX {
                break;
            }
            self.kept.pop_first();
            self.write(|| Write::Delete(tap));
        }
    }

    fn write(&mut self, write: impl FnOnce() -> Write) {
        if let Some(writes) = &mut self.writes {
            writes.push_back(write());
        }
    }
}
