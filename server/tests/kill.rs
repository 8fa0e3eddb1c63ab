//! The store's promise held against `kill -9`: whatever was acknowledged before it is there after.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};

use floorbell_core::ids::{ClassId, Seq};
use floorbell_core::time::HouseTime;
use floorbell_server::access::ClassCode;
use floorbell_server::clock::WallTime;
use floorbell_server::store::{Class, Entry, Record, Store};
use uuid::Uuid;

const CLASS: ClassId = ClassId(Uuid::from_u128(1));

/// Names the folder to the process that is going to be killed.
const FOLDER: &str = "FLOORBELL_TEST_KILL_FOLDER";

#[test]
fn what_was_acknowledged_survives_a_kill() {
    let folder = tempfile::tempdir().unwrap();
    let mut writer = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "append_until_killed", "--ignored", "--nocapture"])
        .env(FOLDER, folder.path())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut kept = BufReader::new(writer.stdout.take().unwrap())
        .lines()
        .filter_map(|line| line.unwrap().strip_prefix("kept ")?.parse::<u64>().ok());
    assert_eq!(kept.by_ref().find(|seq| *seq == 50), Some(50));
    writer.kill().unwrap();
    // What it still said before it died counts too.
    let acknowledged = kept.last().unwrap_or(50);
    assert!(!writer.wait().unwrap().success());

    let entries = Store::open(folder.path()).unwrap().load(CLASS).unwrap();
    assert!(entries.len() as u64 >= acknowledged, "{} of {acknowledged}", entries.len());
}

/// Not a test of its own: the process that the test above kills.
#[test]
#[ignore = "appends until it is killed"]
fn append_until_killed() {
    let folder = std::env::var_os(FOLDER).expect("run by the test above");
    let store = Store::open(Path::new(&folder)).unwrap();
    let class = Class {
        id: CLASS,
        title: "Tide Tables".into(),
        sheet: "tide-tables".into(),
        sheet_version: 1,
        code: ClassCode::random(),
        opened: HouseTime::default(),
        opened_wall: WallTime::from_micros(0),
        closed: None,
    };
    store.write(vec![Record::Class(class)]).wait().unwrap();
    for seq in 1.. {
        let entry = Entry { seq: Seq(seq), at: HouseTime::from_micros(1), json: "{}".into() };
        store.append(CLASS, vec![entry]).wait().unwrap();
        println!("kept {seq}");
    }
}
