//! Opening: the house itself when the server starts, with the classes that it was in the middle of,
//! and a new class from a sheet.

use std::sync::{Arc, Mutex};

use axum::extract::ws::Utf8Bytes;
use floorbell_core::class::Class;
use floorbell_core::class::command::{Actor, Call, Command, Seen};
use floorbell_core::class::event::Stamped;
use floorbell_core::ids::{ClassId, DeviceId, RequestId, Seq};
use floorbell_core::name::Name;
use floorbell_core::session::Session;
use floorbell_core::time::Span;
use tokio::sync::watch;
use uuid::Uuid;

use super::devices::Devices;
use super::lobby::{CLASSES_MAX, Lobby};
use super::pairing::WaitingList;
use super::{House, HouseProblem, Inner, OpenClass, Settings, anchors, desk};
use crate::access::{ClassCode, random_id};
use crate::class_task::{self, ClassHandle, Journal, Surroundings, Writing, entry, rebuild};
use crate::clock::{HouseClock, Start};
use crate::store::{self, Record, Store, StoreError};

/// What a house is called until it is named.
const UNNAMED: &str = "The house";

/// What the stop notice says until it is written.
const NO_NOTICE: &str = "Stop. Call the local emergency number if someone is hurt.";

/// A closed class is taken up again after a restart if it was opened within this: the phones of
/// its day may still bring taps.
const SAME_DAY: Span = Span::from_mins(12 * 60);

impl House {
    /// Takes the house up again where it was left. `base` is its address for others, such as
    /// `http://10.0.0.7:8460`; `how` says how house time came back.
    pub async fn start(
        store: Arc<Store>,
        clock: HouseClock,
        how: Start,
        base: &str,
    ) -> Result<Self, StoreError> {
        let journal = Arc::clone(&store);
        Self::start_with(store, journal, clock, how, base).await
    }

    /// The same with a disk for the class tasks that may be another than the store itself.
    pub(crate) async fn start_with(
        store: Arc<Store>,
        journal: Arc<dyn Journal>,
        clock: HouseClock,
        how: Start,
        base: &str,
    ) -> Result<Self, StoreError> {
        let kept = store.settings()?;
        let name = kept.house_name.and_then(|name| Name::new(&name).ok());
        let settings = Settings {
            house: name.unwrap_or_else(|| Name::new(UNNAMED).expect("a name")),
            emergency: kept.stop_notice.unwrap_or_else(|| NO_NOTICE.to_owned()),
            places: kept.places,
        };
        let paired = store.pairings()?.into_iter().map(|it| (it.paired, it.number)).collect();
        let (stopping, seen) = watch::channel(false);
        let devices = Arc::new(Devices::default());
        let surroundings = Surroundings { clock, journal, devices, stopping: seen };
        let house = Self {
            inner: Arc::new(Inner {
                store,
                surroundings,
                stopping,
                lobby: watch::Sender::new(Lobby::new(settings, paired)),
                waiting: WaitingList::default(),
                base: base.to_owned(),
                generation: kept.generation,
                came_back: Mutex::default(),
                coach: watch::Sender::new(Utf8Bytes::default()),
                opening: tokio::sync::Mutex::default(),
                tasks: Mutex::default(),
            }),
        };
        anchors::write(&house).await?;
        house.take_up(how).await?;
        house.keep(tokio::spawn(anchors::run(house.clone())));
        desk::renew(&house);
        house.keep(tokio::spawn(desk::run(house.clone())));
        Ok(house)
    }

    /// Takes up the latest classes.
    async fn take_up(&self, how: Start) -> Result<(), StoreError> {
        let since = self.clock().now() - SAME_DAY;
        let mut latest = self.inner.store.classes()?;
        latest.retain(|class| class.closed.is_none() || class.opened >= since);
        latest.truncate(CLASSES_MAX);
        for mut record in latest.into_iter().rev() {
            let on_disk = self.inner.surroundings.journal.load(record.id)?;
            if on_disk.entries.is_empty() {
                // The server ended between the record and the opening.
                continue;
            }
            let (mut class, people) = rebuild(record.id, on_disk)?;
            if class.closed() {
                // The server may have ended between the closing and the record of it.
                record.closed.get_or_insert(class.last_at());
                self.inner.store.write(vec![Record::Class(record.clone())]).await?;
            } else {
                self.say_how(how);
                if matches!(how, Start::WallRanBackwards { .. }) {
                    self.hold(record.id, &mut class).await?;
                }
            }
            self.follow_class((class, people), record);
        }
        Ok(())
    }

    /// Holds a class that ran while nobody can say for how long.
    async fn hold(&self, id: ClassId, class: &mut Class) -> Result<(), StoreError> {
        let clock = class.clock();
        let seen = Seen { segment: clock.phase.segment(), revision: clock.revision };
        let hold = Command::Call { id: RequestId(random_id()), call: Call::Hold, seen };
        // The house itself acts as a coach device of no id.
        let by = Actor::Coach { device: DeviceId(Uuid::nil()) };
        // Refused where nothing runs.
        let events = class.decide(class.last_at(), by, hold).unwrap_or_default();
        let mut entries = Vec::new();
        for event in events {
            let stamped = class.stamp(class.last_at(), event);
            class.apply(&stamped);
            entries.push(entry(&stamped));
        }
        let writing = Writing { entries, ..Writing::default() };
        self.inner.surroundings.journal.write(id, writing).await
    }

    fn say_how(&self, how: Start) {
        let text = match how {
            Start::First | Start::Continued => return,
            Start::Rebuilt { away } => format!(
                "The server's machine was started anew. By its clock that took {away}, and the \
                 class clock has gone on as if nothing had happened: compare it with your watch."
            ),
            Start::WallRanBackwards { by } => format!(
                "The server's machine was started anew and its clock was wrong, by {by} at least. \
                 The class is held where it was last known: set the machine's clock right, then \
                 resume or jump."
            ),
        };
        *self.came_back() = Some(text);
    }

    /// Opens a class of a sheet.
    ///
    /// # Panics
    /// Never: a class follows from its opening.
    pub async fn open_class(
        &self,
        sheet: &str,
        session: Session,
    ) -> Result<OpenClass, HouseProblem> {
        let _turn = self.inner.opening.lock().await;
        if self.open_now().is_some() {
            return Err(HouseProblem::ClassOpen);
        }
        let now = self.clock().now();
        let record = store::Class {
            id: ClassId(random_id()),
            title: session.title.clone(),
            sheet: sheet.to_owned(),
            sheet_version: self.inner.store.sheet(sheet)?.map_or(0, |sheet| sheet.version),
            code: ClassCode::random(),
            opened: now,
            opened_wall: self.clock().wall(),
            closed: None,
        };
        let opening = Stamped { seq: Seq(1), at: now, event: Class::opening(session) };
        let class = Class::opened(&opening).expect("an opening opens a class");
        let writing = Writing {
            before: vec![Record::Class(record.clone())],
            entries: vec![entry(&opening)],
            after: Vec::new(),
        };
        self.inner.surroundings.journal.write(record.id, writing).await?;
        *self.came_back() = None;
        let people = class_task::People::new(record.id, Vec::new(), Vec::new());
        self.follow_class((class, people), record);
        self.current().ok_or(HouseProblem::NoSuchClass)
    }

    /// Starts the task of a class and has everyone follow it.
    fn follow_class(&self, class: (Class, class_task::People), record: store::Class) {
        let surroundings = self.inner.surroundings.clone();
        let (handle, task) = class_task::spawn(surroundings, class, record, &self.inner.base);
        self.keep(task);
        self.keep(tokio::spawn(let_go_once_closed(self.clone(), Arc::clone(&handle))));
        self.inner.lobby.send_modify(|lobby| lobby.opened(handle));
    }
}

/// Has coaches, walls and tally tablets let go of a class once it is closed: what the lobby says of it is then
/// another thing.
async fn let_go_once_closed(house: House, class: Arc<ClassHandle>) {
    let mut part = class.feed.coach();
    let mut stopping = house.inner.stopping.subscribe();
    // What it brings is let go of at once: connections look at it while they hold the lobby.
    let closed = async { part.wait_for(|part| part.closed).await.is_ok() };
    tokio::select! {
        _ = closed => house.inner.lobby.send_modify(|_| {}),
        _ = stopping.wait_for(|stopping| *stopping) => {}
    }
}
