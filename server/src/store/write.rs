//! Entries and records to rows.

use floorbell_core::ids::{AthleteId, ClassId, DeviceId, Seq};
use floorbell_core::time::HouseTime;
use floorbell_core::wire::NameShown;
use rusqlite::types::Value;
use rusqlite::{Connection, OptionalExtension, Result, ToSql, params};

use super::StoreError;
use super::record::{Class, Entry, Grant, Pairing, Person, Question, Record, Setting};
use crate::access::{Holder, PairedKind};
use crate::clock::Anchor;

/// Appends entries, or says why they cannot follow what is there.
pub(super) fn append(
    connection: &Connection,
    class: ClassId,
    entries: &[Entry],
) -> Result<Result<(), StoreError>> {
    let class_id = class.0.into_bytes();
    let last: Option<u64> = connection
        .prepare_cached(
            "SELECT coalesce((SELECT max(seq) FROM journal WHERE class = ?1), 0)
             FROM classes WHERE id = ?1",
        )?
        .query_row([class_id], |row| row.get(0))
        .optional()?;
    let Some(last) = last else {
        return Ok(Err(StoreError::NoSuchClass(class)));
    };
    for (expected, entry) in (last + 1..).map(Seq).zip(entries) {
        if entry.seq != expected {
            return Ok(Err(StoreError::Gap { expected, found: entry.seq }));
        }
    }
    let mut insert = connection
        .prepare_cached("INSERT INTO journal (class, seq, at, event) VALUES (?1, ?2, ?3, ?4)")?;
    for entry in entries {
        insert.execute(params![class_id, entry.seq.0, entry.at.as_micros(), entry.json])?;
    }
    Ok(Ok(()))
}

/// Moves the log into the database and cuts it to nothing, so that what was erased is gone from it.
pub(super) fn empty_the_log(connection: &Connection) -> Result<(), StoreError> {
    let busy: bool =
        connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0))?;
    if busy {
        return Err(StoreError::Refused("another program is reading the database".into()));
    }
    Ok(())
}

/// Writes one record.
pub(super) fn record(connection: &Connection, record: &Record) -> Result<()> {
    let run = |sql: &str, values: &[&dyn ToSql]| {
        connection.prepare_cached(sql)?.execute(values).map(|_| ())
    };
    match record {
        Record::Anchor(anchor) => write_anchor(connection, anchor),
        Record::Class(class) => write_class(connection, class),
        Record::Person(person) => write_person(connection, person),
        Record::ErasePerson(athlete) => erase_person(connection, *athlete),
        Record::Question(question) => write_question(connection, question),
        Record::Sheet { name, text, saved } => run(
            "INSERT INTO sheets (name, version, text, saved_wall)
             SELECT ?1, coalesce(max(version), 0) + 1, ?2, ?3 FROM sheets WHERE name = ?1",
            params![name, text, saved.as_micros()],
        ),
        Record::Grant(grant) => write_grant(connection, grant),
        Record::Seen { token, at } => run(
            "UPDATE grants SET last_seen_wall = ?2 WHERE token = ?1",
            params![token.0, at.as_micros()],
        ),
        Record::Revoke(token) => run("DELETE FROM grants WHERE token = ?1", params![token.0]),
        Record::RevokeCoaches => run("DELETE FROM grants WHERE role = 'coach'", params![]),
        Record::RevokeUnseenSince(at) => {
            run("DELETE FROM grants WHERE last_seen_wall < ?1", params![at.as_micros()])
        }
        Record::Pairing(pairing) => write_pairing(connection, pairing),
        Record::Unpair(device) => unpair(connection, *device),
        Record::Setting(setting) => write_setting(connection, setting),
    }
}

fn write_anchor(connection: &Connection, anchor: &Anchor) -> Result<()> {
    connection
        .prepare_cached(
            "INSERT OR REPLACE INTO anchors (boot_id, boot_time, wall, house)
             VALUES (?1, ?2, ?3, ?4)",
        )?
        .execute(params![
            anchor.boot_id,
            anchor.boot_time.as_micros(),
            anchor.wall.as_micros(),
            anchor.house.as_micros(),
        ])?;
    Ok(())
}

fn write_class(connection: &Connection, class: &Class) -> Result<()> {
    connection
        .prepare_cached(
            "INSERT OR REPLACE INTO classes
             (id, title, sheet, sheet_version, code, opened, opened_wall, closed)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        )?
        .execute(params![
            class.id.0.into_bytes(),
            class.title,
            class.sheet,
            class.sheet_version,
            class.code.to_string(),
            class.opened.as_micros(),
            class.opened_wall.as_micros(),
            class.closed.map(HouseTime::as_micros),
        ])?;
    Ok(())
}

fn write_person(connection: &Connection, person: &Person) -> Result<()> {
    let shown = match person.shown {
        NameShown::Whole => "whole",
        NameShown::Initial => "initial",
        NameShown::Nothing => "nothing",
    };
    connection
        .prepare_cached(
            "INSERT OR REPLACE INTO people
             (athlete, class, name, shown, at_home, first_class, told_me)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        )?
        .execute(params![
            person.athlete.0.into_bytes(),
            person.class.0.into_bytes(),
            person.name.as_str(),
            shown,
            person.at_home,
            person.first_class,
            person.told_me,
        ])?;
    Ok(())
}

fn erase_person(connection: &Connection, athlete: AthleteId) -> Result<()> {
    for sql in [
        "DELETE FROM people WHERE athlete = ?1",
        "DELETE FROM questions WHERE athlete = ?1",
        "DELETE FROM grants WHERE athlete = ?1",
    ] {
        connection.prepare_cached(sql)?.execute([athlete.0.into_bytes()])?;
    }
    Ok(())
}

fn write_question(connection: &Connection, question: &Question) -> Result<()> {
    connection
        .prepare_cached(
            "INSERT OR REPLACE INTO questions (class, number, athlete, text, answered)
             VALUES (?1, ?2, ?3, ?4, ?5)",
        )?
        .execute(params![
            question.class.0.into_bytes(),
            question.number,
            question.athlete.0.into_bytes(),
            question.text,
            question.answered,
        ])?;
    Ok(())
}

fn write_grant(connection: &Connection, grant: &Grant) -> Result<()> {
    let (role, device, class, athlete) = match grant.holder {
        Holder::Coach => ("coach", None, None, None),
        Holder::Paired(paired) => (kind(paired.kind), Some(paired.device.0), None, None),
        Holder::Athlete { class, athlete } => ("athlete", None, Some(class.0), Some(athlete.0)),
    };
    let [device, class, athlete] =
        [device, class, athlete].map(|id| id.map(uuid::Uuid::into_bytes));
    connection
        .prepare_cached(
            "INSERT OR REPLACE INTO grants
             (token, role, device, class, athlete, created_wall, last_seen_wall)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        )?
        .execute(params![
            grant.token.0,
            role,
            device,
            class,
            athlete,
            grant.created.as_micros(),
            grant.last_seen.as_micros(),
        ])?;
    Ok(())
}

fn write_pairing(connection: &Connection, pairing: &Pairing) -> Result<()> {
    let Pairing { paired, number, accepted } = pairing;
    connection
        .prepare_cached(
            "INSERT OR REPLACE INTO paired (device, kind, number, accepted_wall)
             VALUES (?1, ?2, ?3, ?4)",
        )?
        .execute(params![
            paired.device.0.into_bytes(),
            kind(paired.kind),
            number,
            accepted.as_micros(),
        ])?;
    Ok(())
}

const fn kind(kind: PairedKind) -> &'static str {
    match kind {
        PairedKind::Wall => "wall",
        PairedKind::Tablet => "tablet",
    }
}

fn unpair(connection: &Connection, device: DeviceId) -> Result<()> {
    for sql in ["DELETE FROM paired WHERE device = ?1", "DELETE FROM grants WHERE device = ?1"] {
        connection.prepare_cached(sql)?.execute([device.0.into_bytes()])?;
    }
    Ok(())
}

/// The keys of the settings, as the table has them.
pub(super) mod key {
    pub(in crate::store) const HOUSE_NAME: &str = "house_name";
    pub(in crate::store) const STOP_NOTICE: &str = "stop_notice";
    pub(in crate::store) const PLACES: &str = "places";
    pub(in crate::store) const PASSPHRASE: &str = "passphrase";
    pub(in crate::store) const SETUP_TOKEN: &str = "setup_token";
    pub(in crate::store) const GENERATION: &str = "generation";
}

fn write_setting(connection: &Connection, setting: &Setting) -> Result<()> {
    let (key, value) = match setting {
        Setting::HouseName(name) => (key::HOUSE_NAME, Value::Text(name.clone())),
        Setting::StopNotice(text) => (key::STOP_NOTICE, Value::Text(text.clone())),
        Setting::Places(shown) => (key::PLACES, Value::Integer(i64::from(*shown))),
        Setting::Passphrase(hash) => (key::PASSPHRASE, Value::Text(hash.0.clone())),
        Setting::SetupToken(hash) => (key::SETUP_TOKEN, Value::Blob(hash.0.to_vec())),
        Setting::Generation(id) => (key::GENERATION, Value::Blob(id.0.into_bytes().to_vec())),
    };
    connection
        .prepare_cached("INSERT OR REPLACE INTO settings (key, value) VALUES (?1, ?2)")?
        .execute(params![key, value])?;
    if matches!(setting, Setting::Passphrase(_)) {
        connection
            .prepare_cached("DELETE FROM settings WHERE key = ?1")?
            .execute([key::SETUP_TOKEN])?;
    }
    Ok(())
}
