//! Opening a data folder: takes it for this server alone, looks before it touches, and says in one
//! sentence what to do where it cannot.

use std::fmt;
use std::fs::{File, TryLockError};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::thread;
use std::time::Duration;

use floorbell_core::ids::Generation;
use rusqlite::config::DbConfig;
use rusqlite::{Connection, ErrorCode, OpenFlags, TransactionBehavior};
use tokio::sync::mpsc;

use super::record::{Record, Setting};
use super::{QUEUE_MAX, Store, StoreError, write, writer};
use crate::access;

const DATABASE: &str = "floorbell.db";
const LOCK: &str = "floorbell.lock";

/// Tells our databases from those of other programs: `FBel`.
const APPLICATION_ID: i32 = 0x4642_656c;

/// The version of the tables. One up with each change to `schema.sql`, and then [`UPGRADES`] has
/// what leads there.
const SCHEMA_VERSION: i32 = 2;

/// What leads from the tables of each version to those of the next, from version 1 on.
const UPGRADES: [&str; SCHEMA_VERSION as usize - 1] = [include_str!("upgrade-1.sql")];

/// How long to wait for a program that has the database open against our wish (a backup, a curious
/// person): long enough for one to finish copying a page, short enough for a coach to be told.
const BUSY_TIMEOUT: Duration = Duration::from_secs(1);

/// Statements kept prepared: all that this module has, with room to grow.
const STATEMENTS_MAX: usize = 64;

impl Store {
    /// Opens a data folder, making it where there is none.
    pub fn open(folder: &Path) -> Result<Self, OpenError> {
        let lock = take(folder)?;
        let path = folder.join(DATABASE);
        let failed = |error| OpenError::from_database(folder, error);
        let writing = open_to_write(&path).map_err(failed)?;
        match content(&writing).map_err(failed)? {
            Content::Nothing => create(&writing).map_err(failed)?,
            Content::Ours => {}
            Content::Older(upgrades) => upgrade(&writing, upgrades).map_err(failed)?,
            Content::Newer(found) => {
                return Err(OpenError::Newer { folder: folder.to_owned(), found });
            }
            Content::Foreign => return Err(OpenError::NotOurs(folder.to_owned())),
        }
        prepare_to_write(&writing).map_err(failed)?;
        let reading =
            Connection::open_with_flags(&path, OpenFlags::SQLITE_OPEN_READ_ONLY).map_err(failed)?;
        reading.busy_timeout(BUSY_TIMEOUT).map_err(failed)?;
        reading.set_prepared_statement_cache_capacity(STATEMENTS_MAX);
        let (queue, jobs) = mpsc::channel(QUEUE_MAX);
        let writer = thread::Builder::new()
            .name("store-writer".into())
            .spawn(move || writer::run(writing, jobs))
            .map_err(|source| OpenError::Unusable { folder: folder.to_owned(), source })?;
        Ok(Self {
            reader: Mutex::new(reading),
            queue: Some(queue),
            writer: Some(writer),
            _lock: lock,
        })
    }
}

/// Makes the folder if need be and takes its lock, which goes with the process however that ends.
fn take(folder: &Path) -> Result<File, OpenError> {
    let unusable = |source| OpenError::Unusable { folder: folder.to_owned(), source };
    std::fs::create_dir_all(folder).map_err(unusable)?;
    let lock = File::options()
        .write(true)
        .create(true)
        .truncate(false)
        .open(folder.join(LOCK))
        .map_err(unusable)?;
    match lock.try_lock() {
        Ok(()) => Ok(lock),
        Err(TryLockError::WouldBlock) => Err(OpenError::InUse(folder.to_owned())),
        Err(TryLockError::Error(source)) => Err(unusable(source)),
    }
}

fn open_to_write(path: &Path) -> rusqlite::Result<Connection> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE;
    let connection = Connection::open_with_flags(path, flags)?;
    // Until it is known whose database this is, even closing it must leave it as it was.
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true)?;
    connection.busy_timeout(BUSY_TIMEOUT)?;
    Ok(connection)
}

/// What a database file holds.
enum Content {
    Nothing,
    Ours,
    /// Ours, by an earlier program, with what its tables still lack.
    Older(&'static [&'static str]),
    /// Ours, by a later program whose tables this one does not know.
    Newer(i32),
    Foreign,
}

fn content(connection: &Connection) -> rusqlite::Result<Content> {
    let number = |pragma| connection.pragma_query_value(None, pragma, |row| row.get::<_, i32>(0));
    let tables: u32 =
        connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    Ok(match (number("application_id")?, number("user_version")?) {
        (0, 0) if tables == 0 => Content::Nothing,
        (APPLICATION_ID, SCHEMA_VERSION) => Content::Ours,
        (APPLICATION_ID, found @ 1..SCHEMA_VERSION) => {
            Content::Older(&UPGRADES[found as usize - 1..])
        }
        (APPLICATION_ID, found) if found > SCHEMA_VERSION => Content::Newer(found),
        _ => Content::Foreign,
    })
}

/// Makes the tables and begins a journal, in one transaction.
fn create(connection: &Connection) -> rusqlite::Result<()> {
    let transaction =
        rusqlite::Transaction::new_unchecked(connection, TransactionBehavior::Immediate)?;
    transaction.execute_batch(include_str!("schema.sql"))?;
    transaction.pragma_update(None, "application_id", APPLICATION_ID)?;
    transaction.pragma_update(None, "user_version", SCHEMA_VERSION)?;
    let generation = Setting::Generation(Generation(access::random_id()));
    write::record(&transaction, &Record::Setting(generation))?;
    transaction.commit()
}

/// Brings the tables of an earlier program up to these, in one transaction.
fn upgrade(connection: &Connection, upgrades: &[&str]) -> rusqlite::Result<()> {
    let transaction =
        rusqlite::Transaction::new_unchecked(connection, TransactionBehavior::Immediate)?;
    for upgrade in upgrades {
        transaction.execute_batch(upgrade)?;
    }
    transaction.pragma_update(None, "user_version", SCHEMA_VERSION)?;
    transaction.commit()
}

fn prepare_to_write(connection: &Connection) -> rusqlite::Result<()> {
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, false)?;
    // The answer is the mode that it is in now; where the file system cannot do it, that is another.
    connection.pragma_update_and_check(None, "journal_mode", "wal", |_| Ok(()))?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "secure_delete", true)?;
    connection.set_prepared_statement_cache_capacity(STATEMENTS_MAX);
    // Finishes an erasure that a crash cut off between its commit and the emptying of the log. If
    // it cannot be done now, it is done when the server stops; that is no reason not to start.
    let _: Result<(), StoreError> = write::empty_the_log(connection);
    Ok(())
}

/// Why a data folder cannot be opened, as one sentence that says what to do. Nothing in the folder
/// has been changed.
#[derive(Debug)]
pub enum OpenError {
    /// The folder cannot be made or written to.
    Unusable {
        /// The data folder.
        folder: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// Another server has the folder open.
    InUse(PathBuf),
    /// A later version of the program wrote it.
    Newer {
        /// The data folder.
        folder: PathBuf,
        /// The version of its tables.
        found: i32,
    },
    /// The database belongs to another program.
    NotOurs(PathBuf),
    /// The file is no database, or a damaged one.
    Damaged(PathBuf),
    /// The disk has no room left.
    DiskFull(PathBuf),
    /// The database refused for another reason.
    Refused {
        /// The data folder.
        folder: PathBuf,
        /// What it says.
        source: rusqlite::Error,
    },
}

impl OpenError {
    fn from_database(folder: &Path, error: rusqlite::Error) -> Self {
        let folder = folder.to_owned();
        match error.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => Self::DiskFull(folder),
            Some(ErrorCode::NotADatabase | ErrorCode::DatabaseCorrupt) => Self::Damaged(folder),
            _ => Self::Refused { folder, source: error },
        }
    }
}

impl fmt::Display for OpenError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unusable { folder, source } => write!(
                f,
                "The data folder {} cannot be used ({source}): choose one that this user may \
                 write to with --data.",
                folder.display()
            ),
            Self::InUse(folder) => write!(
                f,
                "Another floorbell server is running on the data folder {}: stop that one, or \
                 choose another folder with --data.",
                folder.display()
            ),
            Self::Newer { folder, found } => write!(
                f,
                "The data folder {} was written by a later version of floorbell (data version \
                 {found}, this program knows {SCHEMA_VERSION}): start that version, or choose \
                 another folder with --data.",
                folder.display()
            ),
            Self::NotOurs(folder) => write!(
                f,
                "{} belongs to another program: choose another folder with --data.",
                folder.join(DATABASE).display()
            ),
            Self::Damaged(folder) => write!(
                f,
                "{} is damaged or not a database: restore the data folder from a backup, or \
                 choose another folder with --data.",
                folder.join(DATABASE).display()
            ),
            Self::DiskFull(folder) => write!(
                f,
                "The disk of the data folder {} is full: free some space and start again.",
                folder.display()
            ),
            Self::Refused { folder, source } => write!(
                f,
                "The database in the data folder {} cannot be opened ({source}): see that no other \
                 program has it open and that the disk has room, then start again.",
                folder.display()
            ),
        }
    }
}

impl std::error::Error for OpenError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Unusable { source, .. } => Some(source),
            Self::Refused { source, .. } => Some(source),
            _ => None,
        }
    }
}
