//! The house while the server runs: which class is open, who follows it, and what is shown of whom.
//!
//! [`House`] is what the web routes call. It is a handle: clones are the same house.

#![expect(
    clippy::unused_async,
    clippy::needless_pass_by_value,
    reason = "the signatures stand before what they do"
)]

use std::fmt;

use axum::extract::ws::WebSocketUpgrade;
use axum::response::Response;
use floorbell_core::class::command::Choice;
use floorbell_core::ids::{AthleteId, ClassId, DeviceId};
use floorbell_core::name::Name;
use floorbell_core::session::Session;

use crate::access::{ClassCode, Holder, TokenHash};

/// The house while the server runs.
#[derive(Clone, Debug)]
pub struct House {}

/// Whom a connection was let in as. The web routes work it out from cookie or bearer token.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Identity {
    /// A signed-in coach.
    Coach {
        /// The sign-in, so that signing out ends its connections.
        session: TokenHash,
    },
    /// A wall.
    Wall {
        /// The server's own id of it.
        wall: DeviceId,
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
            Holder::Wall(wall) => Self::Wall { wall, accepted: true },
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
    /// More walls wait than the house keeps.
    TooManyWalls,
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
            Self::TooManyWalls => {
                f.write_str("Too many walls wait: the coach lets them in or turns them away first.")
            }
            Self::Disk(text) => write!(f, "It could not be saved: {text} Try again."),
        }
    }
}

impl std::error::Error for HouseProblem {}

impl House {
    /// The settings.
    pub fn settings(&self) -> Settings {
        todo!()
    }

    /// Sets them, for every device that comes from now on and the ones that follow already.
    pub async fn set_settings(&self, settings: Settings) -> Result<(), HouseProblem> {
        todo!("{settings:?}")
    }

    /// Opens a class of a sheet.
    pub async fn open_class(
        &self,
        sheet: &str,
        session: Session,
    ) -> Result<OpenClass, HouseProblem> {
        todo!("{sheet} {session:?}")
    }

    /// The class that is open.
    pub fn current(&self) -> Option<OpenClass> {
        todo!()
    }

    /// What a phone that knows the code is shown before joining.
    pub async fn look(&self, code: &ClassCode) -> Result<Look, HouseProblem> {
        todo!("{code}")
    }

    /// Somebody comes in by the class code. The caller then makes them a token.
    pub async fn join(
        &self,
        code: &ClassCode,
        who: Newcomer,
        choice: Option<Choice>,
        at_home: bool,
    ) -> Result<Joined, HouseProblem> {
        todo!("{code} {who:?} {choice:?} {at_home}")
    }

    /// Somebody comes in by their personal link, whose token is the athlete's own; it does no harm
    /// if they are in already.
    pub async fn join_personal(
        &self,
        class: ClassId,
        athlete: AthleteId,
    ) -> Result<Joined, HouseProblem> {
        todo!("{class} {athlete}")
    }

    /// Keeps a wall that waits to be let in under the hash of the token that it was given, and
    /// says the number that it is to show. Once the coach lets it in, the store knows its token.
    pub fn pair_wall(&self, token: TokenHash) -> Result<u32, HouseProblem> {
        todo!("{token:?}")
    }

    /// Who a token is that the store does not know: a wall that waits.
    pub fn waiting_wall(&self, token: &TokenHash) -> Option<Identity> {
        todo!("{token:?}")
    }

    /// Ends the connections of a sign-in.
    pub fn signed_out(&self, session: &TokenHash) {
        todo!("{session:?}")
    }

    /// Takes a connection over. Answers 400 if the device does not speak this version.
    pub fn follow(&self, upgrade: WebSocketUpgrade, identity: Identity) -> Response {
        todo!("{upgrade:?} {identity:?}")
    }

    /// Tells every device that the server goes away, and ends the class task.
    pub async fn shut_down(&self) {
        todo!()
    }
}
