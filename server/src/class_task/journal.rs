//! What a class task needs of the disk. A trait, so that tests can put a gate before it or let it
//! refuse.

use std::pin::Pin;

use floorbell_core::class::Class;
use floorbell_core::class::event::Stamped;
use floorbell_core::ids::ClassId;

use super::people::People;
use crate::store::{Entry, Person, Question, Record, Store, StoreError};

/// Work that is under way, on another thread or task.
pub(crate) type Under<T> = Pin<Box<dyn Future<Output = T> + Send>>;

/// What one turn of a class task puts on disk, in this order.
#[derive(Debug, Default)]
pub(crate) struct Writing {
    /// Records that the events lean on: names before who joins.
    pub(crate) before: Vec<Record>,
    /// What happened.
    pub(crate) entries: Vec<Entry>,
    /// Records that lean on the events: a name is erased after its person was taken out.
    pub(crate) after: Vec<Record>,
}

impl Writing {
    pub(crate) fn is_empty(&self) -> bool {
        self.before.is_empty() && self.entries.is_empty() && self.after.is_empty()
    }
}

/// All that is on disk of one class.
#[derive(Debug)]
pub(crate) struct OnDisk {
    pub(crate) entries: Vec<Entry>,
    pub(crate) people: Vec<Person>,
    pub(crate) questions: Vec<Question>,
}

/// The disk, as a class task sees it.
pub(crate) trait Journal: Send + Sync + 'static {
    /// Puts it on disk. Resolves once it is there; an error leaves open how much of it is.
    fn write(&self, class: ClassId, writing: Writing) -> Under<Result<(), StoreError>>;

    /// Reads it back; may block.
    fn load(&self, class: ClassId) -> Result<OnDisk, StoreError>;
}

impl Journal for Store {
    fn write(&self, class: ClassId, writing: Writing) -> Under<Result<(), StoreError>> {
        // All is handed over at once, so that the writer can commit it together.
        let mut receipts = Vec::with_capacity(3);
        if !writing.before.is_empty() {
            receipts.push(Store::write(self, writing.before));
        }
        if !writing.entries.is_empty() {
            receipts.push(self.append(class, writing.entries));
        }
        if !writing.after.is_empty() {
            receipts.push(Store::write(self, writing.after));
        }
        Box::pin(async move {
            let mut outcome = Ok(());
            // All are waited for, whatever the first of them brings: nothing of a turn may come on
            // disk after the state was rebuilt from there.
            for receipt in receipts {
                outcome = outcome.and(receipt.await);
            }
            outcome
        })
    }

    fn load(&self, class: ClassId) -> Result<OnDisk, StoreError> {
        Ok(OnDisk {
            entries: Store::load(self, class)?,
            people: self.people(class)?,
            questions: self.questions(class)?,
        })
    }
}

/// An event as the journal holds it.
///
/// # Panics
/// Never: an event has no map with keys other than text, and no failing part.
pub(crate) fn entry(stamped: &Stamped) -> Entry {
    Entry {
        seq: stamped.seq,
        at: stamped.at,
        json: serde_json::to_string(&stamped.event).expect("an event is plain data"),
    }
}

/// The events of a class as the journal holds them.
///
/// # Errors
/// [`StoreError::Damaged`] where one of them cannot be read.
pub(crate) fn stamped(class: ClassId, entries: Vec<Entry>) -> Result<Vec<Stamped>, StoreError> {
    let read = |Entry { seq, at, json }: Entry| match serde_json::from_str(&json) {
        Ok(event) => Ok(Stamped { seq, at, event }),
        Err(error) => Err(StoreError::Damaged(format!("event {seq} of {class}: {error}"))),
    };
    entries.into_iter().map(read).collect()
}

/// Rebuilds a class from what is on disk.
///
/// # Errors
/// [`StoreError::Damaged`] where that makes no class.
pub(crate) fn rebuild(class: ClassId, on_disk: OnDisk) -> Result<(Class, People), StoreError> {
    let rebuilt = Class::replay(stamped(class, on_disk.entries)?)
        .map_err(|broken| StoreError::Damaged(format!("class {class}: {broken}")))?;
    Ok((rebuilt, People::new(class, on_disk.people, on_disk.questions)))
}
