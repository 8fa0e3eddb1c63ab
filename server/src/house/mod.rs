//! The house while the server runs: which classes it follows, who follows them, and how to come in.
//!
//! [`House`] is what the web routes call. It is a handle: clones are the same house. What the
//! connections have to know of it stands in one watched value, the [`Lobby`]; each connection
//! brings itself in line with it whenever it changes.

mod anchors;
mod desk;
pub(crate) mod devices;
pub(crate) mod lobby;
mod open;
pub(crate) mod outlet;
mod pairing;
pub(crate) mod rate;
mod types;

use std::fmt;
use std::sync::{Arc, Mutex, PoisonError};

use axum::extract::ws::{Utf8Bytes, WebSocketUpgrade};
use axum::response::Response;
use floorbell_core::class::command::{Actor, Choice};
use floorbell_core::ids::{AthleteId, ClassId, DeviceId, Generation};
use tokio::sync::{oneshot, watch};
use tokio::task::JoinHandle;
use uuid::Uuid;

use self::devices::Devices;
use self::lobby::Lobby;
use self::outlet::Goodbye;
use self::pairing::WaitingList;
use crate::access::{ClassCode, TokenHash};
use crate::class_task::{Audience, ClassHandle, Deed, Errand, Reply, Surroundings};
use crate::clock::HouseClock;
use crate::socket;
use crate::store::{Record, Setting, Store, StoreError};

pub use self::types::{HouseProblem, Identity, Joined, Look, Newcomer, OpenClass, Settings};

/// The house while the server runs.
#[derive(Clone)]
pub struct House {
    inner: Arc<Inner>,
}

struct Inner {
    store: Arc<Store>,
    surroundings: Surroundings,
    /// Becomes true when the server stops.
    stopping: watch::Sender<bool>,
    lobby: watch::Sender<Lobby>,
    waiting: WaitingList,
    /// The house's address for others, without a path.
    base: String,
    generation: Generation,
    /// What coaches are told about how the server came back, until the next class opens.
    came_back: Mutex<Option<String>>,
    /// What coaches are shown.
    coach: watch::Sender<Utf8Bytes>,
    /// Held while a class is opened: one at a time.
    opening: tokio::sync::Mutex<()>,
    /// Class tasks and the house's own.
    tasks: Mutex<Vec<JoinHandle<()>>>,
}

/// The end of a server that stops (RFC 6455, 7.4.1).
const GOING_AWAY: Goodbye =
    Goodbye { code: 1001, reason: "The server stops. This device comes back by itself." };

impl House {
    /// The settings.
    pub fn settings(&self) -> Settings {
        self.inner.lobby.borrow().settings.clone()
    }

    /// Sets them, for every device that comes from now on and the ones that follow already.
    pub async fn set_settings(&self, settings: Settings) -> Result<(), HouseProblem> {
        let records = vec![
            Record::Setting(Setting::HouseName(settings.house.to_string())),
            Record::Setting(Setting::StopNotice(settings.emergency.clone())),
            Record::Setting(Setting::Places(settings.places)),
        ];
        self.inner.store.write(records).await?;
        self.inner.lobby.send_modify(|lobby| lobby.settings = settings);
        Ok(())
    }

    /// The class that is open.
    pub fn current(&self) -> Option<OpenClass> {
        self.open_now().map(|class| OpenClass {
            class: class.id,
            title: class.session(Audience::Everyone).title.clone(),
            code: class.code,
            address: class.address.clone(),
        })
    }

    fn open_now(&self) -> Option<Arc<ClassHandle>> {
        self.inner.lobby.borrow().open().cloned()
    }

    fn by_code(&self, code: ClassCode) -> Result<Arc<ClassHandle>, HouseProblem> {
        self.open_now().filter(|class| class.code == code).ok_or(HouseProblem::NoSuchClass)
    }

    /// What a phone that knows the code is shown before joining.
    pub fn look(&self, code: &ClassCode) -> Result<Look, HouseProblem> {
        let class = self.by_code(*code)?;
        Ok(Look {
            class: class.id,
            session: class.session(Audience::Everyone).clone(),
            expected: class.feed.coach().borrow().expected.clone(),
        })
    }

    /// Somebody comes in by the class code. The caller then makes them a token.
    pub async fn join(
        &self,
        code: &ClassCode,
        who: Newcomer,
        choice: Option<Choice>,
        at_home: bool,
    ) -> Result<Joined, HouseProblem> {
        let class = self.by_code(*code)?;
        // The class makes the id of somebody new.
        come(&class, AthleteId(Uuid::nil()), Deed::ComeIn { who, choice, at_home }).await
    }

    /// Somebody comes in by their personal link, whose token is the athlete's own; it does no harm
    /// if they are in already.
    pub async fn join_personal(
        &self,
        class: ClassId,
        athlete: AthleteId,
    ) -> Result<Joined, HouseProblem> {
        let open = self.open_now().filter(|open| open.id == class);
        let open = open.ok_or(HouseProblem::NoSuchClass)?;
        come(&open, athlete, Deed::ComeByLink(athlete)).await
    }

    /// Ends the connections of a sign-in.
    pub fn signed_out(&self, session: &TokenHash) {
        const SIGNED_OUT: Goodbye = Goodbye { code: 1008, reason: "Signed out." };
        self.devices().end(SIGNED_OUT, |identity| match identity {
            Identity::Coach { session: of } => of == session,
            Identity::Paired { .. } | Identity::Athlete { .. } => false,
        });
    }

    /// Takes a connection over.
    pub fn follow(
        &self,
        upgrade: WebSocketUpgrade,
        identity: Identity,
    ) -> Result<Response, HouseProblem> {
        socket::follow(self.clone(), upgrade, identity)
    }

    /// Tells every device that the server goes away, and ends the class tasks once what they write
    /// is on disk.
    pub async fn shut_down(&self) {
        self.inner.stopping.send_replace(true);
        self.devices().end(GOING_AWAY, |_| true);
        let tasks = std::mem::take(&mut *self.tasks());
        for task in tasks {
            if let Err(error) = task.await {
                tracing::error!(%error, "a task of the house has failed");
            }
        }
    }

    pub(crate) fn is_stopping(&self) -> bool {
        *self.inner.stopping.borrow()
    }

    pub(crate) fn clock(&self) -> &HouseClock {
        &self.inner.surroundings.clock
    }

    pub(crate) fn devices(&self) -> &Arc<Devices> {
        &self.inner.surroundings.devices
    }

    pub(crate) fn generation(&self) -> Generation {
        self.inner.generation
    }

    pub(crate) fn lobby(&self) -> watch::Receiver<Lobby> {
        self.inner.lobby.subscribe()
    }

    /// What coaches are shown; always the newest alone.
    pub(crate) fn coach_view(&self) -> watch::Receiver<Utf8Bytes> {
        self.inner.coach.subscribe()
    }

    /// The class that a device follows.
    pub(crate) fn class_of(&self, identity: &Identity) -> Option<Arc<ClassHandle>> {
        self.inner.lobby.borrow().class_of(identity).cloned()
    }

    /// The class that an athlete is in, of those that are followed.
    pub(crate) fn class_with(&self, athlete: AthleteId) -> Option<Arc<ClassHandle>> {
        self.inner.lobby.borrow().class_with(athlete).cloned()
    }

    fn tasks(&self) -> std::sync::MutexGuard<'_, Vec<JoinHandle<()>>> {
        self.inner.tasks.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Keeps a task until the house is shut down.
    fn keep(&self, task: JoinHandle<()>) {
        let mut tasks = self.tasks();
        tasks.retain(|task| !task.is_finished());
        tasks.push(task);
    }
}

/// Lets somebody into a class.
async fn come(class: &ClassHandle, athlete: AthleteId, deed: Deed) -> Result<Joined, HouseProblem> {
    let (answer, joined) = oneshot::channel();
    // Coming in is recorded without the device, which is not known yet.
    let by = Actor::Athlete { athlete, device: DeviceId(Uuid::nil()) };
    class.ask(Errand { by, deed, reply: Reply::Came(answer) });
    joined.await.unwrap_or(Err(HouseProblem::NoSuchClass))
}

impl From<StoreError> for HouseProblem {
    fn from(error: StoreError) -> Self {
        Self::Disk(error.to_string())
    }
}

impl fmt::Debug for House {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("House").field("lobby", &*self.inner.lobby.borrow()).finish_non_exhaustive()
    }
}
