//! The server's end: a class by `decide` and `apply`, and a journal of which only what was committed
//! outlives a crash. Answers wait for the commit that they rest on, as in the real class task.

use std::collections::BTreeMap;

use floorbell_core::class::Class;
use floorbell_core::class::clock::Clock;
use floorbell_core::class::command::{Actor, Command};
use floorbell_core::class::event::{Event, Stamped};
use floorbell_core::class::refusal::Refusal;
use floorbell_core::ids::{AthleteId, ClassId, DeviceId, Generation, RequestId, Seq, TapId};
use floorbell_core::score::Scoring;
use floorbell_core::sheet;
use floorbell_core::time::HouseTime;
use floorbell_core::wire::{Ask, Frame, FromDevice, Now, Outcome, Role, State, ToDevice};
use uuid::Uuid;

/// Segments: 0 lead-in, 1 work, 2 rest, 3 work that pairs share, whose bell waits.
const SHEET: &str = "# Simulation\n\n## First tide: AMRAP 3 min\n\n- 5 squat\n- 4 push-up\n\n## Rest 1 min\n\n\
                     ## Second tide: AMRAP 3 min, in pairs\n\n- 5 squat\n- 4 push-up\n";

/// One of the devices, by its place in the world.
pub(crate) type Place = usize;

/// What a device is told once the turn is on disk.
enum Answer {
    Request(RequestId, Outcome),
    Kept(AthleteId, TapId),
    NotKept(TapId, Refusal),
}

pub(crate) struct Server {
    /// What a crash leaves.
    pub(crate) journal: Vec<Stamped>,
    pub(crate) generation: Generation,
    /// So much of the journal was there when people began; the oldest backup holds it.
    pub(crate) begun: usize,
    pub(crate) class: Class,
    pub(crate) up: bool,
    /// Applied, not yet on disk.
    uncommitted: Vec<Stamped>,
    answers: Vec<(Place, Answer)>,
    /// Devices that said hello, and since when they are connected.
    sessions: BTreeMap<Place, HouseTime>,
    /// The clock as it is on disk, which is the one that devices are shown.
    shown: Clock,
    frame: u64,
    roles: Vec<(Actor, Role)>,
}

/// What the server has to say, and to whom.
pub(crate) type Said = Vec<(Place, ToDevice)>;

impl Server {
    /// A class that these have joined, and in which these are teams.
    pub(crate) fn open(
        now: HouseTime,
        roles: Vec<(Actor, Role)>,
        teams: Vec<Vec<AthleteId>>,
    ) -> Self {
        let session = sheet::read(SHEET).session.expect("the sheet is sound");
        let opening = Stamped { seq: Seq(1), at: now, event: Class::opening(session) };
        let class = Class::opened(&opening).expect("an opening");
        let mut server = Self {
            journal: vec![opening],
            generation: Generation(Uuid::from_u128(1)),
            begun: 0,
            shown: class.clock(),
            class,
            up: true,
            uncommitted: Vec::new(),
            answers: Vec::new(),
            sessions: BTreeMap::new(),
            frame: 0,
            roles,
        };
        for (by, role) in server.roles.clone() {
            if let Role::Athlete { athlete } = role {
                let join = Command::Join { athlete, at_home: false };
                let events = server.class.decide(now, by, join).expect("there is room");
                server.happened(now, events);
            }
        }
        let coach = server.roles.last().expect("there is a coach").0;
        let events = server.class.decide(now, coach, Command::Team { teams });
        server.happened(now, events.expect("each is in one team"));
        server.journal.append(&mut server.uncommitted);
        server.begun = server.journal.len();
        server
    }

    /// Whether something waits for the disk.
    pub(crate) fn has_to_commit(&self) -> bool {
        !(self.uncommitted.is_empty() && self.answers.is_empty())
    }

    /// Records the bells that are due.
    pub(crate) fn bells(&mut self, now: HouseTime) {
        let due = self.class.due(now);
        self.happened(now, due);
    }

    fn happened(&mut self, now: HouseTime, events: Vec<Event>) {
        for event in events {
            let stamped = self.class.stamp(now, event);
            self.class.apply(&stamped);
            self.uncommitted.push(stamped);
        }
    }

    /// Takes in a message; what is answered on the spot comes back.
    pub(crate) fn heard(&mut self, now: HouseTime, from: Place, message: FromDevice) -> Said {
        let (by, role) = self.roles[from];
        match message {
            FromDevice::Hello { device } => {
                assert_eq!(device, by.device(), "the device says who it is");
                self.sessions.insert(from, now);
                return vec![(from, self.welcome(role)), (from, self.state())];
            }
            FromDevice::Sync { t0 } => {
                return vec![(from, ToDevice::Sync { t0, t1: now, t2: now })];
            }
            FromDevice::Report { .. } | FromDevice::StopSeen { .. } => {}
            FromDevice::Tap { tap } => {
                let (athlete, id) = (tap.athlete, tap.id);
                let connected_since = *self.sessions.entry(from).or_insert(now);
                let answer = match self.decide(now, by, Command::Tap { tap, connected_since }) {
                    Ok(()) => Answer::Kept(athlete, id),
                    Err(refusal) => Answer::NotKept(id, refusal),
                };
                self.answers.push((from, answer));
            }
            FromDevice::Call { id, call, seen } => {
                self.request(now, from, id, Command::Call { id, call, seen });
            }
            FromDevice::TakeBack { id, of } => {
                self.request(now, from, id, Command::TakeBack { id, of });
            }
            FromDevice::Undo { id, athlete, of } => {
                self.request(now, from, id, Command::Undo { athlete, of });
            }
            FromDevice::Ask { id, ask: Ask::SetTally { athlete, segment, tally } } => {
                self.request(now, from, id, Command::SetTally { athlete, segment, tally });
            }
            FromDevice::Ask { id, ask: Ask::Close } => self.request(now, from, id, Command::Close),
            FromDevice::Ask { ask, .. } => panic!("nobody here asks for {ask:?}"),
        }
        Vec::new()
    }

    fn decide(&mut self, now: HouseTime, by: Actor, command: Command) -> Result<(), Refusal> {
        let events = self.class.decide(now, by, command)?;
        self.happened(now, events);
        Ok(())
    }

    fn request(&mut self, now: HouseTime, from: Place, id: RequestId, command: Command) {
        let outcome = match self.decide(now, self.roles[from].0, command) {
            Ok(()) => Outcome::Done { link: None },
            Err(refusal) => refused(refusal.code()),
        };
        self.answers.push((from, Answer::Request(id, outcome)));
    }

    /// A tap is turned away, as one that comes too fast is.
    pub(crate) fn turn_away(from: Place, tap: TapId) -> Said {
        vec![(from, not_kept(tap, "too-much", true))]
    }

    /// The turn is on disk: what waited for that is said.
    pub(crate) fn commit(&mut self) -> Said {
        self.journal.append(&mut self.uncommitted);
        let mut said = self.frames();
        for (to, answer) in std::mem::take(&mut self.answers) {
            let message = match answer {
                Answer::Request(to, outcome) => ToDevice::Answer { to, outcome },
                Answer::Kept(athlete, tap) => {
                    let standing = self.class.standing(athlete, tap).expect("it was applied");
                    ToDevice::Kept { tap, standing }
                }
                Answer::NotKept(tap, refusal) => not_kept(tap, refusal.code(), false),
            };
            said.push((to, message));
        }
        said
    }

    /// The disk refuses: nothing of the turn has happened, and everybody is to come again.
    pub(crate) fn fail_to_commit(&mut self) -> Said {
        self.rebuild();
        let said = std::mem::take(&mut self.answers).into_iter().map(|(to, answer)| {
            let message = match answer {
                Answer::Request(to, _) => ToDevice::Answer { to, outcome: refused("disk") },
                Answer::Kept(_, tap) | Answer::NotKept(tap, _) => not_kept(tap, "disk", true),
            };
            (to, message)
        });
        said.collect()
    }

    /// Everything but the disk is gone.
    pub(crate) fn crash(&mut self) {
        self.up = false;
        self.answers.clear();
        self.sessions.clear();
    }

    /// Comes up from what is on disk.
    pub(crate) fn start(&mut self) {
        self.up = true;
        self.rebuild();
        self.shown = self.class.clock();
        self.frame = 0;
    }

    /// A backup is put back, which holds so much of the journal; its life is another one.
    pub(crate) fn restore(&mut self, events: usize) {
        self.journal.truncate(events);
        self.generation = Generation(Uuid::from_u128(self.generation.0.as_u128() + 1));
    }

    fn rebuild(&mut self) {
        self.uncommitted.clear();
        self.class = Class::replay(self.journal.iter().cloned()).expect("the journal is whole");
    }

    pub(crate) fn lost(&mut self, who: Place) {
        self.sessions.remove(&who);
    }

    fn welcome(&self, role: Role) -> ToDevice {
        let (house, emergency) = ("Quayside Hall".into(), "Call 112.".into());
        ToDevice::Welcome { role, generation: self.generation, house, emergency, places: true }
    }

    fn state(&self) -> ToDevice {
        let now = Now {
            clock: self.shown.clone(),
            segments: self.class.plan().segments().to_vec(),
            swaps: Vec::new(),
            started: None,
            closed: false,
            rows: Vec::new(),
        };
        ToDevice::State(Box::new(State {
            number: self.frame,
            class: ClassId(Uuid::from_u128(2)),
            session: self.class.session().clone(),
            scoring: self.class.session().blocks.iter().map(Scoring::of).collect(),
            join: None,
            now,
        }))
    }

    /// The clock to everybody, where it is another one.
    fn frames(&mut self) -> Said {
        if self.shown == self.class.clock() {
            return Vec::new();
        }
        self.shown = self.class.clock();
        self.frame += 1;
        let clock = Some(self.shown.clone());
        let frame = Frame { number: self.frame, clock, ..Frame::default() };
        let to_all = self.sessions.keys();
        to_all.map(|&to| (to, ToDevice::Frame(Box::new(frame.clone())))).collect()
    }
}

/// The device of a place.
pub(crate) fn device_id(place: Place) -> DeviceId {
    DeviceId(Uuid::from_u128(0xd000 + place as u128))
}

fn refused(code: &str) -> Outcome {
    Outcome::Refused { code: code.to_owned(), text: "Not now.".to_owned() }
}

fn not_kept(tap: TapId, code: &str, again: bool) -> ToDevice {
    ToDevice::NotKept { tap, code: code.to_owned(), text: "Not now.".to_owned(), again }
}
