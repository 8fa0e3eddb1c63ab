//! The load: phones that tap by the clock, and walls that note when they show it.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use floorbell_client::follow::{Follower, News};
use floorbell_core::class::command::Counts;
use floorbell_core::ids::{AthleteId, SegmentIndex, TapId};
use floorbell_core::score::Tally;
use floorbell_core::time::DeviceTime;
use floorbell_core::wire::{Row, ToDevice};
use floorbell_tests::people::{Coach, Phone, Wall};
use tokio::sync::watch;
use tokio::task::JoinSet;
use tokio::time::{Instant, MissedTickBehavior, interval_at};

/// An athlete's count, by its number from 1.
type Count = (AthleteId, u32);

/// When something happened to each count, on the clock that all devices of this process share.
pub(crate) type Times = Arc<Mutex<BTreeMap<Count, DeviceTime>>>;

/// What one wall has shown, frame by frame: the rows that changed.
pub(crate) type Boards = Arc<Mutex<Vec<Vec<(AthleteId, u32)>>>>;

/// Devices that follow a class, each on its own task, until this is dropped.
pub(crate) struct Load {
    /// When each count was tapped.
    pub(crate) tapped: Times,
    /// When each wall had heard of it.
    shown: Vec<Times>,
    /// What each wall has shown.
    pub(crate) boards: Vec<Boards>,
    /// The longest that any phone took from a tap to being told that it is kept.
    pub(crate) kept_after: Arc<Mutex<Vec<Duration>>>,
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
        (work, counts): (SegmentIndex, Counts),
        every: Duration,
    ) -> Self {
        let (go, going) = watch::channel(false);
        let mut devices = JoinSet::new();
        let tapped = Times::default();
        let kept_after = Arc::default();
        let apart = every / u32::try_from(phones.len().max(1)).unwrap_or(u32::MAX);
        let mut offset = Duration::ZERO;
        for phone in phones {
            let noted = (Arc::clone(&tapped), Arc::clone(&kept_after));
            let what = (work, counts);
            devices.spawn(tap_by_the_clock(phone, what, (offset, every), going.clone(), noted));
            offset += apart;
        }
        let (mut shown, mut boards) = (Vec::new(), Vec::new());
        for wall in walls {
            let (times, board) = (Times::default(), Boards::default());
            shown.push(Arc::clone(&times));
            boards.push(Arc::clone(&board));
            devices.spawn(note_what_shows(wall.follower, times, board));
        }
        devices.spawn(async move {
            let mut coach = coach;
            loop {
                coach.follower.next().await;
            }
        });
        Self { tapped, shown, boards, kept_after, go, _devices: devices }
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
    (work, counts): (SegmentIndex, Counts),
    (offset, every): (Duration, Duration),
    going: watch::Receiver<bool>,
    (tapped, kept_after): (Times, Arc<Mutex<Vec<Duration>>>),
) {
    let mut turn = interval_at(Instant::now() + offset, every);
    turn.set_missed_tick_behavior(MissedTickBehavior::Skip);
    let mut number = 0;
    let mut waiting: BTreeMap<TapId, DeviceTime> = BTreeMap::new();
    loop {
        tokio::select! {
            news = phone.follower.next() => {
                if let News::Heard(ToDevice::Kept { tap, .. }) = news
                    && let Some(made) = waiting.remove(&tap)
                {
                    let after = floorbell_client::now() - made;
                    let after = Duration::from_micros(after.as_micros().unsigned_abs());
                    lock(&kept_after).push(after);
                }
            }
            _ = turn.tick() => if *going.borrow() {
                number += 1;
                let now = floorbell_client::now();
                lock(&tapped).insert((phone.athlete, number), now);
                waiting.insert(phone.tap(work, counts), now);
            }
        }
    }
}

async fn note_what_shows(mut wall: Follower, times: Times, boards: Boards) {
    loop {
        let News::Heard(message) = wall.next().await else { continue };
        let now = floorbell_client::now();
        match message {
            ToDevice::Frame(frame) => note(&times, &boards, &frame.rows, now),
            ToDevice::State(state) => note(&times, &boards, &state.now.rows, now),
            _ => {}
        }
    }
}

/// Notes each count of each row that had not been shown before.
fn note(times: &Times, boards: &Boards, rows: &[Row], now: DeviceTime) {
    let mut times = lock(times);
    let mut board = Vec::new();
    for row in rows {
        let Some(Tally::Rounds { rounds: counted, .. } | Tally::Count { amount: counted }) =
            row.scores.first().and_then(|score| score.tally)
        else {
            continue;
        };
        board.push((row.athlete, counted));
        for number in (1..=counted).rev() {
            if times.contains_key(&(row.athlete, number)) {
                break;
            }
            times.insert((row.athlete, number), now);
        }
    }
    lock(boards).push(board);
}

/// Locks; a task that panicked with the lock has left whole entries behind.
pub(crate) fn lock<T>(noted: &Mutex<T>) -> MutexGuard<'_, T> {
    noted.lock().unwrap_or_else(PoisonError::into_inner)
}
