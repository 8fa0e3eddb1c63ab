//! The load: phones that tap by the clock, and walls that note when they show it.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use floorbell_client::follow::{Follower, News};
use floorbell_core::class::command::Counts;
use floorbell_core::ids::{AthleteId, SegmentIndex};
use floorbell_core::score::Tally;
use floorbell_core::time::DeviceTime;
use floorbell_core::wire::{Row, ToDevice};
use floorbell_tests::people::{Coach, Phone, Wall};
use tokio::sync::watch;
use tokio::task::JoinSet;
use tokio::time::{Instant, MissedTickBehavior, interval_at};

/// An athlete's round, by its number from 1.
type Round = (AthleteId, u32);

/// When something happened to each round, on the clock that all devices of this process share.
pub(crate) type Times = Arc<Mutex<BTreeMap<Round, DeviceTime>>>;

/// Devices that follow a class, each on its own task, until this is dropped.
pub(crate) struct Load {
    /// When each round was tapped.
    pub(crate) tapped: Times,
    /// When each wall had heard of it.
    shown: Vec<Times>,
    go: watch::Sender<bool>,
    _devices: JoinSet<()>,
}

impl Load {
    /// Sets phones, walls and a coach device to their tasks. Each phone taps once in `every` when
    /// [`Load::tap_for`] lets them, evenly one after the other.
    pub(crate) fn new(
        coach: Coach,
        walls: Vec<Wall>,
        phones: Vec<Phone>,
        work: SegmentIndex,
        every: Duration,
    ) -> Self {
        let (go, going) = watch::channel(false);
        let mut devices = JoinSet::new();
        let tapped = Times::default();
        let apart = every / u32::try_from(phones.len().max(1)).unwrap_or(u32::MAX);
        let mut offset = Duration::ZERO;
        for phone in phones {
            let (tapped, going) = (Arc::clone(&tapped), going.clone());
            devices.spawn(tap_by_the_clock(phone, work, (offset, every), going, tapped));
            offset += apart;
        }
        let mut shown = Vec::new();
        for wall in walls {
            let times = Times::default();
            shown.push(Arc::clone(&times));
            devices.spawn(note_what_shows(wall.follower, times));
        }
        devices.spawn(async move {
            let mut coach = coach;
            loop {
                coach.follower.next().await;
            }
        });
        Self { tapped, shown, go, _devices: devices }
    }

    /// Lets the phones tap for so long, and then waits until the walls have shown it all.
    pub(crate) async fn tap_for(&self, time: Duration) {
        self.tap_while(tokio::time::sleep(time)).await;
    }

    /// The same for as long as something takes.
    pub(crate) async fn tap_while<T>(&self, happens: impl Future<Output = T>) -> T {
        self.go.send_replace(true);
        let happened = happens.await;
        self.go.send_replace(false);
        // A figure that is not there by then is missing from the result, and said to be.
        tokio::time::sleep(Duration::from_secs(2)).await;
        happened
    }

    /// How long each tap took to each wall, and how many were never shown.
    pub(crate) fn delays(&self) -> (Vec<Duration>, usize) {
        let tapped = lock(&self.tapped);
        let mut delays = Vec::new();
        for shown in &self.shown {
            let shown = lock(shown);
            let found = tapped.iter().filter_map(|(round, at)| Some(*shown.get(round)? - *at));
            delays
                .extend(found.map(|delay| Duration::from_micros(delay.as_micros().unsigned_abs())));
        }
        let missing = tapped.len() * self.shown.len() - delays.len();
        (delays, missing)
    }
}

async fn tap_by_the_clock(
    mut phone: Phone,
    work: SegmentIndex,
    (offset, every): (Duration, Duration),
    going: watch::Receiver<bool>,
    tapped: Times,
) {
    let mut turn = interval_at(Instant::now() + offset, every);
    turn.set_missed_tick_behavior(MissedTickBehavior::Skip);
    let mut rounds = 0;
    loop {
        tokio::select! {
            _ = phone.follower.next() => {}
            _ = turn.tick() => if *going.borrow() {
                rounds += 1;
                let now = floorbell_client::now();
                lock(&tapped).insert((phone.athlete, rounds), now);
                phone.tap(work, Counts::Round);
            }
        }
    }
}

async fn note_what_shows(mut wall: Follower, times: Times) {
    loop {
        let News::Heard(message) = wall.next().await else { continue };
        let now = floorbell_client::now();
        match message {
            ToDevice::Frame(frame) => note(&times, &frame.rows, now),
            ToDevice::State(state) => note(&times, &state.now.rows, now),
            _ => {}
        }
    }
}

/// Notes each round of each row that had not been shown before.
fn note(times: &Times, rows: &[Row], now: DeviceTime) {
    let mut times = lock(times);
    for row in rows {
        let tally = row.scores.first().and_then(|score| score.tally);
        let Some(Tally::Rounds { rounds, .. }) = tally else { continue };
        for round in (1..=rounds).rev() {
            if times.contains_key(&(row.athlete, round)) {
                break;
            }
            times.insert((row.athlete, round), now);
        }
    }
}

/// Locks; a task that panicked with the lock has left whole entries behind.
pub(crate) fn lock(times: &Times) -> std::sync::MutexGuard<'_, BTreeMap<Round, DeviceTime>> {
    times.lock().unwrap_or_else(PoisonError::into_inner)
}
