//! A class on a disk in memory, and devices that speak with its task directly.

use std::sync::Arc;
use std::time::Duration;

use floorbell_core::class::Class;
use floorbell_core::class::clock::{Clock, Phase};
use floorbell_core::class::command::{Actor, Call, Command, Counts, Seen, Tap};
use floorbell_core::class::event::Stamped;
use floorbell_core::ids::{AthleteId, ClassId, DeviceId, RequestId, SegmentIndex, Seq, TapId};
use floorbell_core::name::Name;
use floorbell_core::score::Tally;
use floorbell_core::time::{HouseTime, Span};
use floorbell_core::wire::{Outcome, Role, ToDevice};
use tokio::sync::{oneshot, watch};
use tokio::task::JoinHandle;
use tokio::time::timeout;

use crate::access::{ClassCode, Paired, PairedKind, Token, random_id};
use crate::class_task::{
    ClassHandle, Deed, Errand, Journal as _, Reply, Surroundings, Urgent, Writing, entry, rebuild,
    spawn,
};
use crate::clock::HouseClock;
use crate::house::devices::{Devices, Seat};
use crate::house::outlet::{Inlet, Must, Outlet};
use crate::house::{Identity, Newcomer};
use crate::store;
use crate::testing::{TestDisk, TestJournal, clock, session};

/// The talk, its lead-in to the work, and the work of the test session.
pub(super) const TALK: SegmentIndex = SegmentIndex(0);
pub(super) const WORK: SegmentIndex = SegmentIndex(2);

/// A class on a floor of its own.
pub(super) struct Floor {
    pub(super) handle: Arc<ClassHandle>,
    pub(super) disk: Arc<TestDisk>,
    pub(super) clock: HouseClock,
    devices: Arc<Devices>,
    stopping: watch::Sender<bool>,
    task: JoinHandle<()>,
}

impl Floor {
    pub(super) async fn open() -> Self {
        Self::open_by(clock()).await
    }

    /// With house time by a clock of the test's.
    pub(super) async fn open_by(clock: HouseClock) -> Self {
        let disk = TestDisk::new();
        let id = ClassId(random_id());
        let event = Class::opening(session());
        let opening = Stamped { seq: Seq(1), at: clock.now(), event };
        let writing = Writing { entries: vec![entry(&opening)], ..Writing::default() };
        TestJournal(Arc::clone(&disk)).write(id, writing).await.unwrap();
        Self::on(disk, clock, id)
    }

    /// The class that is on disk.
    pub(super) fn on(disk: Arc<TestDisk>, clock: HouseClock, id: ClassId) -> Self {
        let journal = Arc::new(TestJournal(Arc::clone(&disk)));
        let devices = Arc::new(Devices::default());
        let (stopping, seen) = watch::channel(false);
        let class = rebuild(id, journal.load(id).unwrap()).unwrap();
        let record = store::Class {
            id,
            title: "Harbour short".into(),
            sheet: "harbour-short".into(),
            sheet_version: 1,
            code: ClassCode::random(),
            opened: clock.now(),
            opened_wall: clock.wall(),
            closed: None,
        };
        let surroundings = Surroundings {
            clock: clock.clone(),
            journal,
            devices: Arc::clone(&devices),
            stopping: seen,
        };
        let (handle, task) = spawn(surroundings, class, record, "http://house");
        Self { handle, disk, clock, devices, stopping, task }
    }

    /// Ends the task and starts it again from disk, `away` later.
    pub(super) async fn restarted(self, away: Duration) -> Self {
        self.stopping.send_replace(true);
        self.task.await.unwrap();
        tokio::time::sleep(away).await;
        Self::on(self.disk, self.clock, self.handle.id)
    }

    pub(super) async fn join(&self, name: &str) -> AthleteId {
        let (answer, joined) = oneshot::channel();
        let who = Newcomer::Named(Name::new(name).unwrap());
        let deed = Deed::ComeIn { who, choice: None, at_home: false };
        let by = Actor::Coach { device: DeviceId(random_id()) };
        self.handle.ask(Errand { by, deed, reply: Reply::Came(answer) });
        joined.await.unwrap().unwrap().athlete
    }

    pub(super) fn coach(&self) -> Device {
        let session = Token::random().hash();
        self.device(Identity::Coach { session }, Role::Coach)
    }

    pub(super) fn wall(&self) -> Device {
        let paired = Paired { kind: PairedKind::Wall, device: DeviceId(random_id()) };
        let role = Role::Wall { accepted: true, number: 1 };
        self.device(Identity::Paired { paired, accepted: true }, role)
    }

    pub(super) fn phone(&self, athlete: AthleteId) -> Device {
        let identity = Identity::Athlete { class: self.handle.id, athlete };
        self.device(identity, Role::Athlete { athlete })
    }

    pub(super) fn device(&self, identity: Identity, role: Role) -> Device {
        let (outlet, inlet) = Outlet::new();
        let device = DeviceId(random_id());
        let now = self.clock.now();
        let seat = self.devices.connect(identity, device, role, outlet.clone(), now).unwrap();
        let by = match identity {
            Identity::Athlete { athlete, .. } => Actor::Athlete { athlete, device },
            _ => Actor::Coach { device },
        };
        Device { handle: Arc::clone(&self.handle), by, outlet, inlet, _seat: seat }
    }

    /// Class time now, while a segment runs.
    pub(super) fn class_time(&self) -> Span {
        match self.clock_shown().phase {
            Phase::Running { anchor, at_anchor, .. } => at_anchor + (self.clock.now() - anchor),
            other => panic!("{other:?}"),
        }
    }

    pub(super) fn clock_shown(&self) -> Clock {
        self.handle.feed.snapshot().now.clock.clone()
    }

    /// The class in its work, started just now, with a coach at hand.
    pub(super) async fn working() -> (Self, Device) {
        Self::working_by(clock()).await
    }

    /// With house time by a clock of the test's.
    pub(super) async fn working_by(clock: HouseClock) -> (Self, Device) {
        let floor = Self::open_by(clock).await;
        let mut coach = floor.coach();
        assert_eq!(coach.call(Call::Start).await, DONE);
        assert_eq!(coach.call(Call::Jump { to: WORK }).await, DONE);
        // A jump into work gives people a lead-in.
        tokio::time::sleep(Duration::from_secs(10)).await;
        (floor, coach)
    }
}

pub(super) const DONE: Outcome = Outcome::Done { link: None };

/// A device that is connected to a class.
pub(super) struct Device {
    handle: Arc<ClassHandle>,
    pub(super) by: Actor,
    outlet: Outlet,
    inlet: Inlet,
    _seat: Seat,
}

impl Device {
    pub(super) fn seen(&self) -> Seen {
        let clock = self.handle.feed.snapshot().now.clock.clone();
        Seen { segment: clock.phase.segment(), revision: clock.revision }
    }

    pub(super) fn send(&self, id: RequestId, deed: Deed) {
        let reply = Reply::Device(self.outlet.clone(), id);
        self.handle.ask(Errand { by: self.by, deed, reply });
    }

    pub(super) fn send_call(&self, id: RequestId, call: Call) {
        let seen = self.seen();
        if matches!(call, Call::Stop | Call::Hold) {
            let (by, outlet) = (self.by, self.outlet.clone());
            self.handle.ask_urgently(Urgent { id, call, seen, by, outlet });
        } else {
            self.send(id, Deed::Command(Command::Call { id, call, seen }));
        }
    }

    pub(super) async fn call(&mut self, call: Call) -> Outcome {
        let id = request();
        self.send_call(id, call);
        self.answer(id).await
    }

    pub(super) async fn ask(&mut self, deed: Deed) -> Outcome {
        let id = request();
        self.send(id, deed);
        self.answer(id).await
    }

    pub(super) fn send_tap(&self, tap: &Tap) {
        self.send_tap_since(tap, tap.made_at);
    }

    /// Sends a tap on a connection that stands since then.
    pub(super) fn send_tap_since(&self, tap: &Tap, connected_since: HouseTime) {
        let reply = Reply::Tap(self.outlet.clone(), tap.athlete, tap.id);
        let command = Command::Tap { tap: tap.clone(), connected_since };
        self.handle.ask(Errand { by: self.by, deed: Deed::Command(command), reply });
    }

    pub(super) async fn next(&mut self) -> ToDevice {
        match self.inlet.musts.recv().await {
            Some(Must::Text(text)) => serde_json::from_str(text.as_str()).unwrap(),
            other => panic!("{other:?}"),
        }
    }

    /// The answer to a request, past whatever else comes.
    pub(super) async fn answer(&mut self, id: RequestId) -> Outcome {
        loop {
            match self.next().await {
                ToDevice::Answer { to, outcome } if to == id => return outcome,
                _ => {}
            }
        }
    }

    /// Whether nothing comes, however long one waits.
    pub(super) async fn hears_nothing(&mut self) -> bool {
        timeout(Duration::from_secs(10), self.next()).await.is_err()
    }
}

pub(super) fn request() -> RequestId {
    RequestId(random_id())
}

pub(super) fn tap_of(floor: &Floor, athlete: AthleteId) -> Tap {
    Tap {
        id: TapId(random_id()),
        athlete,
        segment: WORK,
        counts: Counts::Round,
        made_at: floor.clock.now(),
        bound: Span::from_millis(5),
        heard: floor.clock_shown().revision,
    }
}

pub(super) fn rounds(floor: &Floor, athlete: AthleteId) -> u32 {
    let snapshot = floor.handle.feed.snapshot();
    let row = snapshot.now.rows.iter().find(|row| row.athlete == athlete).unwrap();
    match row.scores[0].tally {
        Some(Tally::Rounds { rounds, .. }) => rounds,
        None => 0,
        other => panic!("{other:?}"),
    }
}

pub(super) fn is_refused(outcome: &Outcome, expected: &str) -> bool {
    matches!(outcome, Outcome::Refused { code, text } if code == expected && !text.is_empty())
}
