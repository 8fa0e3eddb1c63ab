//! From a data folder to a house that is ready to be served.

use std::path::Path;
use std::sync::Arc;
use std::{fmt, io};

use floorbell_core::time::Span;

use crate::access::{OwnNames, Token};
use crate::clock::{HouseClock, ThisMachine, WallTime};
use crate::house::House;
use crate::http::App;
use crate::store::{OpenError, Record, Setting, Store, StoreError};

/// Tokens that nobody has used for so long are dropped at start, which keeps their table from
/// growing forever. Longer than any token is good for.
const TOKENS_DROPPED_AFTER: Span = Span::from_mins(400 * 24 * 60);

/// A house that is ready.
pub struct Started {
    /// What is served.
    pub app: App,
    /// The same house, for who started it.
    pub house: House,
    /// What the one-time set-up link carries, as long as the passphrase has not been set.
    pub set_up: Option<Token>,
}

/// Why a house cannot be opened. `Display` is one sentence that says what to do.
#[derive(Debug)]
pub enum StartError {
    /// The data folder cannot be opened.
    Folder(OpenError),
    /// It was opened, but cannot be read or written.
    Store(StoreError),
    /// The machine does not tell its clocks.
    Clock(io::Error),
}

impl fmt::Display for StartError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Folder(error) => error.fmt(f),
            Self::Store(error) => error.fmt(f),
            Self::Clock(error) => write!(
                f,
                "The machine's clock cannot be read ({error}): floorbell runs on Linux with /proc."
            ),
        }
    }
}

impl std::error::Error for StartError {}

impl From<OpenError> for StartError {
    fn from(error: OpenError) -> Self {
        Self::Folder(error)
    }
}

impl From<StoreError> for StartError {
    fn from(error: StoreError) -> Self {
        Self::Store(error)
    }
}

/// Opens a data folder and takes up whatever was going on in it. `base` is the house's address for
/// others, such as `http://10.0.0.7:7600`; `names` are what it answers to beside the machine's own.
///
/// # Errors
/// If the data folder cannot be opened, read or written. Nothing in it is damaged.
pub async fn start(data: &Path, base: &str, names: &[String]) -> Result<Started, StartError> {
    let machine = ThisMachine::new().map_err(StartError::Clock)?;
    let store = Arc::new(Store::open(data)?);
    let (anchor, event) = (store.last_anchor()?, store.last_event()?);
    let (clock, clock_start) = HouseClock::start(Arc::new(machine), anchor.as_ref(), event);
    let now = clock.wall();
    let mut records = vec![Record::RevokeUnseenSince(before(now, TOKENS_DROPPED_AFTER))];
    let set_up = store.settings()?.passphrase.is_none().then(Token::random);
    if let Some(token) = &set_up {
        records.push(Record::Setting(Setting::SetupToken(token.hash())));
    }
    store.write(records).await?;
    let house = House::start(Arc::clone(&store), clock.clone(), clock_start, base).await?;
    let names = OwnNames::new(machine_name().as_deref(), names);
    Ok(Started { app: App::new(house.clone(), store, clock, names), house, set_up })
}

/// The machine's name on its network, without a domain.
fn machine_name() -> Option<String> {
    let name = std::fs::read_to_string("/proc/sys/kernel/hostname").ok()?;
    name.trim().split('.').next().filter(|name| !name.is_empty()).map(str::to_owned)
}

fn before(wall: WallTime, span: Span) -> WallTime {
    WallTime::from_micros(wall.as_micros() - span.as_micros())
}
