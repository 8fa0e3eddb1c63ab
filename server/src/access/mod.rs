//! Letting people in: what secrets are made of and how they are checked.
//!
//! A coach signs in with the house's [`Passphrase`] and then holds a [`Token`]; an accepted wall
//! or tally tablet and a phone that came in by the [`ClassCode`] hold tokens of their own. The server keeps the
//! hashes of tokens only, and every token says whom it lets in ([`Holder`]). Wrong guesses are
//! slowed down per address ([`GuessLimiter`]).

mod code;
mod cookie;
mod guess;
mod origin;
mod passphrase;
mod token;

use floorbell_core::ids::{AthleteId, ClassId, DeviceId};
use uuid::Uuid;

pub use code::ClassCode;
pub use cookie::Role;
pub use guess::GuessLimiter;
pub use origin::{OwnNames, Sender, Stranger, is_own_machine};
pub use passphrase::{Passphrase, PassphraseHash, PassphraseProblem};
pub use token::{Token, TokenHash};

/// Whom a token lets in, and as what.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holder {
    /// A coach, for every class of the house.
    Coach,
    /// A device that the coach accepted.
    Paired(Paired),
    /// A phone, for its own athlete alone.
    Athlete {
        /// The class that it came into.
        class: ClassId,
        /// The athlete that it counts for.
        athlete: AthleteId,
    },
}

/// A device of the house that the coach lets in by the number on its screen, for every class.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Paired {
    /// What it is here.
    pub kind: PairedKind,
    /// The server's own id of it.
    pub device: DeviceId,
}

/// What a paired device is here.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum PairedKind {
    /// A wall; it can change nothing.
    Wall,
    /// A tally tablet, for those whom the coach assigns to it.
    Tablet,
}

/// A new random id, for a class, an athlete or a journal generation.
pub fn random_id() -> Uuid {
    uuid::Builder::from_random_bytes(random_bytes()).into_uuid()
}

/// Bytes that nobody can foresee, from the operating system.
///
/// # Panics
/// If the system has no random source: no secret could then be made, and nobody let in.
fn random_bytes<const N: usize>() -> [u8; N] {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).expect("the system's random source");
    bytes
}
