//! The journal and the house records on disk: one SQLite database in one data folder. Nothing
//! outside this module knows SQL.
//!
//! One thread owns the connection that writes ([`writer`]). Whoever writes hands it a job and gets
//! a [`Receipt`], which is answered once the job is safely on disk, or could not be put there. The
//! writer commits whatever is queued as one transaction, so that a busy class costs the disk no
//! more syncs than a quiet one. The log is synced at every commit (synchronous=FULL): only then may
//! a tap be called kept.
//!
//! After a failure nothing is tried again here: who gets an error has a state that is ahead of the
//! disk, and rebuilds it from [`Store::load`]. Whatever had been queued on top of the lost events
//! is refused as a gap.
//!
//! Reading goes through a connection of its own, which sees the last commit and goes on when the
//! disk refuses to write. Reads block, for microseconds as a rule; long ones belong on a thread
//! that may.

mod open;
mod read;
mod record;
mod write;
mod writer;

#[cfg(test)]
mod tests;

use std::fmt;
use std::fs::File;
use std::pin::Pin;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::task::{Context, Poll};
use std::thread::JoinHandle;

use floorbell_core::ids::{ClassId, Seq};
use rusqlite::{Connection, ErrorCode};
use tokio::sync::{mpsc, oneshot};

pub use open::OpenError;
pub use record::{
    Class, Entry, Grant, Pairing, Person, Question, Record, Setting, Settings, Sheet,
};
use writer::{Job, Work};

/// Jobs that may wait for the writer. A full house makes some 100 a second, so this is 40 s of a
/// disk that stands still; devices have long been told by then.
const QUEUE_MAX: usize = 4_096;

/// The open data folder. Dropping it writes what is queued and lets the folder go.
#[derive(Debug)]
pub struct Store {
    reader: Mutex<Connection>,
    /// Gone once the store is being dropped.
    queue: Option<mpsc::Sender<Job>>,
    writer: Option<JoinHandle<()>>,
    /// Held for as long as the store is open.
    _lock: File,
}

impl Store {
    /// Appends events to the journal of a class, all of them or none.
    ///
    /// The receipt brings [`StoreError::Gap`] where the first does not follow the last one on disk
    /// or they do not follow each other, and [`StoreError::NoSuchClass`] where the class was not
    /// recorded before.
    pub fn append(&self, class: ClassId, entries: Vec<Entry>) -> Receipt {
        self.hand_over(Work::Append(class, entries))
    }

    /// Writes house records, all of them or none.
    pub fn write(&self, records: Vec<Record>) -> Receipt {
        self.hand_over(Work::Write(records))
    }

    fn hand_over(&self, work: Work) -> Receipt {
        let (answer, receipt) = oneshot::channel();
        if let Some(queue) = &self.queue
            && let Err(mpsc::error::TrySendError::Full(job)) = queue.try_send(Job { work, answer })
        {
            // The receipt cannot have been dropped yet, so this cannot fail.
            let _ = job.answer.send(Err(StoreError::Behind));
        }
        Receipt(receipt)
    }

    fn reader(&self) -> MutexGuard<'_, Connection> {
        // Reading leaves nothing half-done behind, even where it panicked.
        self.reader.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Drop for Store {
    fn drop(&mut self) {
        self.queue = None;
        if let Some(writer) = self.writer.take() {
            // If the writer panicked, that has been printed and there is nothing to add.
            let _ = writer.join();
        }
    }
}

/// Resolves once what was handed to the store is on disk, or could not be put there. May be
/// dropped: it is written all the same.
#[derive(Debug)]
#[must_use = "only the receipt says whether it is on disk"]
pub struct Receipt(oneshot::Receiver<Result<(), StoreError>>);

impl Receipt {
    /// Waits on a thread that may block.
    ///
    /// # Panics
    /// On a thread that runs asynchronous tasks.
    pub fn wait(self) -> Result<(), StoreError> {
        self.0.blocking_recv().unwrap_or(Err(StoreError::Stopped))
    }
}

impl Future for Receipt {
    type Output = Result<(), StoreError>;

    fn poll(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Self::Output> {
        Pin::new(&mut self.0).poll(context).map(|answer| answer.unwrap_or(Err(StoreError::Stopped)))
    }
}

/// Why something could not be written or read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StoreError {
    /// The disk has no room left.
    DiskFull,
    /// The disk, or the system before it, refused for another reason, in its own words.
    Refused(String),
    /// More is waiting for the disk than is sound to keep in memory.
    Behind,
    /// The writer has ended.
    Stopped,
    /// The journal of the class ends elsewhere than where these events begin.
    Gap {
        /// What would have come next.
        expected: Seq,
        /// What came.
        found: Seq,
    },
    /// Events were appended to a class that was never recorded.
    NoSuchClass(ClassId),
    /// What stands on disk cannot be right.
    Damaged(String),
}

impl fmt::Display for StoreError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::DiskFull => write!(f, "The disk is full: free some space on the server."),
            Self::Refused(why) => {
                write!(f, "The disk refuses to write ({why}): look after the server's disk.")
            }
            Self::Behind => write!(f, "The disk does not keep up: look after the server's disk."),
            Self::Stopped => write!(f, "The server is stopping."),
            Self::Gap { expected, found } => {
                write!(f, "Event {found} cannot follow: the journal goes on with {expected}.")
            }
            Self::NoSuchClass(class) => write!(f, "Class {class} is not on record."),
            Self::Damaged(what) => {
                write!(f, "The data folder is damaged ({what}): restore a backup.")
            }
        }
    }
}

impl std::error::Error for StoreError {}

impl From<rusqlite::Error> for StoreError {
    fn from(error: rusqlite::Error) -> Self {
        match error.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => Self::DiskFull,
            Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => {
                Self::Damaged(error.to_string())
            }
            Some(_) => Self::Refused(error.to_string()),
            // Not from the database itself: a value was not what this module ever writes.
            None => Self::Damaged(error.to_string()),
        }
    }
}
