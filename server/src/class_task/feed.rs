//! What a class shows: frames at the two paces at which devices follow it, and single views, which
//! stand in cells that hold the newest alone.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use axum::extract::ws::Utf8Bytes;
use floorbell_core::class::clock::Clock;
use floorbell_core::ids::{AthleteId, ClassId, DeviceId, Revision};
use floorbell_core::name::Name;
use floorbell_core::wire::{
    Join, Now, OwnView, Person, Question, Reading, TabletView, TakeBack, ToDevice,
};
use tokio::sync::{broadcast, watch};

use super::stream::{Numbered, Pace, Sessions, Snapshot, Stream};
use crate::house::outlet::encode;

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
    quick: Stream,
    calm: Stream,
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
        let now = Arc::new(now);
        Self {
            quick: Stream::new(class, Arc::clone(&sessions), join.clone(), Arc::clone(&now)),
            calm: Stream::new(class, sessions, join, now),
            own: Mutex::default(),
            tablets: Mutex::default(),
            coach: watch::Sender::default(),
        }
    }

    /// The newest state.
    pub(crate) fn snapshot(&self) -> Arc<Snapshot> {
        self.quick.snapshot()
    }

    /// The newest state that is shown at a pace.
    pub(crate) fn snapshot_at(&self, pace: Pace) -> Arc<Snapshot> {
        self.stream(pace).snapshot()
    }

    /// Frames from now on. Ask for these before the snapshot that they build on; those up to its
    /// number are in it already.
    pub(crate) fn frames(&self, pace: Pace) -> broadcast::Receiver<Numbered> {
        self.stream(pace).frames()
    }

    fn stream(&self, pace: Pace) -> &Stream {
        match pace {
            Pace::Quick => &self.quick,
            Pace::Calm => &self.calm,
        }
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

    /// Shows `now`, as far as it differs from what is shown: the board to those who follow at the
    /// quick pace alone. Says whether the others have seen it all, too.
    pub(crate) fn publish(&self, now: Now) -> bool {
        let now = Arc::new(now);
        let urgent = self.calm.is_urgent(&now);
        if urgent {
            self.calm.publish(Arc::clone(&now));
        }
        self.quick.publish(now);
        urgent
    }

    /// Shows the board to those who follow at the calm pace.
    pub(crate) fn publish_calm(&self) {
        self.calm.publish(Arc::clone(&self.snapshot().now));
    }

    /// Shows a clock that is not on disk yet, with everything else as it was.
    pub(crate) fn publish_clock(&self, clock: Clock) {
        self.publish(Now { clock, ..Now::clone(&self.snapshot().now) });
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
