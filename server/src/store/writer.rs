//! The one thread that writes.
//!
//! It takes whatever is queued, does it in one transaction and answers every job. A job that makes
//! no sense (a gap) is refused by itself; once the disk refuses anything, the whole transaction is
//! rolled back and every job of it gets that error.

use floorbell_core::ids::ClassId;
use rusqlite::{Connection, TransactionBehavior};
use tokio::sync::{mpsc, oneshot};

use super::{Entry, Record, StoreError, write};

/// Something to write, and where its answer goes.
#[derive(Debug)]
pub(super) struct Job {
    pub(super) work: Work,
    pub(super) answer: oneshot::Sender<Result<(), StoreError>>,
}

/// What is to be written.
#[derive(Debug)]
pub(super) enum Work {
    Append(ClassId, Vec<Entry>),
    Write(Vec<Record>),
    /// Lets the database grow to so many pages and no further, as a full disk would.
    #[cfg(test)]
    LimitPages(u32),
}

impl Work {
    fn erases(&self) -> bool {
        matches!(self, Self::Write(records)
            if records.iter().any(|record| matches!(record, Record::ErasePerson(_))))
    }
}

/// Writes until there is nobody left who could hand it a job.
pub(super) fn run(mut connection: Connection, mut queue: mpsc::Receiver<Job>) {
    let mut batch = Vec::new();
    while queue.blocking_recv_many(&mut batch, super::QUEUE_MAX) > 0 {
        let outcome = commit(&mut connection, &batch);
        answer(batch.drain(..), outcome);
    }
    // A reading connection may still be open, which keeps SQLite from tidying up by itself.
    let _ = write::empty_the_log(&connection);
}

/// Answers every job, each with its own outcome or all with the one that they share.
fn answer(
    jobs: impl Iterator<Item = Job>,
    outcome: Result<Vec<Result<(), StoreError>>, StoreError>,
) {
    // Who has dropped its receipt does not want to know.
    match outcome {
        Ok(answers) => {
            for (job, answer) in jobs.zip(answers) {
                let _ = job.answer.send(answer);
            }
        }
        Err(error) => {
            for job in jobs {
                let _ = job.answer.send(Err(error.clone()));
            }
        }
    }
}

/// Does all jobs in one transaction. The outer error says that nothing was written.
fn commit(
    connection: &mut Connection,
    batch: &[Job],
) -> Result<Vec<Result<(), StoreError>>, StoreError> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let mut answers = batch
        .iter()
        .map(|job| perform(&transaction, &job.work))
        .collect::<Result<Vec<_>, rusqlite::Error>>()?;
    transaction.commit()?;
    if batch.iter().any(|job| job.work.erases())
        && let Err(error) = write::empty_the_log(connection)
    {
        for (job, answer) in batch.iter().zip(&mut answers) {
            if job.work.erases() {
                *answer = Err(error.clone());
            }
        }
    }
    Ok(answers)
}

/// Does one job. The outer error is the database's, the inner one the job's own.
fn perform(
    connection: &Connection,
    work: &Work,
) -> Result<Result<(), StoreError>, rusqlite::Error> {
    match work {
        Work::Append(class, entries) => write::append(connection, *class, entries),
        Work::Write(records) => {
            records.iter().try_for_each(|record| write::record(connection, record)).map(Ok)
        }
        #[cfg(test)]
        Work::LimitPages(pages) => connection.pragma_update(None, "max_page_count", pages).map(Ok),
    }
}
