//! The house over HTTP: the pages, and what they and other programs ask for.
//!
//! [`routes`] lists every route with who may use it; [`gate`] stands before them all; the other
//! modules answer. What goes wrong is answered as a [`problem`]. Following a class is a WebSocket,
//! which [`follow`] hands to the house.

mod accept;
mod body;
mod classes;
mod follow;
mod gate;
mod history;
mod join;
mod pages;
mod problem;
mod routes;
mod settings;
mod sheets;
mod sign_in;

#[cfg(test)]
mod tests;

use std::net::IpAddr;
use std::sync::{Arc, Mutex, PoisonError};

use floorbell_core::time::Span;
use tokio::net::TcpListener;

use crate::access::{GuessLimiter, Holder, OwnNames, Role, Token};
use crate::clock::{HouseClock, WallTime};
use crate::house::{House, Identity};
use crate::store::{Grant, Record, Store, StoreError};
use problem::Problem;

/// How exactly it is written down when a token was last used: one write a day for each device.
const SEEN_EVERY: Span = Span::from_mins(24 * 60);

/// What the routes stand on.
pub struct App {
    house: House,
    store: Arc<Store>,
    clock: HouseClock,
    names: OwnNames,
    /// Whether connections are encrypted.
    secure: bool,
    guesses: Guesses,
    /// Held while the passphrase is hashed: one at a time, and not on the threads that everything
    /// else runs on. Who waits for it waits as a task and not as a thread.
    hashing: tokio::sync::Mutex<()>,
}

/// Who has been guessing what.
#[derive(Debug, Default)]
struct Guesses {
    set_up: Mutex<GuessLimiter>,
    passphrase: Mutex<GuessLimiter>,
    class_code: Mutex<GuessLimiter>,
    /// Not a guess, but each wall or tally tablet that asks to be let in troubles the coach.
    pairing: Mutex<GuessLimiter>,
}

impl App {
    /// The routes of a house.
    pub fn new(house: House, store: Arc<Store>, clock: HouseClock, names: OwnNames) -> Self {
        Self {
            house,
            store,
            clock,
            names,
            secure: false,
            guesses: Guesses::default(),
            hashing: tokio::sync::Mutex::new(()),
        }
    }

    /// Whom a token lets in, if it still does.
    fn identity(&self, token: &Token) -> Result<Option<Identity>, StoreError> {
        let hash = token.hash();
        // First: who is let in just now waits until the store knows it, so none is overlooked.
        if let Some(waiting) = self.house.waiting(&hash) {
            return Ok(Some(waiting));
        }
        let Some(grant) = self.store.grant(hash)? else {
            return Ok(None);
        };
        let now = self.clock.wall();
        let unused = Span::from_micros(now.as_micros() - grant.last_seen.as_micros());
        if unused > Role::of(&grant.holder).kept() {
            return Ok(None);
        }
        if unused > SEEN_EVERY {
            // Nobody waits for it, and where the disk refuses, the next request tries again.
            drop(self.store.write(vec![Record::Seen { token: hash, at: now }]));
        }
        Ok(Some(Identity::of(grant.holder, hash)))
    }

    /// Makes a token that lets somebody in, and waits until it is on disk.
    async fn let_in(&self, holder: Holder) -> Result<Token, Problem> {
        let token = Token::random();
        self.store.write(vec![grant(&token, holder, self.clock.wall())]).await?;
        Ok(token)
    }

    /// Charges a guess to whoever makes it.
    fn charge(&self, guesses: &Mutex<GuessLimiter>, who: IpAddr) -> Result<(), Problem> {
        let mut limiter = guesses.lock().unwrap_or_else(PoisonError::into_inner);
        limiter.charge(who, self.clock.now()).map_err(Problem::too_many)
    }
}

/// The guess was right.
fn forgive(guesses: &Mutex<GuessLimiter>, who: IpAddr) {
    guesses.lock().unwrap_or_else(PoisonError::into_inner).forgive(who);
}

/// The record of a token that was just made.
fn grant(token: &Token, holder: Holder, now: WallTime) -> Record {
    Record::Grant(Grant { token: token.hash(), holder, created: now, last_seen: now })
}

/// Serves until `shutdown`. Devices that follow a class are then told that the house goes away, and
/// requests under way may end.
pub async fn run(listener: TcpListener, app: App, shutdown: impl Future<Output = ()>) {
    serve(listener, &Arc::new(app), accept::CONNECTIONS_MAX, shutdown).await;
}

/// The same with a bound on the connections.
async fn serve(
    listener: TcpListener,
    app: &Arc<App>,
    connections_max: u32,
    shutdown: impl Future<Output = ()>,
) {
    let ending = async {
        shutdown.await;
        app.house.shut_down().await;
    };
    accept::serve(listener, routes::router(app), connections_max, ending).await;
}
