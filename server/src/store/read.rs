//! Rows to entries and records.

use floorbell_core::ids::{AthleteId, ClassId, DeviceId, Generation, Seq};
use floorbell_core::name::Name;
use floorbell_core::time::{HouseTime, Span};
use floorbell_core::wire::NameShown;
use rusqlite::types::{FromSql, Type};
use rusqlite::{Connection, Error, OptionalExtension, Params, Result as SqlResult, Row};
use uuid::Uuid;

use super::record::{Class, Entry, Grant, Pairing, Person, Question, Settings, Sheet};
use super::write::key;
use super::{Store, StoreError};
use crate::access::{ClassCode, Holder, Paired, PairedKind, PassphraseHash, TokenHash};
use crate::clock::{Anchor, WallTime};

impl Store {
    /// The journal of a class, in order; empty where there is none.
    ///
    /// # Errors
    /// [`StoreError::Damaged`] where an event is missing.
    pub fn load(&self, class: ClassId) -> Result<Vec<Entry>, StoreError> {
        let entries = self.all(
            "SELECT seq, at, event FROM journal WHERE class = ?1 ORDER BY seq",
            [class.0.into_bytes()],
            |row| Ok(Entry { seq: Seq(row.get(0)?), at: house(row, 1)?, json: row.get(2)? }),
        )?;
        match (1..).map(Seq).zip(&entries).find(|(expected, entry)| entry.seq != *expected) {
            Some((missing, _)) => {
                Err(StoreError::Damaged(format!("event {missing} of class {class} is missing")))
            }
            None => Ok(entries),
        }
    }

    /// The last reading of the clocks that was kept.
    pub fn last_anchor(&self) -> Result<Option<Anchor>, StoreError> {
        self.one(
            "SELECT boot_id, boot_time, wall, house FROM anchors
             ORDER BY house DESC, rowid DESC LIMIT 1",
            [],
            |row| {
                Ok(Anchor {
                    boot_id: row.get(0)?,
                    boot_time: Span::from_micros(row.get(1)?),
                    wall: wall(row, 2)?,
                    house: house(row, 3)?,
                })
            },
        )
    }

    /// The stamp of the last event of all classes.
    pub fn last_event(&self) -> Result<Option<HouseTime>, StoreError> {
        // Stamps go up within a class, so one look at the end of each is enough.
        let last = self.one(
            "SELECT max((SELECT at FROM journal WHERE class = classes.id
                         ORDER BY seq DESC LIMIT 1))
             FROM classes",
            [],
            |row| row.get::<_, Option<i64>>(0),
        )?;
        Ok(last.flatten().map(HouseTime::from_micros))
    }

    /// All classes, the latest first.
    pub fn classes(&self) -> Result<Vec<Class>, StoreError> {
        self.all(
            "SELECT id, title, sheet, sheet_version, code, opened, opened_wall, closed
             FROM classes ORDER BY opened DESC",
            [],
            class,
        )
    }

    /// The class, running or ended, that a code lets in to.
    pub fn class_by_code(&self, code: ClassCode) -> Result<Option<Class>, StoreError> {
        self.one(
            "SELECT id, title, sheet, sheet_version, code, opened, opened_wall, closed
             FROM classes WHERE code = ?1",
            [code.to_string()],
            class,
        )
    }

    /// The people of a class, in the order of their names.
    pub fn people(&self, class: ClassId) -> Result<Vec<Person>, StoreError> {
        self.all(
            "SELECT athlete, class, name, shown, at_home, first_class, told_me
             FROM people WHERE class = ?1 ORDER BY name, athlete",
            [class.0.into_bytes()],
            person,
        )
    }

    /// The questions of a class, in order.
    pub fn questions(&self, class: ClassId) -> Result<Vec<Question>, StoreError> {
        self.all(
            "SELECT class, number, athlete, text, answered FROM questions
             WHERE class = ?1 ORDER BY number",
            [class.0.into_bytes()],
            |row| {
                Ok(Question {
                    class: ClassId(id(row, 0)?),
                    number: row.get(1)?,
                    athlete: AthleteId(id(row, 2)?),
                    text: row.get(3)?,
                    answered: row.get(4)?,
                })
            },
        )
    }

    /// The latest version of every sheet, in the order of their names.
    pub fn sheets(&self) -> Result<Vec<Sheet>, StoreError> {
        // With a lone max(), SQLite takes the other columns from the row that has it.
        self.all(
            "SELECT name, max(version), text, saved_wall FROM sheets GROUP BY name ORDER BY name",
            [],
            sheet,
        )
    }

    /// The latest version of one sheet.
    pub fn sheet(&self, name: &str) -> Result<Option<Sheet>, StoreError> {
        self.one(
            "SELECT name, version, text, saved_wall FROM sheets
             WHERE name = ?1 ORDER BY version DESC LIMIT 1",
            [name],
            sheet,
        )
    }

    /// What a token is good for; nothing where it is good for nothing.
    pub fn grant(&self, token: TokenHash) -> Result<Option<Grant>, StoreError> {
        self.one(
            "SELECT token, role, device, class, athlete, created_wall, last_seen_wall
             FROM grants WHERE token = ?1",
            [token.0],
            grant,
        )
    }

    /// The walls and tally tablets that were accepted, in the order of their numbers.
    pub fn pairings(&self) -> Result<Vec<Pairing>, StoreError> {
        self.all(
            "SELECT device, kind, number, accepted_wall FROM paired ORDER BY number",
            [],
            |row| {
                let kind =
                    kind(&row.get::<_, String>(1)?).ok_or_else(|| unreadable(1, "no kind"))?;
                let paired = Paired { kind, device: DeviceId(id(row, 0)?) };
                Ok(Pairing { paired, number: row.get(2)?, accepted: wall(row, 3)? })
            },
        )
    }

    /// The settings of the house.
    pub fn settings(&self) -> Result<Settings, StoreError> {
        let reader = self.reader();
        let generation = setting(&reader, key::GENERATION)?
            .ok_or_else(|| StoreError::Damaged("it has no generation".into()))?;
        Ok(Settings {
            house_name: setting(&reader, key::HOUSE_NAME)?,
            stop_notice: setting(&reader, key::STOP_NOTICE)?,
            places: setting(&reader, key::PLACES)?.unwrap_or(true),
            passphrase: setting(&reader, key::PASSPHRASE)?.map(PassphraseHash),
            setup_token: setting(&reader, key::SETUP_TOKEN)?.map(TokenHash),
            generation: Generation(Uuid::from_bytes(generation)),
        })
    }

    fn all<T>(
        &self,
        sql: &str,
        params: impl Params,
        read: impl FnMut(&Row<'_>) -> SqlResult<T>,
    ) -> Result<Vec<T>, StoreError> {
        let reader = self.reader();
        let mut statement = reader.prepare_cached(sql)?;
        let rows = statement.query_map(params, read)?.collect::<SqlResult<_>>()?;
        Ok(rows)
    }

    fn one<T>(
        &self,
        sql: &str,
        params: impl Params,
        read: impl FnOnce(&Row<'_>) -> SqlResult<T>,
    ) -> Result<Option<T>, StoreError> {
        let reader = self.reader();
        let row = reader.prepare_cached(sql)?.query_row(params, read).optional()?;
        Ok(row)
    }
}

fn setting<T: FromSql>(reader: &Connection, key: &str) -> SqlResult<Option<T>> {
    reader
        .prepare_cached("SELECT value FROM settings WHERE key = ?1")?
        .query_row([key], |row| row.get(0))
        .optional()
}

fn class(row: &Row<'_>) -> SqlResult<Class> {
    let code: String = row.get(4)?;
    Ok(Class {
        id: ClassId(id(row, 0)?),
        title: row.get(1)?,
        sheet: row.get(2)?,
        sheet_version: row.get(3)?,
        code: ClassCode::parse(&code).ok_or_else(|| unreadable(4, "no class code"))?,
        opened: house(row, 5)?,
        opened_wall: wall(row, 6)?,
        closed: row.get::<_, Option<i64>>(7)?.map(HouseTime::from_micros),
    })
}

fn person(row: &Row<'_>) -> SqlResult<Person> {
    let name: String = row.get(2)?;
    let shown: String = row.get(3)?;
    Ok(Person {
        athlete: AthleteId(id(row, 0)?),
        class: ClassId(id(row, 1)?),
        name: Name::new(&name).map_err(|problem| unreadable(2, problem))?,
        shown: match &*shown {
            "whole" => NameShown::Whole,
            "initial" => NameShown::Initial,
            "nothing" => NameShown::Nothing,
            _ => return Err(unreadable(3, "no way to show a name")),
        },
        at_home: row.get(4)?,
        first_class: row.get(5)?,
        told_me: row.get(6)?,
    })
}

fn sheet(row: &Row<'_>) -> SqlResult<Sheet> {
    Ok(Sheet { name: row.get(0)?, version: row.get(1)?, text: row.get(2)?, saved: wall(row, 3)? })
}

fn grant(row: &Row<'_>) -> SqlResult<Grant> {
    let role: String = row.get(1)?;
    Ok(Grant {
        token: TokenHash(row.get(0)?),
        holder: match &*role {
            "coach" => Holder::Coach,
            "athlete" => {
                Holder::Athlete { class: ClassId(id(row, 3)?), athlete: AthleteId(id(row, 4)?) }
            }
            paired => {
                let kind = kind(paired).ok_or_else(|| unreadable(1, "no role"))?;
                Holder::Paired(Paired { kind, device: DeviceId(id(row, 2)?) })
            }
        },
        created: wall(row, 5)?,
        last_seen: wall(row, 6)?,
    })
}

fn kind(text: &str) -> Option<PairedKind> {
    match text {
        "wall" => Some(PairedKind::Wall),
        "tablet" => Some(PairedKind::Tablet),
        _ => None,
    }
}

fn id(row: &Row<'_>, column: usize) -> SqlResult<Uuid> {
    row.get(column).map(Uuid::from_bytes)
}

fn house(row: &Row<'_>, column: usize) -> SqlResult<HouseTime> {
    row.get(column).map(HouseTime::from_micros)
}

fn wall(row: &Row<'_>, column: usize) -> SqlResult<WallTime> {
    row.get(column).map(WallTime::from_micros)
}

/// A column holds what this module never writes.
fn unreadable(column: usize, why: impl Into<Box<dyn std::error::Error + Send + Sync>>) -> Error {
    Error::FromSqlConversionFailure(column, Type::Text, why.into())
}
