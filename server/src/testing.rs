//! What the tests of the live path share: a clock that runs with the runtime's time, a disk with a
//! gate, a short session.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

use floorbell_core::ids::{AthleteId, ClassId};
use floorbell_core::session::Session;
use floorbell_core::time::Span;
use tokio::sync::watch;
use tokio::time::Instant;

use crate::class_task::journal::{Journal, OnDisk, Under, Writing};
use crate::clock::{HouseClock, Machine, WallTime};
use crate::store::{Entry, Person, Question, Record, StoreError};

/// A machine whose clocks run with the runtime's time, which tests may pause and advance.
#[derive(Debug)]
pub(crate) struct RuntimeMachine {
    booted: Instant,
    /// By how much the boot-time clock and the wall clock are ahead of that.
    ahead: Mutex<(Span, Span)>,
}

impl RuntimeMachine {
    fn new() -> Arc<Self> {
        Arc::new(Self { booted: Instant::now(), ahead: Mutex::default() })
    }

    /// Time passes that the runtime's timers do not see: they fire so much late. A machine that
    /// slept does the same.
    pub(crate) fn slip(&self, span: Span) {
        let mut ahead = self.ahead.lock().unwrap();
        *ahead = (ahead.0 + span, ahead.1 + span);
    }

    /// Somebody sets the wall clock.
    pub(crate) fn step_wall(&self, by: Span) {
        self.ahead.lock().unwrap().1 += by;
    }

    fn passed(&self) -> Span {
        Span::from_micros(self.booted.elapsed().as_micros().try_into().unwrap())
    }
}

/// Long enough ago that nothing in a test lies before it.
const UP: Span = Span::from_mins(60);

impl Machine for RuntimeMachine {
    fn boot_time(&self) -> Span {
        UP + self.passed() + self.ahead.lock().unwrap().0
    }

    fn wall(&self) -> WallTime {
        let since = UP + self.passed() + self.ahead.lock().unwrap().1;
        WallTime::from_micros(1_700_000_000_000_000 + since.as_micros())
    }

    fn boot_id(&self) -> &'static str {
        "test"
    }
}

/// House time from zero on, with the runtime's time.
pub(crate) fn clock() -> HouseClock {
    clock_on_machine().0
}

/// Such a clock, and its machine.
pub(crate) fn clock_on_machine() -> (HouseClock, Arc<RuntimeMachine>) {
    let machine = RuntimeMachine::new();
    (HouseClock::start(Arc::clone(&machine) as Arc<dyn Machine>, None, None).0, machine)
}

/// A talk until next, then a minute of work after a lead-in of 5 s, then a rest of 20 s.
pub(crate) fn session() -> Session {
    let sheet = "# Harbour short\n\n\
                 ## Talk\n\nCues: breathe\n\n\
                 ## Tide: AMRAP 1 min\n\nLead-in: 5 s\nCues: smooth\n\n\
                 - 3 goblet squat\n- 2 push-up\n- 4 alternating step-up\n\n\
                 ## Rest 20 s\n";
    let reading = floorbell_core::sheet::read(sheet);
    reading.session.unwrap_or_else(|| panic!("{:?}", reading.problems))
}

/// A disk in memory. It has a gate: shut, it keeps what is handed to it waiting.
#[derive(Debug)]
pub(crate) struct TestDisk {
    content: Mutex<Content>,
    gate: watch::Sender<Gate>,
}

/// What becomes of what is handed to the disk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Gate {
    /// It is written at once.
    Open,
    /// It waits until the gate is something else.
    Shut,
    /// It is refused: the disk is full.
    Refusing,
    /// A mistake in the program shows, and nothing is written.
    Mistaken,
}

#[derive(Debug, Default)]
struct Content {
    entries: Vec<Entry>,
    people: BTreeMap<AthleteId, Person>,
    questions: BTreeMap<u32, Question>,
    writes: usize,
}

impl TestDisk {
    pub(crate) fn new() -> Arc<Self> {
        Arc::new(Self { content: Mutex::default(), gate: watch::Sender::new(Gate::Open) })
    }

    pub(crate) fn set(&self, gate: Gate) {
        self.gate.send_replace(gate);
    }

    /// The events on disk as JSON.
    pub(crate) fn events(&self) -> Vec<serde_json::Value> {
        let content = self.content.lock().unwrap();
        content.entries.iter().map(|entry| serde_json::from_str(&entry.json).unwrap()).collect()
    }

    /// Those of one kind.
    pub(crate) fn events_of(&self, kind: &str) -> Vec<serde_json::Value> {
        self.events().into_iter().filter(|event| event["event"] == kind).collect()
    }

    /// How many turns were written.
    pub(crate) fn writes(&self) -> usize {
        self.content.lock().unwrap().writes
    }
}

impl Content {
    fn write(&mut self, writing: Writing) {
        self.writes += 1;
        for (expected, entry) in (self.entries.len() as u64 + 1..).zip(&writing.entries) {
            assert_eq!(entry.seq.0, expected, "a gap in the journal");
        }
        self.entries.extend(writing.entries);
        for record in writing.before.into_iter().chain(writing.after) {
            match record {
                Record::Person(person) => drop(self.people.insert(person.athlete, person)),
                Record::ErasePerson(athlete) => drop(self.people.remove(&athlete)),
                Record::Question(question) => {
                    self.questions.insert(question.number, question);
                }
                Record::Class(_) | Record::Grant(_) => {}
                other => panic!("no record of a class: {other:?}"),
            }
        }
    }
}

/// What a journal is written to: this end is shared with the writes that wait.
#[derive(Clone, Debug)]
pub(crate) struct TestJournal(pub(crate) Arc<TestDisk>);

impl Journal for TestJournal {
    fn write(&self, _: ClassId, writing: Writing) -> Under<Result<(), StoreError>> {
        let disk = Arc::clone(&self.0);
        let mut gate = disk.gate.subscribe();
        Box::pin(async move {
            let gate = *gate.wait_for(|gate| *gate != Gate::Shut).await.unwrap();
            match gate {
                Gate::Refusing => return Err(StoreError::DiskFull),
                Gate::Mistaken => panic!("as the test wants it"),
                Gate::Open | Gate::Shut => {}
            }
            disk.content.lock().unwrap().write(writing);
            Ok(())
        })
    }

    fn load(&self, _: ClassId) -> Result<OnDisk, StoreError> {
        let content = self.0.content.lock().unwrap();
        Ok(OnDisk {
            entries: content.entries.clone(),
            people: content.people.values().cloned().collect(),
            questions: content.questions.values().cloned().collect(),
        })
    }
}
