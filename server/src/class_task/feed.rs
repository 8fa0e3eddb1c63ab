//! What a class shows, encoded once for all who follow it.
//!
//! A change goes out as one frame, through a channel that keeps the last few: whoever has fallen
//! further behind, or is new, takes the newest full state instead, which is encoded once for each
//! audience when the first of them asks. An athlete's own view and the coach's part stand in cells
//! that hold the newest alone.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

use axum::extract::ws::Utf8Bytes;
use floorbell_core::class::clock::Clock;
use floorbell_core::ids::{AthleteId, ClassId, DeviceId, Revision};
use floorbell_core::name::Name;
use floorbell_core::session::Session;
use floorbell_core::wire::{
    Frame, Join, Now, OwnView, Person, Question, Reading, Row, State, TabletView, TakeBack,
    ToDevice,
};
use tokio::sync::{broadcast, watch};

use crate::house::outlet::encode;

/// Frames that a connection may be behind by before it gets the full state instead: a quarter of a
/// second of a busy class. More would be a backlog, fewer would send the much larger state to
/// screens that merely stuttered.
const FRAMES_BEHIND_MAX: usize = 16;

/// Who looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Audience {
    /// Coach devices.
    Coach,
    /// Walls and phones, to whom cues and the coach's notes are not sent.
    Everyone,
}

/// The session as each audience has it.
#[derive(Debug)]
pub(crate) struct Sessions {
    coach: Session,
    everyone: Session,
}

impl Sessions {
    pub(crate) fn new(session: &Session) -> Self {
        Self { coach: session.clone(), everyone: for_everyone(session) }
    }

    pub(crate) fn of(&self, audience: Audience) -> &Session {
        match audience {
            Audience::Coach => &self.coach,
            Audience::Everyone => &self.everyone,
        }
    }
}

/// A session without what only coaches see.
fn for_everyone(session: &Session) -> Session {
    let mut session = session.clone();
    for block in &mut session.blocks {
        block.cues.clear();
        block.coach_notes.clear();
    }
    session
}

/// All that is shown of a class, as of one frame.
#[derive(Debug)]
pub(crate) struct Snapshot {
    pub(crate) number: u64,
    pub(crate) now: Now,
    class: ClassId,
    sessions: Arc<Sessions>,
    join: Option<Join>,
    encoded: [OnceLock<Utf8Bytes>; 2],
}

impl Snapshot {
    /// The full state as text, encoded by the first who needs it.
    pub(crate) fn encoded(&self, audience: Audience) -> Utf8Bytes {
        let cell = match audience {
            Audience::Coach => &self.encoded[0],
            Audience::Everyone => &self.encoded[1],
        };
        let encoded = cell.get_or_init(|| {
            encode(&ToDevice::State(Box::new(State {
                number: self.number,
                class: self.class,
                session: self.sessions.of(audience).clone(),
                join: self.join.clone(),
                now: self.now.clone(),
            })))
        });
        encoded.clone()
    }
}

/// A frame as text.
#[derive(Clone, Debug)]
pub(crate) struct Numbered {
    pub(crate) number: u64,
    pub(crate) text: Utf8Bytes,
}

/// What the class itself knows of the coach's view.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct CoachPart {
    pub(crate) take_back: Option<TakeBack>,
    pub(crate) people: Vec<Arc<Person>>,
    /// Who said that they will come and is not here yet.
    pub(crate) expected: Vec<(AthleteId, Name)>,
    /// How somebody's work stands out.
    pub(crate) readings: Vec<Reading>,
    pub(crate) questions: Vec<Question>,
    /// For whom each tally tablet counts.
    pub(crate) tablets: BTreeMap<DeviceId, Vec<AthleteId>>,
    /// What is wrong with this class's disk.
    pub(crate) warning: Option<String>,
    /// Whether the class is closed.
    pub(crate) closed: bool,
    /// The clock revision that brought the stop notice, while it stands.
    pub(crate) stop: Option<Revision>,
}

/// Where a class publishes and connections look.
#[derive(Debug)]
pub(crate) struct Feed {
    snapshot: watch::Sender<Arc<Snapshot>>,
    frames: broadcast::Sender<Numbered>,
    own: Mutex<BTreeMap<AthleteId, watch::Sender<Utf8Bytes>>>,
    /// Tally tablets that follow the class or were ever to count in it.
    tablets: Mutex<BTreeMap<DeviceId, watch::Sender<Utf8Bytes>>>,
    coach: watch::Sender<Arc<CoachPart>>,
}

impl Feed {
    /// A feed whose first state is `now`.
    pub(crate) fn new(
        class: ClassId,
        sessions: Arc<Sessions>,
        join: Option<Join>,
        now: Now,
    ) -> Self {
        let snapshot =
            Snapshot { number: 0, now, class, sessions, join, encoded: Default::default() };
        Self {
            snapshot: watch::Sender::new(Arc::new(snapshot)),
            frames: broadcast::Sender::new(FRAMES_BEHIND_MAX),
            own: Mutex::default(),
            tablets: Mutex::default(),
            coach: watch::Sender::default(),
        }
    }

    /// The newest state.
    pub(crate) fn snapshot(&self) -> Arc<Snapshot> {
        Arc::clone(&self.snapshot.borrow())
    }

    /// Frames from now on. Ask for these before the snapshot that they build on; those up to its
    /// number are in it already.
    pub(crate) fn frames(&self) -> broadcast::Receiver<Numbered> {
        self.frames.subscribe()
    }

    /// An athlete's own view, if they are in the class. The cell closes when they are taken out.
    pub(crate) fn own(&self, athlete: AthleteId) -> Option<watch::Receiver<Utf8Bytes>> {
        self.owns().get(&athlete).map(watch::Sender::subscribe)
    }

    /// What a tally tablet is shown: at first nobody.
    pub(crate) fn tablet(&self, tablet: DeviceId) -> watch::Receiver<Utf8Bytes> {
        let nobody = || watch::Sender::new(encode(&ToDevice::Tablet(Box::default())));
        self.tablets().entry(tablet).or_insert_with(nobody).subscribe()
    }

    /// The class's part of the coach's view.
    pub(crate) fn coach(&self) -> watch::Receiver<Arc<CoachPart>> {
        self.coach.subscribe()
    }

    /// Shows `now` to everyone, as far as it differs from what they see.
    pub(crate) fn publish(&self, now: Now) {
        let last = self.snapshot();
        // A frame cannot say that the class has not begun after all (a start taken back): the gap
        // in the numbers has everyone take the full state.
        let unbegun = last.now.started.is_some() && now.started.is_none();
        let number = last.number + if unbegun { 2 } else { 1 };
        let Some(frame) = changes(&last.now, &now, number) else { return };
        let text = encode(&ToDevice::Frame(Box::new(frame)));
        self.snapshot.send_replace(Arc::new(Snapshot {
            number,
            class: last.class,
            sessions: Arc::clone(&last.sessions),
            // A closed class lets nobody in.
            join: last.join.clone().filter(|_| !now.closed),
            now,
            encoded: Default::default(),
        }));
        // An error says that nobody looks.
        let _ = self.frames.send(Numbered { number, text });
    }

    /// Shows a clock that is not on disk yet, with everything else as it was.
    pub(crate) fn publish_clock(&self, clock: Clock) {
        self.publish(Now { clock, ..self.snapshot().now.clone() });
    }

    /// Shows an athlete their own view.
    pub(crate) fn publish_own(&self, view: OwnView) {
        let athlete = view.athlete;
        let text = encode(&ToDevice::Own(Box::new(view)));
        show(self.owns().entry(athlete), &text);
    }

    /// Shows a tally tablet those whom it counts for.
    pub(crate) fn publish_tablet(&self, tablet: DeviceId, view: TabletView) {
        let text = encode(&ToDevice::Tablet(Box::new(view)));
        show(self.tablets().entry(tablet), &text);
    }

    /// Ends the own views of those who were taken out.
    pub(crate) fn keep_own(&self, stays: impl Fn(AthleteId) -> bool) {
        self.owns().retain(|athlete, _| stays(*athlete));
    }

    /// Shows coaches the class's part of their view.
    pub(crate) fn publish_coach(&self, part: CoachPart) {
        self.coach.send_if_modified(|shown| {
            let changed = **shown != part;
            if changed {
                *shown = Arc::new(part);
            }
            changed
        });
    }

    fn owns(&self) -> MutexGuard<'_, BTreeMap<AthleteId, watch::Sender<Utf8Bytes>>> {
        // Each change is one call on the map; a panic elsewhere leaves it whole.
        self.own.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn tablets(&self) -> MutexGuard<'_, BTreeMap<DeviceId, watch::Sender<Utf8Bytes>>> {
        self.tablets.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Shows a view in its cell if it is another one.
fn show<K: Ord>(cell: Entry<'_, K, watch::Sender<Utf8Bytes>>, view: &Utf8Bytes) {
    cell.or_insert_with(|| watch::Sender::new(view.clone()))
        .send_if_modified(|shown| std::mem::replace(shown, view.clone()) != *view);
}

/// What leads from one state to the next; nothing where they are the same.
fn changes(from: &Now, to: &Now, number: u64) -> Option<Frame> {
    let old: BTreeMap<AthleteId, &Row> = from.rows.iter().map(|row| (row.athlete, row)).collect();
    let rows: Vec<Row> = to
        .rows
        .iter()
        .filter(|row| old.get(&row.athlete).is_none_or(|old| old != row))
        .cloned()
        .collect();
    let stays = |athlete: AthleteId| to.rows.iter().any(|row| row.athlete == athlete);
    let gone = old.keys().copied().filter(|&athlete| !stays(athlete)).collect();
    let frame = Frame {
        number,
        clock: (from.clock != to.clock).then(|| to.clock.clone()),
        segments: (from.segments != to.segments).then(|| to.segments.clone()),
        swaps: (from.swaps != to.swaps).then(|| to.swaps.clone()),
        started: to.started.filter(|_| from.started != to.started),
        closed: (from.closed != to.closed).then_some(to.closed),
        rows,
        gone,
    };
    (frame != Frame { number, ..Frame::default() }).then_some(frame)
}
