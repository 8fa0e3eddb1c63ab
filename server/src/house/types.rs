//! What the web routes ask of the house, and what they are answered.

use std::fmt;

use floorbell_core::ids::{AthleteId, ClassId};
use floorbell_core::name::Name;
use floorbell_core::session::Session;
use floorbell_core::wire::SUBPROTOCOL;

use crate::access::{ClassCode, Holder, Paired, TokenHash};

/// Whom a connection was let in as. The web routes work it out from cookie or bearer token.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Identity {
    /// A signed-in coach.
    Coach {
        /// The sign-in, so that signing out ends its connections.
        session: TokenHash,
    },
    /// A wall or a tally tablet.
    Paired {
        /// Which.
        paired: Paired,
        /// Whether the coach has let it in.
        accepted: bool,
    },
    /// A phone.
    Athlete {
        /// The class that it came into.
        class: ClassId,
        /// The athlete whom it counts for.
        athlete: AthleteId,
    },
}

impl Identity {
    /// Whom a token from the store lets in.
    pub fn of(holder: Holder, token: TokenHash) -> Self {
        match holder {
            Holder::Coach => Self::Coach { session: token },
            Holder::Paired(paired) => Self::Paired { paired, accepted: true },
            Holder::Athlete { class, athlete } => Self::Athlete { class, athlete },
        }
    }
}

/// What the coach sets for the house, beside the passphrase.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settings {
    /// The house's name.
    pub house: Name,
    /// What the stop notice says: the local emergency number, where first aid is.
    pub emergency: String,
    /// Whether boards show places; else counts alone.
    pub places: bool,
}

/// The class that is open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OpenClass {
    /// Which.
    pub class: ClassId,
    /// Its session's title.
    pub title: String,
    /// The class code.
    pub code: ClassCode,
    /// The address for phones, code included.
    pub address: String,
}

/// What a phone is shown of a class before its person has said who they are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Look {
    /// The class.
    pub class: ClassId,
    /// Its session, without what only coaches see.
    pub session: Session,
    /// Who said that they will come and is not here yet.
    pub expected: Vec<(AthleteId, Name)>,
}

/// Who comes in by the class code.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Newcomer {
    /// Somebody new.
    Named(Name),
    /// Somebody who said that they will come.
    Expected(AthleteId),
}

/// Somebody who has come in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Joined {
    /// The class.
    pub class: ClassId,
    /// Who they are in it.
    pub athlete: AthleteId,
}

/// Why something was not done. `Display` is a sentence that says what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum HouseProblem {
    /// Another class is open.
    ClassOpen,
    /// There is no such class, or it has ended.
    NoSuchClass,
    /// The class refuses; the words are the class's own.
    Refused {
        /// A short word that never changes.
        code: &'static str,
        /// A sentence that says what to do.
        text: String,
    },
    /// More walls and tally tablets wait than the house keeps.
    TooManyWait,
    /// A device wants to follow in another version of the protocol.
    OtherVersion,
    /// The server is about to end.
    Stopping,
    /// The disk refuses.
    Disk(String),
}

impl fmt::Display for HouseProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::ClassOpen => f.write_str("A class is open: close it before you open the next."),
            Self::NoSuchClass => f.write_str(
                "There is no such class, or it has ended: scan the code on the wall again.",
            ),
            Self::Refused { text, .. } => f.write_str(text),
            Self::TooManyWait => f.write_str(
                "Too many screens wait: the coach lets them in or turns them away first.",
            ),
            Self::OtherVersion => {
                write!(f, "Ask for the WebSocket subprotocol {SUBPROTOCOL}: no other is spoken.")
            }
            Self::Stopping => f.write_str("The server stops: come back in a moment."),
            Self::Disk(text) => write!(f, "It could not be saved: {text} Try again."),
        }
    }
}

impl std::error::Error for HouseProblem {}
