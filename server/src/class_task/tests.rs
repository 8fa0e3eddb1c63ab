//! The class task on a disk in memory and on paused time: waiting costs nothing, and "nothing
//! comes" can be seen.

use std::time::Duration;

use floorbell_core::class::clock::{Clock, Phase};
use floorbell_core::class::command::{Actor, Call, Command, Counts, Seen, Tap};
use floorbell_core::class::event::Stamped;
use floorbell_core::ids::TapId;
use floorbell_core::ids::{AthleteId, ClassId, DeviceId, RequestId, Revision, SegmentIndex, Seq};
use floorbell_core::name::Name;
use floorbell_core::score::Tally;
use floorbell_core::time::Span;
use floorbell_core::wire::{NameShown, Outcome, Role, ToDevice};
use tokio::sync::oneshot;
use tokio::time::timeout;

use super::*;
use crate::access::{ClassCode, Token, random_id};
use crate::house::devices::Seat;
use crate::house::outlet::{Inlet, Must, Outlet};
use crate::house::{Identity, Newcomer};
use crate::store;
use crate::testing::{Gate, TestDisk, TestJournal, clock, session};

/// The talk, its lead-in to the work, and the work of the test session.
const TALK: SegmentIndex = SegmentIndex(0);
const WORK: SegmentIndex = SegmentIndex(2);

/// A class on a floor of its own.
struct Floor {
    handle: Arc<ClassHandle>,
    disk: Arc<TestDisk>,
    clock: HouseClock,
    devices: Arc<Devices>,
    stopping: watch::Sender<bool>,
    task: JoinHandle<()>,
}

impl Floor {
    async fn open() -> Self {
        let (disk, clock) = (TestDisk::new(), clock());
        let id = ClassId(random_id());
        let event = Class::opening(session());
        let opening = Stamped { seq: Seq(1), at: clock.now(), event };
        let writing = Writing { entries: vec![entry(&opening)], ..Writing::default() };
        TestJournal(Arc::clone(&disk)).write(id, writing).await.unwrap();
        Self::on(disk, clock, id)
    }

    /// The class that is on disk.
    fn on(disk: Arc<TestDisk>, clock: HouseClock, id: ClassId) -> Self {
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
    async fn restarted(self, away: Duration) -> Self {
        self.stopping.send_replace(true);
        self.task.await.unwrap();
        tokio::time::sleep(away).await;
        Self::on(self.disk, self.clock, self.handle.id)
    }

    async fn join(&self, name: &str) -> AthleteId {
        let (answer, joined) = oneshot::channel();
        let who = Newcomer::Named(Name::new(name).unwrap());
        let deed = Deed::ComeIn { who, choice: None, at_home: false };
        let by = Actor::Coach { device: DeviceId(random_id()) };
        self.handle.ask(Errand { by, deed, reply: Reply::Came(answer) });
        joined.await.unwrap().unwrap().athlete
    }

    fn coach(&self) -> Device {
        let session = Token::random().hash();
        self.device(Identity::Coach { session }, Role::Coach)
    }

    fn wall(&self) -> Device {
        let wall = DeviceId(random_id());
        let role = Role::Wall { accepted: true, number: 1 };
        self.device(Identity::Wall { wall, accepted: true }, role)
    }

    fn phone(&self, athlete: AthleteId) -> Device {
        let identity = Identity::Athlete { class: self.handle.id, athlete };
        self.device(identity, Role::Athlete { athlete })
    }

    fn device(&self, identity: Identity, role: Role) -> Device {
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
    fn class_time(&self) -> Span {
        match self.clock_shown().phase {
            Phase::Running { anchor, at_anchor, .. } => at_anchor + (self.clock.now() - anchor),
            other => panic!("{other:?}"),
        }
    }

    fn clock_shown(&self) -> Clock {
        self.handle.feed.snapshot().now.clock.clone()
    }

    /// The class in its work, started just now, with a coach at hand.
    async fn working() -> (Self, Device) {
        let floor = Self::open().await;
        let mut coach = floor.coach();
        assert_eq!(coach.call(Call::Start).await, DONE);
        assert_eq!(coach.call(Call::Jump { to: WORK }).await, DONE);
        // A jump into work gives people a lead-in.
        tokio::time::sleep(Duration::from_secs(10)).await;
        (floor, coach)
    }
}

const DONE: Outcome = Outcome::Done { link: None };

/// A device that is connected to a class.
struct Device {
    handle: Arc<ClassHandle>,
    by: Actor,
    outlet: Outlet,
    inlet: Inlet,
    _seat: Seat,
}

impl Device {
    fn seen(&self) -> Seen {
        let clock = self.handle.feed.snapshot().now.clock.clone();
        Seen { segment: clock.phase.segment(), revision: clock.revision }
    }

    fn send(&self, id: RequestId, deed: Deed) {
        let reply = Reply::Device(self.outlet.clone(), id);
        self.handle.ask(Errand { by: self.by, deed, reply });
    }

    fn send_call(&self, id: RequestId, call: Call) {
        let seen = self.seen();
        if matches!(call, Call::Stop | Call::Hold) {
            let (by, outlet) = (self.by, self.outlet.clone());
            self.handle.ask_urgently(Urgent { id, call, seen, by, outlet });
        } else {
            self.send(id, Deed::Command(Command::Call { id, call, seen }));
        }
    }

    async fn call(&mut self, call: Call) -> Outcome {
        let id = request();
        self.send_call(id, call);
        self.answer(id).await
    }

    async fn ask(&mut self, deed: Deed) -> Outcome {
        let id = request();
        self.send(id, deed);
        self.answer(id).await
    }

    fn send_tap(&self, tap: &Tap) {
        let reply = Reply::Tap(self.outlet.clone(), tap.athlete, tap.id);
        let command = Command::Tap { tap: tap.clone(), connected_since: tap.made_at };
        self.handle.ask(Errand { by: self.by, deed: Deed::Command(command), reply });
    }

    async fn next(&mut self) -> ToDevice {
        match self.inlet.musts.recv().await {
            Some(Must::Text(text)) => serde_json::from_str(text.as_str()).unwrap(),
            other => panic!("{other:?}"),
        }
    }

    /// The answer to a request, past whatever else comes.
    async fn answer(&mut self, id: RequestId) -> Outcome {
        loop {
            match self.next().await {
                ToDevice::Answer { to, outcome } if to == id => return outcome,
                _ => {}
            }
        }
    }

    /// Whether nothing comes, however long one waits.
    async fn hears_nothing(&mut self) -> bool {
        timeout(Duration::from_secs(10), self.next()).await.is_err()
    }
}

fn request() -> RequestId {
    RequestId(random_id())
}

fn tap_of(floor: &Floor, athlete: AthleteId) -> Tap {
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

fn rounds(floor: &Floor, athlete: AthleteId) -> u32 {
    let snapshot = floor.handle.feed.snapshot();
    let row = snapshot.now.rows.iter().find(|row| row.athlete == athlete).unwrap();
    match row.scores[0].tally {
        Some(Tally::Rounds { rounds, .. }) => rounds,
        None => 0,
        other => panic!("{other:?}"),
    }
}

fn is_refused(outcome: &Outcome, expected: &str) -> bool {
    matches!(outcome, Outcome::Refused { code, text } if code == expected && !text.is_empty())
}

#[tokio::test(start_paused = true)]
async fn nothing_is_answered_or_shown_before_it_is_on_disk() {
    let (floor, _coach) = Floor::working().await;
    let athlete = floor.join("Ann").await;
    let mut phone = floor.phone(athlete);
    tokio::time::sleep(Duration::from_secs(20)).await;
    let mut frames = floor.handle.feed.frames();
    floor.disk.set(Gate::Shut);
    let tap = tap_of(&floor, athlete);
    phone.send_tap(&tap);
    // The second comes of the same tap, while the first is on its way to the disk.
    phone.send_tap(&tap);
    assert!(phone.hears_nothing().await);
    assert!(frames.try_recv().is_err());
    assert_eq!(rounds(&floor, athlete), 0);

    floor.disk.set(Gate::Open);
    for _ in 0..2 {
        assert!(matches!(phone.next().await, ToDevice::Kept { tap: kept, .. } if kept == tap.id));
    }
    frames.recv().await.unwrap();
    assert_eq!(rounds(&floor, athlete), 1);
    assert_eq!(floor.disk.events_of("tapped").len(), 1);
}

#[tokio::test(start_paused = true)]
async fn of_two_coaches_who_press_next_the_second_is_told_why() {
    let floor = Floor::open().await;
    let (mut one, mut other) = (floor.coach(), floor.coach());
    assert_eq!(one.call(Call::Start).await, DONE);
    assert_eq!(floor.clock_shown().phase.segment(), Some(TALK));
    let (first, second) = (request(), request());
    one.send_call(first, Call::Next);
    other.send_call(second, Call::Next);
    assert_eq!(one.answer(first).await, DONE);
    let outcome = other.answer(second).await;
    assert!(is_refused(&outcome, "stale"), "{outcome:?}");
    assert_eq!(floor.clock_shown().phase.segment(), Some(SegmentIndex(1)));
}

#[tokio::test(start_paused = true)]
async fn what_is_asked_together_is_written_together() {
    let (floor, _coach) = Floor::working().await;
    let athlete = floor.join("Ann").await;
    let mut phone = floor.phone(athlete);
    let before = floor.disk.writes();
    floor.disk.set(Gate::Shut);
    for _ in 0..50 {
        phone.send_tap(&tap_of(&floor, athlete));
    }
    tokio::task::yield_now().await;
    floor.disk.set(Gate::Open);
    for _ in 0..50 {
        assert!(matches!(phone.next().await, ToDevice::Kept { .. }));
    }
    assert!(floor.disk.writes() - before <= 2, "{}", floor.disk.writes() - before);
    assert_eq!(floor.disk.events_of("tapped").len(), 50);
}

#[tokio::test(start_paused = true)]
async fn when_the_disk_refuses_taps_wait_and_stop_is_shown() {
    let (floor, mut coach) = Floor::working().await;
    let athlete = floor.join("Ann").await;
    let (mut phone, mut wall) = (floor.phone(athlete), floor.wall());
    tokio::time::sleep(Duration::from_secs(20)).await;
    floor.disk.set(Gate::Refusing);
    let tap = tap_of(&floor, athlete);
    phone.send_tap(&tap);
    assert!(matches!(
        phone.next().await,
        ToDevice::NotKept { tap: refused, again: true, .. } if refused == tap.id
    ));
    let outcome = coach.call(Call::Next).await;
    assert!(is_refused(&outcome, "disk"), "{outcome:?}");
    let warning = floor.handle.feed.coach().borrow().warning.clone();
    assert!(warning.is_some_and(|text| text.contains("disk is full")));

    // Stop reaches every screen three times, and the clock stands.
    let (stopped_at, class_time) = (floor.clock.now(), floor.class_time());
    let id = request();
    coach.send_call(id, Call::Stop);
    for device in [&mut wall, &mut phone] {
        for _ in 0..3 {
            assert!(matches!(
                device.next().await,
                ToDevice::Stop { saved: false, clock: Clock { stopped: true, .. } }
            ));
        }
    }
    assert!(floor.clock.now() - stopped_at < Span::from_millis(200));
    assert_eq!(coach.answer(id).await, Outcome::NotYetSaved);
    let shown = floor.clock_shown();
    assert!(matches!(shown.phase, Phase::Held { segment: WORK, .. }) && shown.stopped);
    // A device that asks again is told the same, and nothing is written meanwhile.
    coach.send_call(id, Call::Stop);
    assert_eq!(coach.answer(id).await, Outcome::NotYetSaved);
    tokio::time::sleep(Duration::from_secs(30)).await;
    assert_eq!(floor.clock_shown(), shown);
    assert!(floor.disk.events_of("called").iter().all(|event| event["call"] != "stop"));

    // As soon as the disk takes it, it is written as of when it was called.
    floor.disk.set(Gate::Open);
    assert_eq!(coach.answer(id).await, DONE);
    assert!(matches!(wall.next().await, ToDevice::Stop { saved: true, .. }));
    assert_eq!(floor.clock_shown(), shown);
    let called = floor.disk.events_of("called");
    assert_eq!(called.last().unwrap()["phase"]["class_time"], class_time.as_micros());
    assert_eq!(floor.handle.feed.coach().borrow().warning, None);
    phone.send_tap(&tap);
    loop {
        match phone.next().await {
            ToDevice::Stop { .. } => {}
            kept => break assert!(matches!(kept, ToDevice::Kept { .. }), "{kept:?}"),
        }
    }
}

#[tokio::test(start_paused = true)]
async fn hold_is_shown_when_the_disk_is_slow() {
    let (floor, mut coach) = Floor::working().await;
    let athlete = floor.join("Ann").await;
    let mut phone = floor.phone(athlete);
    tokio::time::sleep(Duration::from_secs(10)).await;
    floor.disk.set(Gate::Shut);
    phone.send_tap(&tap_of(&floor, athlete));
    let id = request();
    let (called_at, revision) = (floor.class_time(), floor.clock_shown().revision);
    coach.send_call(id, Call::Hold);
    assert_eq!(coach.answer(id).await, Outcome::NotYetSaved);
    let shown = floor.clock_shown();
    let Phase::Held { class_time, .. } = shown.phase else { panic!("{shown:?}") };
    assert_eq!(class_time, called_at);
    assert_eq!(shown.revision, Revision(revision.0 + 1));
    assert_eq!(rounds(&floor, athlete), 0, "the tap is not on disk");

    floor.disk.set(Gate::Open);
    assert_eq!(coach.answer(id).await, DONE);
    assert_eq!(floor.clock_shown(), shown);
    assert!(matches!(phone.next().await, ToDevice::Kept { .. }));
    tokio::time::sleep(2 * FRAMES_APART).await;
    assert_eq!(rounds(&floor, athlete), 1);
}

#[tokio::test(start_paused = true)]
async fn a_hold_that_is_written_in_time_is_simply_done() {
    let (floor, mut coach) = Floor::working().await;
    assert_eq!(coach.call(Call::Hold).await, DONE);
    assert!(matches!(floor.clock_shown().phase, Phase::Held { .. }));
    let outcome = coach.call(Call::Hold).await;
    assert!(is_refused(&outcome, "not-now"), "{outcome:?}");
}

#[tokio::test(start_paused = true)]
async fn after_a_failed_write_the_class_is_what_is_on_disk() {
    let (floor, mut coach) = Floor::working().await;
    floor.disk.set(Gate::Refusing);
    let shown = floor.clock_shown();
    assert!(is_refused(&coach.call(Call::Next).await, "disk"));
    floor.disk.set(Gate::Open);
    assert!(is_refused(&coach.call(Call::Next).await, "disk"), "the disk is left alone for 1 s");
    tokio::time::sleep(Duration::from_secs(2)).await;
    assert_eq!(floor.clock_shown(), shown);
    assert_eq!(coach.call(Call::Next).await, DONE);
    assert_ne!(floor.clock_shown(), shown);
}

#[tokio::test(start_paused = true)]
async fn bells_ring_by_themselves_and_those_missed_are_recorded_as_due() {
    let floor = Floor::open().await;
    let mut coach = floor.coach();
    assert_eq!(coach.call(Call::Start).await, DONE);
    assert_eq!(coach.call(Call::Next).await, DONE);
    let Phase::Running { anchor: started, .. } = floor.clock_shown().phase else { panic!() };
    tokio::time::sleep(Duration::from_secs(6)).await;
    assert_eq!(floor.clock_shown().phase.segment(), Some(WORK));
    let due = |event: &serde_json::Value| event["due"].as_i64().unwrap() - started.as_micros();
    assert_eq!(floor.disk.events_of("rang").iter().map(due).collect::<Vec<_>>(), [5_000_000]);

    let floor = floor.restarted(Duration::from_mins(5)).await;
    tokio::time::sleep(Duration::from_secs(1)).await;
    let rang = floor.disk.events_of("rang");
    assert_eq!(rang.iter().map(due).collect::<Vec<_>>(), [5_000_000, 65_000_000, 85_000_000]);
    assert_eq!(floor.clock_shown().phase, Phase::Done);
}

#[tokio::test(start_paused = true)]
async fn a_restart_changes_nothing_that_is_shown() {
    let (floor, mut coach) = Floor::working().await;
    let (ann, bo) = (floor.join("Ann").await, floor.join("Bo").await);
    let shown = NameShown::Initial;
    assert_eq!(coach.ask(Deed::ShowName { athlete: bo, shown }).await, DONE);
    let note = Deed::Note { athlete: ann, first_class: true, told_me: false };
    assert_eq!(coach.ask(note).await, DONE);
    assert_eq!(floor.phone(bo).ask(Deed::Question("Which box?".into())).await, DONE);
    tokio::time::sleep(Duration::from_secs(20)).await;
    let mut phone = floor.phone(ann);
    phone.send_tap(&tap_of(&floor, ann));
    assert!(matches!(phone.next().await, ToDevice::Kept { .. }));
    tokio::time::sleep(Duration::from_millis(100)).await;

    let before = floor.handle.feed.snapshot();
    let names: Vec<_> = before.now.rows.iter().map(|row| row.name.as_str()).collect();
    assert_eq!(names, ["Ann", "B"]);
    let coach_before = floor.handle.feed.coach().borrow().clone();
    assert!(coach_before.people[0].first_class);
    assert_eq!(coach_before.questions[0].text, "Which box?");
    let floor = floor.restarted(Duration::from_secs(1)).await;
    assert_eq!(floor.handle.feed.snapshot().now, before.now);
    let coach_after = floor.handle.feed.coach().borrow().clone();
    assert_eq!(coach_after.people, coach_before.people);
    assert_eq!(coach_after.questions, coach_before.questions);
}

#[tokio::test(start_paused = true)]
async fn a_busy_class_sends_at_most_sixty_frames_a_second_and_they_add_up() {
    let (floor, _coach) = Floor::working().await;
    let mut athletes = Vec::new();
    for number in 0..100 {
        athletes.push(floor.join(&format!("Ann {number}")).await);
    }
    let coach = floor.coach();
    tokio::time::sleep(Duration::from_secs(1)).await;
    let mut last = floor.handle.feed.snapshot().number;
    let mut frames = floor.handle.feed.frames();
    let mut count = 0;
    for athlete in athletes.into_iter().cycle().take(200) {
        coach.send_tap(&tap_of(&floor, athlete));
        tokio::time::sleep(Duration::from_millis(5)).await;
        while let Ok(frame) = frames.try_recv() {
            assert_eq!(frame.number, last + 1);
            (last, count) = (frame.number, count + 1);
        }
    }
    assert!((30..=61).contains(&count), "{count}");
    tokio::time::sleep(Duration::from_secs(1)).await;
    assert_eq!(last + frames.len() as u64, floor.handle.feed.snapshot().number);
}

#[tokio::test(start_paused = true)]
async fn a_request_that_is_sent_again_gets_its_first_answer() {
    let floor = Floor::open().await;
    let mut coach = floor.coach();
    let name = Name::new("Ann").unwrap();
    let add = Deed::Add { name, at_home: true, here: false };
    let id = request();
    coach.send(id, add.clone());
    let first = coach.answer(id).await;
    let Outcome::Done { link: Some(link) } = &first else { panic!("{first:?}") };
    assert!(link.starts_with("/#me="), "{link}");
    coach.send(id, add);
    assert_eq!(coach.answer(id).await, first);
    assert_eq!(floor.handle.feed.coach().borrow().expected.len(), 1);
}

#[tokio::test(start_paused = true)]
async fn who_is_taken_out_is_gone_with_their_name() {
    let floor = Floor::open().await;
    let mut coach = floor.coach();
    let athlete = floor.join("Ann").await;
    let mut own = floor.handle.feed.own(athlete).unwrap();
    assert!(own.borrow_and_update().as_str().contains("Ann"));
    assert_eq!(coach.ask(Deed::Remove(athlete)).await, DONE);
    assert!(own.changed().await.is_err());
    assert!(floor.handle.feed.own(athlete).is_none());
    assert!(floor.handle.feed.snapshot().now.rows.is_empty());
    assert!(floor.handle.feed.coach().borrow().people.is_empty());
    let outcome = coach.ask(Deed::Remove(athlete)).await;
    assert!(is_refused(&outcome, "no-such-athlete"), "{outcome:?}");
}

#[tokio::test(start_paused = true)]
async fn who_is_expected_is_picked_once() {
    let floor = Floor::open().await;
    let mut coach = floor.coach();
    let name = Name::new("Ann").unwrap();
    assert_eq!(coach.ask(Deed::Add { name, at_home: false, here: false }).await, DONE);
    let [(athlete, _)] = floor.handle.feed.coach().borrow().expected[..] else { panic!() };
    let come = || {
        let (answer, joined) = oneshot::channel();
        let who = Newcomer::Expected(athlete);
        let deed = Deed::ComeIn { who, choice: None, at_home: false };
        floor.handle.ask(Errand { by: coach.by, deed, reply: Reply::Came(answer) });
        joined
    };
    assert_eq!(come().await.unwrap().unwrap().athlete, athlete);
    assert!(floor.handle.feed.coach().borrow().expected.is_empty());
    assert!(come().await.unwrap().is_err());
}

#[tokio::test(start_paused = true)]
async fn a_phone_changes_its_own_athlete_alone() {
    let floor = Floor::open().await;
    let (ann, bo) = (floor.join("Ann").await, floor.join("Bo").await);
    let mut phone = floor.phone(ann);
    let shown = NameShown::Nothing;
    assert_eq!(phone.ask(Deed::ShowName { athlete: ann, shown }).await, DONE);
    let outcome = phone.ask(Deed::ShowName { athlete: bo, shown }).await;
    assert!(is_refused(&outcome, "not-yours"), "{outcome:?}");
    let start = Command::Call { id: request(), call: Call::Start, seen: phone.seen() };
    let outcome = phone.ask(Deed::Command(start)).await;
    assert!(is_refused(&outcome, "coach-only"), "{outcome:?}");
    assert_eq!(floor.clock_shown().phase, Phase::Gathering);
}

#[tokio::test(start_paused = true)]
async fn a_start_taken_back_is_shown_to_all() {
    let floor = Floor::open().await;
    let mut coach = floor.coach();
    let id = request();
    coach.send_call(id, Call::Start);
    assert_eq!(coach.answer(id).await, DONE);
    tokio::time::sleep(Duration::from_secs(1)).await;
    let number = floor.handle.feed.snapshot().number;
    let take_back = Command::TakeBack { id: request(), of: id };
    assert_eq!(coach.ask(Deed::Command(take_back)).await, DONE);
    let snapshot = floor.handle.feed.snapshot();
    assert_eq!(snapshot.now.started, None);
    assert!(snapshot.number > number + 1, "the gap has everyone take the full state");
}

#[tokio::test(start_paused = true)]
async fn a_closed_class_takes_late_taps_and_nobody_new() {
    let (floor, mut coach) = Floor::working().await;
    let athlete = floor.join("Ann").await;
    tokio::time::sleep(Duration::from_secs(20)).await;
    let tap = tap_of(&floor, athlete);
    assert_eq!(coach.ask(Deed::Command(Command::Close)).await, DONE);
    assert!(!floor.handle.is_open());
    let mut phone = floor.phone(athlete);
    phone.send_tap(&tap);
    assert!(matches!(phone.next().await, ToDevice::Kept { .. }));
    let name = Name::new("Bo").unwrap();
    let outcome = coach.ask(Deed::Add { name, at_home: false, here: true }).await;
    assert!(is_refused(&outcome, "closed"), "{outcome:?}");
}
