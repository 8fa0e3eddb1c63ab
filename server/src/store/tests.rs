//! What the store promises: what was acknowledged is there, what was not is not half there, and
//! whoever opens a folder that cannot be used is told what to do.

use std::path::{Path, PathBuf};

use floorbell_core::ids::{AthleteId, DeviceId};
use floorbell_core::name::Name;
use floorbell_core::time::{HouseTime, Span};
use floorbell_core::wire::NameShown;
use rusqlite::config::DbConfig;
use tempfile::TempDir;
use uuid::Uuid;

use super::*;
use crate::access::{
    ClassCode, Holder, Paired, PairedKind, Passphrase, PassphraseHash, Token, TokenHash,
};
use crate::clock::{Anchor, WallTime};

const CLASS: ClassId = ClassId(Uuid::from_u128(1));

fn folder() -> TempDir {
    tempfile::tempdir().unwrap()
}

fn open(folder: &TempDir) -> Store {
    Store::open(folder.path()).unwrap()
}

/// A store on whose record stands one class.
fn with_class(folder: &TempDir) -> Store {
    let store = open(folder);
    store.write(vec![Record::Class(class(CLASS))]).wait().unwrap();
    store
}

fn class(id: ClassId) -> Class {
    Class {
        id,
        title: "Tide Tables".into(),
        sheet: "tide-tables".into(),
        sheet_version: 1,
        code: ClassCode::random(),
        opened: HouseTime::from_micros(5),
        opened_wall: WallTime::from_micros(1_700_000_000_000_000),
        closed: None,
    }
}

fn person(number: u128, name: &str) -> Person {
    Person {
        athlete: AthleteId(Uuid::from_u128(number)),
        class: CLASS,
        name: Name::new(name).unwrap(),
        shown: NameShown::Initial,
        at_home: true,
        first_class: false,
        told_me: true,
    }
}

fn entries(seqs: impl IntoIterator<Item = u64>) -> Vec<Entry> {
    let entry = |seq| Entry {
        seq: Seq(seq),
        at: HouseTime::from_micros(seq as i64 * 10),
        json: format!("{{\"number\":{seq}}}"),
    };
    seqs.into_iter().map(entry).collect()
}

#[test]
fn a_reopened_store_has_everything() {
    let folder = folder();
    let class = Class { closed: Some(HouseTime::from_micros(9)), ..class(CLASS) };
    let people = [person(3, "Ada of the Pier"), person(2, "Bo")];
    let question = Question {
        class: CLASS,
        number: 1,
        athlete: people[1].athlete,
        text: "Mind the <b>step</b>?".into(),
        answered: false,
    };
    let anchor = Anchor {
        boot_id: "boot".into(),
        boot_time: Span::from_secs(5),
        wall: WallTime::from_micros(7),
        house: HouseTime::from_micros(-3),
    };
    let now = WallTime::from_micros(11);
    let pairing = |kind, id, number| Pairing {
        paired: Paired { kind, device: DeviceId(Uuid::from_u128(id)) },
        number,
        accepted: now,
    };
    let (wall, tablet) = (pairing(PairedKind::Wall, 8, 2), pairing(PairedKind::Tablet, 7, 3));
    let holders = [
        Holder::Coach,
        Holder::Paired(wall.paired),
        Holder::Paired(tablet.paired),
        Holder::Athlete { class: CLASS, athlete: people[0].athlete },
    ];
    let grants = holders.map(|holder| Grant {
        token: Token::random().hash(),
        holder,
        created: now,
        last_seen: now,
    });
    let sheet =
        |text: &str| Record::Sheet { name: "tide-tables".into(), text: text.into(), saved: now };
    let setup = Token::random().hash();
    let mut records = vec![
        Record::Anchor(anchor.clone()),
        Record::Class(class.clone()),
        Record::Question(question.clone()),
        sheet("# Old"),
        sheet("# New"),
        Record::Pairing(tablet),
        Record::Pairing(wall),
        Record::Setting(Setting::HouseName("Quayside Hall".into())),
        Record::Setting(Setting::StopNotice("Call 0".into())),
        Record::Setting(Setting::SetupToken(setup)),
    ];
    records.extend(people.clone().map(Record::Person));
    records.extend(grants.clone().map(Record::Grant));

    let store = open(&folder);
    store.write(records).wait().unwrap();
    store.append(CLASS, entries(1..=3)).wait().unwrap();
    let generation = store.settings().unwrap().generation;
    drop(store);

    let store = open(&folder);
    assert_eq!(store.load(CLASS).unwrap(), entries(1..=3));
    assert_eq!(store.load(ClassId(Uuid::from_u128(99))).unwrap(), []);
    assert_eq!(store.last_event().unwrap(), Some(HouseTime::from_micros(30)));
    assert_eq!(store.last_anchor().unwrap(), Some(anchor));
    assert_eq!(store.classes().unwrap(), std::slice::from_ref(&class));
    assert_eq!(store.class_by_code(class.code).unwrap(), Some(class));
    assert_eq!(store.people(CLASS).unwrap(), people);
    assert_eq!(store.questions(CLASS).unwrap(), [question]);
    assert_eq!(store.pairings().unwrap(), [wall, tablet]);
    let latest = Sheet { name: "tide-tables".into(), version: 2, text: "# New".into(), saved: now };
    assert_eq!(store.sheets().unwrap(), std::slice::from_ref(&latest));
    assert_eq!(store.sheet("tide-tables").unwrap(), Some(latest));
    for grant in grants {
        assert_eq!(store.grant(grant.token).unwrap(), Some(grant));
    }
    let settings = Settings {
        house_name: Some("Quayside Hall".into()),
        stop_notice: Some("Call 0".into()),
        places: true,
        passphrase: None,
        setup_token: Some(setup),
        generation,
    };
    assert_eq!(store.settings().unwrap(), settings);
}

#[test]
fn an_empty_folder_is_an_empty_house() {
    let folder = folder();
    let store = Store::open(&folder.path().join("not/yet/there")).unwrap();
    assert_eq!(store.last_event().unwrap(), None);
    assert_eq!(store.last_anchor().unwrap(), None);
    assert_eq!(store.classes().unwrap(), []);
    assert_eq!(store.sheet("none").unwrap(), None);
    assert_eq!(store.grant(Token::random().hash()).unwrap(), None);
    let other = open(&folder).settings().unwrap();
    assert_ne!(store.settings().unwrap().generation, other.generation);
}

#[test]
fn the_last_anchor_wins_whichever_boot_wrote_it() {
    let folder = folder();
    let store = open(&folder);
    let anchor = |boot_id: &str, house| Anchor {
        boot_id: boot_id.into(),
        boot_time: Span::ZERO,
        wall: WallTime::from_micros(0),
        house: HouseTime::from_micros(house),
    };
    for next in [anchor("a", 1), anchor("a", 2), anchor("b", 2), anchor("b", 3)] {
        store.write(vec![Record::Anchor(next.clone())]).wait().unwrap();
        assert_eq!(store.last_anchor().unwrap(), Some(next));
    }
}

#[test]
fn setting_the_passphrase_ends_the_setup_link() {
    let folder = folder();
    let store = open(&folder);
    let hash = PassphraseHash::of(&Passphrase::new("harbour wall at six").unwrap());
    let setup = Record::Setting(Setting::SetupToken(Token::random().hash()));
    store.write(vec![setup]).wait().unwrap();
    store.write(vec![Record::Setting(Setting::Passphrase(hash.clone()))]).wait().unwrap();
    let settings = store.settings().unwrap();
    assert_eq!((settings.passphrase, settings.setup_token), (Some(hash), None));
}

#[test]
fn a_revoked_token_is_good_for_nothing() {
    let folder = folder();
    let store = open(&folder);
    let device = DeviceId(Uuid::from_u128(8));
    let give = |holder| {
        let (token, created) = (Token::random().hash(), WallTime::from_micros(10));
        let grant = Grant { token, holder, created, last_seen: created };
        store.write(vec![Record::Grant(grant)]).wait().unwrap();
        token
    };
    let good = |token| store.grant(token).unwrap().is_some();
    let (first, second, wall) = (
        give(Holder::Coach),
        give(Holder::Coach),
        give(Holder::Paired(Paired { kind: PairedKind::Wall, device })),
    );
    store.write(vec![Record::Revoke(first)]).wait().unwrap();
    assert!(!good(first) && good(second) && good(wall));
    store.write(vec![Record::RevokeCoaches]).wait().unwrap();
    assert!(!good(second) && good(wall));
    store.write(vec![Record::Unpair(device)]).wait().unwrap();
    assert!(!good(wall));

    let (used, unused) = (give(Holder::Coach), give(Holder::Coach));
    let at = WallTime::from_micros(20);
    let records = vec![Record::Seen { token: used, at }, Record::RevokeUnseenSince(at)];
    store.write(records).wait().unwrap();
    assert!(good(used) && !good(unused));
}

#[test]
fn the_journal_has_no_gaps_and_no_class_that_nobody_knows() {
    let folder = folder();
    let store = with_class(&folder);
    let gap = |expected, found| Err(StoreError::Gap { expected: Seq(expected), found: Seq(found) });
    assert_eq!(store.append(CLASS, entries([2])).wait(), gap(1, 2));
    assert_eq!(store.append(CLASS, entries([1, 3])).wait(), gap(2, 3));
    assert_eq!(store.append(CLASS, entries([1, 2])).wait(), Ok(()));
    assert_eq!(store.append(CLASS, entries([2])).wait(), gap(3, 2));
    let stranger = ClassId(Uuid::from_u128(99));
    let unknown = Err(StoreError::NoSuchClass(stranger));
    assert_eq!(store.append(stranger, entries([1])).wait(), unknown);
    assert_eq!(store.load(CLASS).unwrap(), entries(1..=2));
}

#[test]
fn a_missing_event_is_found_when_the_journal_is_read() {
    let folder = folder();
    let store = with_class(&folder);
    store.append(CLASS, entries(1..=3)).wait().unwrap();
    drop(store);
    let database = Connection::open(folder.path().join("floorbell.db")).unwrap();
    assert_eq!(database.execute("DELETE FROM journal WHERE seq = 2", []), Ok(1));
    drop(database);
    let error = open(&folder).load(CLASS).unwrap_err();
    assert!(matches!(&error, StoreError::Damaged(what) if what.contains("event 2")), "{error}");
}

#[test]
fn what_was_queued_is_written_even_if_nobody_waits_for_it() {
    const EACH: u64 = 500;
    let folder = folder();
    let store = open(&folder);
    let classes: [ClassId; 4] = std::array::from_fn(|n| ClassId(Uuid::from_u128(n as u128)));
    store.write(classes.map(|id| Record::Class(class(id))).into()).wait().unwrap();
    std::thread::scope(|scope| {
        for class in classes {
            let store = &store;
            scope.spawn(move || {
                for seq in 1..=EACH {
                    drop(store.append(class, entries([seq])));
                }
            });
        }
    });
    drop(store);
    let store = open(&folder);
    for class in classes {
        assert_eq!(store.load(class).unwrap(), entries(1..=EACH));
    }
}

#[tokio::test]
async fn a_receipt_can_be_awaited() {
    let folder = folder();
    let store = open(&folder);
    store.write(vec![Record::Class(class(CLASS))]).await.unwrap();
    let receipts = (1..=10).map(|seq| store.append(CLASS, entries([seq]))).collect::<Vec<_>>();
    for receipt in receipts {
        assert_eq!(receipt.await, Ok(()));
    }
    assert_eq!(store.load(CLASS).unwrap().len(), 10);
}

#[test]
fn when_the_disk_is_full_nothing_is_kept_and_reading_goes_on() {
    let folder = folder();
    let store = with_class(&folder);
    store.append(CLASS, entries([1])).wait().unwrap();
    let limit = |pages| store.hand_over(Work::LimitPages(pages)).wait().unwrap();
    // The limit is never under what is already used, so this leaves no page free.
    limit(1);
    let large = |seq| vec![Entry { json: "x".repeat(100_000), ..entries([seq]).remove(0) }];
    assert_eq!(store.append(CLASS, large(2)).wait(), Err(StoreError::DiskFull));
    // What was built upon the lost event is refused as well, though it would find room.
    let gap = Err(StoreError::Gap { expected: Seq(2), found: Seq(3) });
    assert_eq!(store.append(CLASS, entries([3])).wait(), gap);
    assert_eq!(store.load(CLASS).unwrap(), entries([1]));

    limit(u32::MAX - 1);
    assert_eq!(store.append(CLASS, large(2)).wait(), Ok(()));
    assert_eq!(store.load(CLASS).unwrap().len(), 2);
    drop(store);
    assert_eq!(open(&folder).load(CLASS).unwrap().len(), 2);
}

#[test]
fn when_the_disk_does_not_keep_up_the_queue_says_so() {
    let folder = folder();
    let mut store = with_class(&folder);
    let (queue, jobs) = mpsc::channel(1);
    store.queue = Some(queue);
    let waiting = store.append(CLASS, entries([1]));
    assert_eq!(store.append(CLASS, entries([2])).wait(), Err(StoreError::Behind));
    drop(jobs);
    assert_eq!(waiting.wait(), Err(StoreError::Stopped));
    assert_eq!(store.append(CLASS, entries([1])).wait(), Err(StoreError::Stopped));
}

#[test]
fn an_erased_name_is_nowhere_in_the_folder() {
    let folder = folder();
    let store = with_class(&folder);
    // Enough people that the table's pages have been split and merged.
    let crowd = (0..500).map(|n| person(n, &format!("Person number {n} of the crowd")));
    let mut records: Vec<Record> = crowd.map(Record::Person).collect();
    let erased = person(1_000, "Zephyrine Quill");
    records.insert(250, Record::Person(erased.clone()));
    records.push(Record::Question(Question {
        class: CLASS,
        number: 1,
        athlete: erased.athlete,
        text: "I am Zephyrine, is that so?".into(),
        answered: false,
    }));
    let token = Token::random().hash();
    let holder = Holder::Athlete { class: CLASS, athlete: erased.athlete };
    let at = WallTime::from_micros(0);
    records.push(Record::Grant(Grant { token, holder, created: at, last_seen: at }));
    store.write(records).wait().unwrap();
    store.append(CLASS, entries([1])).wait().unwrap();
    assert!(found_in(folder.path(), b"Zephyrine"), "else this test proves nothing");

    store.write(vec![Record::ErasePerson(erased.athlete)]).wait().unwrap();
    assert!(!found_in(folder.path(), b"Zephyrine"));
    assert_eq!(store.people(CLASS).unwrap().len(), 500);
    assert_eq!(store.questions(CLASS).unwrap(), []);
    assert_eq!(store.grant(token).unwrap(), None);
    assert_eq!(store.load(CLASS).unwrap(), entries([1]));
}

/// Whether any file of a folder holds these bytes.
fn found_in(folder: &Path, bytes: &[u8]) -> bool {
    std::fs::read_dir(folder).unwrap().any(|file| {
        let content = std::fs::read(file.unwrap().path()).unwrap();
        content.windows(bytes.len()).any(|window| window == bytes)
    })
}

/// Opens a folder that cannot be opened, and checks that the error names it and what to do.
fn refused(folder: &Path, says: &str) {
    let text = Store::open(folder).unwrap_err().to_string();
    assert!(text.contains(says) && text.contains(folder.to_str().unwrap()), "{text}");
    assert!(text.ends_with('.') && text.matches(". ").count() == 0, "one sentence: {text}");
}

fn database(folder: &TempDir) -> PathBuf {
    folder.path().join("floorbell.db")
}

#[test]
fn one_folder_has_one_server() {
    let folder = folder();
    let first = with_class(&folder);
    refused(folder.path(), "Another floorbell server");
    first.append(CLASS, entries([1])).wait().unwrap();
    drop(first);
    assert_eq!(open(&folder).load(CLASS).unwrap(), entries([1]));
}

#[test]
fn a_later_versions_folder_is_left_as_it_is() {
    let folder = folder();
    drop(with_class(&folder));
    let later = Connection::open(database(&folder)).unwrap();
    // It was killed, so that its last change still stands in the log.
    later.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true).unwrap();
    later.pragma_update(None, "user_version", 99).unwrap();
    drop(later);
    let content = || {
        ["floorbell.db", "floorbell.db-wal"].map(|f| std::fs::read(folder.path().join(f)).unwrap())
    };
    let before = content();
    refused(folder.path(), "later version of floorbell (data version 99");
    assert!(content() == before);
}

#[test]
fn an_earlier_versions_folder_is_brought_up_and_loses_nothing() {
    let folder = folder();
    drop(with_class(&folder));
    let tables = |connection: &Connection| -> Vec<(String, String)> {
        let mut sql = connection
            .prepare("SELECT name, sql FROM sqlite_schema WHERE sql NOTNULL ORDER BY name")
            .unwrap();
        let rows = sql.query_map([], |row| Ok((row.get(0)?, row.get(1)?))).unwrap();
        rows.map(Result::unwrap).collect()
    };
    let earlier = Connection::open(database(&folder)).unwrap();
    let now = tables(&earlier);
    // The tables of version 1, with a wall that was let in.
    earlier
        .execute_batch(
            "DROP TABLE paired;
             CREATE TABLE walls (
                 device        BLOB PRIMARY KEY NOT NULL,
                 number        INTEGER NOT NULL,
                 accepted_wall INTEGER NOT NULL
             ) STRICT;
             INSERT INTO walls VALUES (x'00000000000000000000000000000008', 2, 11);
             INSERT INTO grants
             VALUES (zeroblob(32), 'wall', x'00000000000000000000000000000008', NULL, NULL, 11, 11);
             PRAGMA user_version = 1;",
        )
        .unwrap();
    drop(earlier);

    let paired = Paired { kind: PairedKind::Wall, device: DeviceId(Uuid::from_u128(8)) };
    for _ in 0..2 {
        let store = open(&folder);
        let accepted = WallTime::from_micros(11);
        assert_eq!(store.pairings().unwrap(), [Pairing { paired, number: 2, accepted }]);
        let grant = store.grant(TokenHash([0; 32])).unwrap().unwrap();
        assert_eq!(grant.holder, Holder::Paired(paired));
        assert_eq!(store.classes().unwrap().len(), 1);
    }
    assert_eq!(tables(&Connection::open(database(&folder)).unwrap()), now);
}

#[test]
fn another_programs_database_is_left_as_it_is() {
    let folder = folder();
    let other = Connection::open(database(&folder)).unwrap();
    other.execute_batch("CREATE TABLE boats (name TEXT)").unwrap();
    drop(other);
    let before = std::fs::read(database(&folder)).unwrap();
    refused(folder.path(), "belongs to another program");
    assert_eq!(std::fs::read(database(&folder)).unwrap(), before);
}

#[test]
fn a_file_that_is_garbage_or_torn_is_named() {
    let folder = folder();
    std::fs::write(database(&folder), "not a database, ".repeat(1_000)).unwrap();
    refused(folder.path(), "damaged or not a database");

    let folder = self::folder();
    drop(with_class(&folder));
    let whole = std::fs::read(database(&folder)).unwrap();
    std::fs::write(database(&folder), &whole[..whole.len() / 2]).unwrap();
    refused(folder.path(), "damaged or not a database");
}

#[test]
fn a_folder_that_cannot_be_made_is_named() {
    let folder = folder();
    let file = folder.path().join("file");
    std::fs::write(&file, "").unwrap();
    refused(&file.join("data"), "cannot be used");
}
