//! What the store keeps, as types. Apart from the journal these are house records: each has one
//! current value, and writing it again replaces it.

use floorbell_core::ids::{AthleteId, ClassId, DeviceId, Generation, Seq};
use floorbell_core::name::Name;
use floorbell_core::time::HouseTime;
use floorbell_core::wire::NameShown;

use crate::access::{ClassCode, Holder, Paired, PassphraseHash, TokenHash};
use crate::clock::{Anchor, WallTime};

/// One event of a class, as the journal holds it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Its number in its class: from 1, without gaps.
    pub seq: Seq,
    /// Its stamp.
    pub at: HouseTime,
    /// The event as JSON.
    pub json: String,
}

/// One running of a session.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Class {
    /// Names it.
    pub id: ClassId,
    /// The title of its session.
    pub title: String,
    /// The sheet that it was opened from.
    pub sheet: String,
    /// Which version of that sheet.
    pub sheet_version: u32,
    /// What lets phones in. Kept after the end, so that an ended code can be told from a wrong one.
    pub code: ClassCode,
    /// When it was opened.
    pub opened: HouseTime,
    /// The date of that, for people.
    pub opened_wall: WallTime,
    /// When it was closed, if it was.
    pub closed: Option<HouseTime>,
}

/// One person in one class. Names stand here and nowhere else.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Person {
    /// The id by which the journal knows them.
    pub athlete: AthleteId,
    /// The class that they are in, or expected in.
    pub class: ClassId,
    /// Their name.
    pub name: Name,
    /// What of it the wall shows.
    pub shown: NameShown,
    /// Whether they join from home.
    pub at_home: bool,
    /// The coach's mark: first class here.
    pub first_class: bool,
    /// The coach's mark: told the coach something today.
    pub told_me: bool,
}

/// A question to the coach.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// The class in which it was put.
    pub class: ClassId,
    /// Which of the class.
    pub number: u32,
    /// Who put it.
    pub athlete: AthleteId,
    /// What they ask.
    pub text: String,
    /// Whether the coach has dealt with it.
    pub answered: bool,
}

/// One version of a session sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sheet {
    /// Names the sheet through all its versions.
    pub name: String,
    /// From 1; each save makes the next.
    pub version: u32,
    /// The sheet itself, Markdown.
    pub text: String,
    /// When this version was saved.
    pub saved: WallTime,
}

/// A token's hash and what the token is good for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Grant {
    /// What the token hashes to.
    pub token: TokenHash,
    /// Whom it lets in.
    pub holder: Holder,
    /// When it was given out.
    pub created: WallTime,
    /// When it was last used, as far as was written down.
    pub last_seen: WallTime,
}

/// A wall or tally tablet that the coach accepted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pairing {
    /// The device.
    pub paired: Paired,
    /// The number by which the coach knows it.
    pub number: u32,
    /// When it was accepted.
    pub accepted: WallTime,
}

/// One setting of the house.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Setting {
    /// What the house is called.
    HouseName(String),
    /// What the stop notice says: the local emergency number, where first aid is.
    StopNotice(String),
    /// Whether boards show places.
    Places(bool),
    /// The passphrase was set; the setup link ends with it.
    Passphrase(PassphraseHash),
    /// What the one-time setup link carries.
    SetupToken(TokenHash),
    /// The journal's life.
    Generation(Generation),
}

/// The settings of the house, as they stand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settings {
    /// What the house is called, once it was named.
    pub house_name: Option<String>,
    /// What the stop notice says, once it was written.
    pub stop_notice: Option<String>,
    /// Whether boards show places; they do where nothing was said.
    pub places: bool,
    /// The passphrase, once it was set.
    pub passphrase: Option<PassphraseHash>,
    /// The one-time setup link's token, until the passphrase is set.
    pub setup_token: Option<TokenHash>,
    /// The journal's life; made with the data folder, another one after a backup was restored.
    pub generation: Generation,
}

/// A change to the house records.
#[derive(Clone, Debug)]
pub enum Record {
    /// Keeps a reading of the clocks.
    Anchor(Anchor),
    /// Adds a class, or replaces what is known of it. Before its first events are appended.
    Class(Class),
    /// Adds a person, or replaces what is known of them.
    Person(Person),
    /// Erases a person: name, marks, questions and tokens. Nothing of it stays in the data folder;
    /// the journal keeps the tallies of the nameless id.
    ErasePerson(AthleteId),
    /// Adds a question, or replaces it.
    Question(Question),
    /// Adds a version of a sheet.
    Sheet {
        /// The sheet.
        name: String,
        /// Its text from now on.
        text: String,
        /// When it is saved.
        saved: WallTime,
    },
    /// Makes a token good.
    Grant(Grant),
    /// Notes that a token was used.
    Seen {
        /// What the token hashes to.
        token: TokenHash,
        /// When.
        at: WallTime,
    },
    /// Makes a token worthless: signing out.
    Revoke(TokenHash),
    /// Makes all coach tokens worthless: the passphrase has changed.
    RevokeCoaches,
    /// Makes worthless what was last used before an instant; keeps the table from growing forever.
    RevokeUnseenSince(WallTime),
    /// Remembers an accepted wall or tally tablet.
    Pairing(Pairing),
    /// Forgets a wall or tally tablet and makes its tokens worthless.
    Unpair(DeviceId),
    /// Changes a setting.
    Setting(Setting),
}
