//! The sums of the journal, worked out without the program's own counting: each tap of the work that
//! was measured counts one, for its athlete, in the order in which the journal has them.

use std::collections::{BTreeMap, BTreeSet};
use std::io;
use std::path::Path;

use floorbell_core::ids::AthleteId;
use rusqlite::{Connection, OpenFlags};
use serde_json::Value;
use uuid::Uuid;

/// Whose count each tap of the journal is.
pub(crate) struct Sums(Vec<AthleteId>);

/// What came of holding boards against the journal.
pub(crate) struct Held {
    /// Taps in the journal, each once.
    pub(crate) taps: usize,
    /// Boards that show the sums as they were after some event, never before that of the last.
    pub(crate) right: usize,
}

impl Sums {
    /// Reads the journal in a data folder, while the server runs.
    pub(crate) fn of(data: &Path) -> io::Result<Self> {
        Self::read(data).map_err(io::Error::other)
    }

    fn read(data: &Path) -> rusqlite::Result<Self> {
        let database = Connection::open_with_flags(
            data.join("floorbell.db"),
            OpenFlags::SQLITE_OPEN_READ_ONLY,
        )?;
        let mut events = database.prepare("SELECT event FROM journal ORDER BY class, seq")?;
        let mut ids = BTreeSet::new();
        let mut taps = Vec::new();
        for event in events.query_map([], |row| row.get::<_, String>(0))? {
            let event: Value = serde_json::from_str(&event?).unwrap_or_default();
            if event["event"] != "tapped" {
                continue;
            }
            let text = |field: &str| event["tap"][field].as_str().unwrap_or_default().to_owned();
            if ids.insert(text("id")) {
                taps.push(AthleteId(Uuid::parse_str(&text("athlete")).unwrap_or_default()));
            }
        }
        Ok(Self(taps))
    }

    /// Goes through the journal and the boards side by side.
    pub(crate) fn hold_against(&self, boards: &[Vec<(AthleteId, u32)>]) -> Held {
        let mut shown: BTreeMap<AthleteId, u32> = BTreeMap::new();
        let mut sums: BTreeMap<AthleteId, u32> = BTreeMap::new();
        let (mut next, mut right) = (0, 0);
        for board in boards {
            shown.extend(board.iter().copied());
            let of = |all: &BTreeMap<AthleteId, u32>, who| all.get(&who).copied().unwrap_or(0);
            let everyone: BTreeSet<AthleteId> = shown.keys().chain(sums.keys()).copied().collect();
            let mut unlike =
                everyone.iter().filter(|who| of(&shown, **who) != of(&sums, **who)).count();
            while unlike > 0 && next < self.0.len() {
                let athlete = self.0[next];
                let sum = sums.entry(athlete).or_default();
                let before = of(&shown, athlete) == *sum;
                *sum += 1;
                let after = of(&shown, athlete) == *sum;
                next += 1;
                match (before, after) {
                    (true, false) => unlike += 1,
                    (false, true) => unlike -= 1,
                    _ => {}
                }
            }
            right += usize::from(unlike == 0);
        }
        Held { taps: self.0.len(), right }
    }
}
