//! The task that owns one class: one loop, one timer, and nobody else touches its state.
//!
//! A turn takes what has been asked since the last one, decides and applies it on the working
//! state, and hands events and records to the disk together. While they are written no other turn
//! begins, and nothing of it is shown or answered; then one frame goes out, and the answers. So
//! nobody is told what a crash could still undo.
//!
//! After a failed write the working state is ahead of the disk: it is rebuilt from there, and what
//! was asked is answered with "not now", never tried again blindly. Stop and hold are the
//! exception, see [`urgent`].

mod disk;
mod errand;
mod feed;
mod handle;
pub(crate) mod journal;
mod people;
mod stream;
mod turn;
mod urgent;
mod views;

#[cfg(test)]
mod tests;

use std::collections::VecDeque;
use std::panic::AssertUnwindSafe;
use std::sync::Arc;
use std::time::Duration;

use floorbell_core::class::Class;
use floorbell_core::ids::RequestId;
use floorbell_core::time::HouseTime;
use floorbell_core::wire::Now;
use futures_util::FutureExt;
use tokio::sync::{mpsc, watch};
use tokio::task::JoinHandle;
use tokio::time::{Instant, sleep_until};

use self::disk::{Disk, Done};
use self::errand::{Answer, Yes};
use self::turn::{Moment, Touched, Turn, Working};
use self::urgent::Unsaved;
use self::views::Views;
use crate::clock::HouseClock;
use crate::house::devices::Devices;
use crate::store::{self, StoreError};

pub(crate) use self::errand::{Deed, Errand, No, Reply};
pub(crate) use self::feed::{CoachPart, Feed};
pub(crate) use self::handle::ClassHandle;
pub(crate) use self::journal::{Journal, Writing, entry, rebuild, stamped};
pub(crate) use self::people::People;
pub(crate) use self::stream::{Audience, Numbered, Pace};
pub(crate) use self::urgent::Urgent;

/// Errands in one turn: enough that the disk is never what limits, few enough that the first of
/// them does not wait long for the decisions on the rest.
const TURN_MAX: usize = 128;

/// Least time between two frames when much happens: what a screen can show.
const FRAMES_APART: Duration = Duration::from_micros(16_667);

/// Least time between two boards on phones: whoever works looks at theirs now and then, and a busy
/// class must not fill a poor network with sixty boards a second for each of them.
const CALM_APART: Duration = Duration::from_millis(250);

/// Answers that are remembered for devices that ask again. They do so within seconds, when they
/// come back from a break; a busy class has some hundred requests a minute.
const ANSWERS_MAX: usize = 256;

/// What the coach is told after a mistake.
const MISTAKE: &str = "The program has made a mistake and goes back to what is on disk. The class \
                       clock goes on; taps wait on the phones. Please report it.";

/// What a class task works with, beside its class.
#[derive(Clone)]
pub(crate) struct Surroundings {
    pub(crate) clock: HouseClock,
    pub(crate) journal: Arc<dyn Journal>,
    pub(crate) devices: Arc<Devices>,
    /// Becomes true when the server stops.
    pub(crate) stopping: watch::Receiver<bool>,
}

/// The task's own state.
struct Task {
    clock: HouseClock,
    journal: Arc<dyn Journal>,
    devices: Arc<Devices>,
    stopping: watch::Receiver<bool>,
    errands: mpsc::Receiver<Errand>,
    urgents: mpsc::Receiver<Urgent>,
    /// Errands that have been received and not yet looked at; empty between two steps of the loop.
    received: Vec<Errand>,

    working: Working,
    disk: Disk,
    /// What is being written.
    in_flight: Turn,
    unsaved: Vec<Unsaved>,
    answers: VecDeque<(RequestId, Result<Yes, No>)>,

    feed: Arc<Feed>,
    views: Views,
    /// Whether the state has changed since the last frame.
    changed: bool,
    last_frame: Option<Instant>,
    /// Whether phones have not seen the newest board.
    calm_behind: bool,
    last_calm: Option<Instant>,
}

/// Starts the task of a class. `address` is where phones come in, without the code.
pub(crate) fn spawn(
    surroundings: Surroundings,
    (class, people): (Class, People),
    record: store::Class,
    address: &str,
) -> (Arc<ClassHandle>, JoinHandle<()>) {
    let Surroundings { clock, journal, devices, stopping } = surroundings;
    let working = Working { class, people, record };
    let (handle, errands, urgents) = handle::open(&working, address);
    let mut task = Task {
        clock,
        journal,
        devices,
        stopping,
        errands,
        urgents,
        received: Vec::new(),
        disk: Disk::Free,
        in_flight: Turn::default(),
        unsaved: Vec::new(),
        answers: VecDeque::new(),
        feed: Arc::clone(&handle.feed),
        views: Views::default(),
        changed: false,
        last_frame: None,
        calm_behind: false,
        last_calm: None,
        working,
    };
    task.show(&Touched::everyone());
    (handle, tokio::spawn(task.run()))
}

impl Task {
    /// Runs to the end of the task, past panics: a mistake in the program costs what was under way,
    /// which devices ask for again, and not the class.
    async fn run(mut self) {
        while AssertUnwindSafe(self.follow()).catch_unwind().await.is_err() {
            tracing::error!(class = %self.working.record.id, "a mistake: the class is rebuilt");
            self.start_over();
        }
    }

    /// Drops what was under way, after which nothing in memory can be trusted, and has the state
    /// rebuilt from disk, not at once: the same mistake again must not keep the machine busy.
    fn start_over(&mut self) {
        self.received.clear();
        self.in_flight = Turn::default();
        self.disk = Disk::refusing("A mistake in the program: try again.".to_owned(), false);
        self.views.warn(Some(MISTAKE.to_owned()), &self.feed);
    }

    async fn follow(&mut self) {
        loop {
            self.on_time();
            let wake = self.wake();
            tokio::select! {
                biased;
                Some(urgent) = self.urgents.recv() => self.take_urgent(urgent),
                done = self.disk.done() => self.disk_done(done),
                () = stopped(&mut self.stopping), if self.disk.is_at_rest() => return,
                count = self.errands.recv_many(&mut self.received, TURN_MAX),
                    if self.disk.is_at_rest() =>
                {
                    // None: the house has let go of the class.
                    if count == 0 {
                        return;
                    }
                    self.take_errands();
                }
                () = sleep_until(wake) => {}
            }
        }
    }

    /// Does what has fallen due.
    fn on_time(&mut self) {
        self.show_unsaved();
        self.disk_on_time();
        if self.frame_due().is_some_and(|due| due <= Instant::now()) {
            self.publish();
        }
        if self.calm_due().is_some_and(|due| due <= Instant::now()) {
            self.feed.publish_calm();
            (self.calm_behind, self.last_calm) = (false, Some(Instant::now()));
        }
        if matches!(self.disk, Disk::Free) {
            let now = self.now();
            let mut turn = Turn::default();
            self.write_unsaved(&mut turn);
            for bell in self.working.class.due(now.house) {
                self.working.happened(now, bell, &mut turn);
            }
            if !turn.is_empty() {
                self.begin(turn);
            }
        }
    }

    /// When something falls due by itself: a bell, a frame, a grace that ends, another try.
    fn wake(&self) -> Instant {
        let bell = self.working.class.next_deadline().filter(|_| matches!(self.disk, Disk::Free));
        let bell = bell.map(|bell| self.instant_of(bell));
        let wakes = [bell, self.frame_due(), self.calm_due(), self.disk.due()];
        let unsaved = self.unsaved.iter().filter_map(Unsaved::waits_until);
        // Nothing due: the loop turns all the same once in a while, which does no harm.
        let far = Instant::now() + Duration::from_hours(1);
        wakes.into_iter().flatten().chain(unsaved).fold(far, Instant::min)
    }

    fn instant_of(&self, time: HouseTime) -> Instant {
        let micros = (time - self.clock.now()).at_least_zero().as_micros();
        Instant::now() + Duration::from_micros(micros.unsigned_abs())
    }

    fn now(&self) -> Moment {
        Moment { house: self.clock.now(), wall: self.clock.wall() }
    }

    /// Makes a turn of what was received, or answers "not now" while the disk refuses.
    fn take_errands(&mut self) {
        let received = std::mem::take(&mut self.received);
        if let Disk::Refusing { why, .. } = &self.disk {
            for Errand { reply, .. } in received {
                reply.no(No::disk(why), true);
            }
            return;
        }
        let now = self.now();
        let mut turn = Turn::default();
        for errand in received {
            if let Reply::Device(_, id) = errand.reply
                && let Some(result) = self.known_answer(id).or_else(|| turn.answered(id))
            {
                let result = result.clone();
                turn.answers.push(Answer { reply: errand.reply, result });
            } else {
                self.working.perform(now, errand, &mut turn);
            }
        }
        self.begin(turn);
    }

    fn known_answer(&self, request: RequestId) -> Option<&Result<Yes, No>> {
        self.answers.iter().find(|(id, _)| *id == request).map(|(_, result)| result)
    }

    /// Sends a turn to the disk, or ends it where there is nothing to write.
    fn begin(&mut self, mut turn: Turn) {
        let writing = std::mem::take(&mut turn.writing);
        if writing.is_empty() {
            return self.settle(turn);
        }
        let done = self.journal.write(self.working.record.id, writing);
        self.disk = Disk::Writing { done, since: Instant::now() };
        self.in_flight = turn;
    }

    /// Ends a turn that is on disk: shows what has changed, then answers, so that whoever has an
    /// answer finds it carried out.
    fn settle(&mut self, turn: Turn) {
        self.saved_unsaved(turn.urgent);
        self.show(&turn.touched);
        for answer in turn.answers {
            if let Reply::Device(_, id) = answer.reply {
                self.answers.push_front((id, answer.result.clone()));
                self.answers.truncate(ANSWERS_MAX);
            }
            let class = &self.working.class;
            answer.send(self.working.record.id, |athlete, tap| class.standing(athlete, tap));
        }
    }

    /// Renews the views of those whom a turn has touched, and the frame as soon as may be: what
    /// calls and bells change for everyone at once, for there are few of them.
    fn show(&mut self, touched: &Touched) {
        if touched.is_nobody() {
            return;
        }
        let now = self.clock.now();
        self.views.renew(&self.working, touched, now, &self.feed);
        if let Some(clock) = self.unsaved_clock() {
            self.views.stop_shown(&clock, &self.feed);
        }
        self.changed = true;
        let at_once = touched.is_everyone() && self.disk.has_working_state();
        if at_once || self.frame_due().is_some_and(|due| due <= Instant::now()) {
            self.publish();
        }
    }

    /// When the next frame is to go out, where there is one: at once when it is quiet. Never while
    /// the working state is ahead of the disk.
    fn frame_due(&self) -> Option<Instant> {
        (self.changed && self.disk.has_working_state())
            .then(|| self.last_frame.map_or_else(Instant::now, |last| last + FRAMES_APART))
    }

    /// When phones are to see the board, where they have not.
    fn calm_due(&self) -> Option<Instant> {
        let due = || self.last_calm.map_or_else(Instant::now, |last| last + CALM_APART);
        self.calm_behind.then(due)
    }

    fn publish(&mut self) {
        let mut now = self.working.shown();
        if let Some(clock) = self.unsaved_clock() {
            now.clock = clock;
        }
        self.calm_behind = !self.feed.publish(now);
        self.changed = false;
        self.last_frame = Some(Instant::now());
    }

    fn disk_done(&mut self, done: Done) {
        match done {
            Done::Written(Ok(())) => {
                self.disk = Disk::Free;
                self.views.warn(None, &self.feed);
                let turn = std::mem::take(&mut self.in_flight);
                self.settle(turn);
            }
            Done::Written(Err(error)) => self.write_failed(&error),
            Done::Loaded(loaded) => self.loaded(loaded),
        }
    }

    fn write_failed(&mut self, error: &StoreError) {
        tracing::error!(class = %self.working.record.id, %error, "a turn was not saved");
        let turn = std::mem::take(&mut self.in_flight);
        // Stops and holds stay to be written, and get their answer then.
        for answer in turn.answers.into_iter().skip(turn.urgent) {
            answer.reply.no(No::disk(error), true);
        }
        self.hurry_unsaved();
        self.views.warn(Some(disk::refuses(error)), &self.feed);
        self.load();
    }

    fn loaded(&mut self, loaded: Result<Box<(Class, People)>, StoreError>) {
        let (why, rebuilt) = match loaded {
            Ok(rebuilt) => {
                let (class, people) = *rebuilt;
                self.working.rebuilt(class, people);
                self.decide_unsaved_again();
                self.show(&Touched::everyone());
                ("The class was rebuilt from disk a moment ago: try again.".to_owned(), true)
            }
            Err(error) => {
                tracing::error!(class = %self.working.record.id, %error, "the journal was not read");
                self.views.warn(Some(disk::refuses(&error)), &self.feed);
                (error.to_string(), false)
            }
        };
        self.disk = Disk::refusing(why, rebuilt);
    }
}

/// Resolves when the server stops.
async fn stopped(stopping: &mut watch::Receiver<bool>) {
    // An error says that the house is gone altogether.
    let _ = stopping.wait_for(|stopping| *stopping).await;
}

impl Working {
    /// What everyone is shown of the class.
    fn shown(&self) -> Now {
        let mut rows = self.class.rows();
        for row in &mut rows {
            row.name = self.people.shown(row.athlete);
        }
        Now {
            clock: self.class.clock(),
            segments: self.class.plan().segments().to_vec(),
            swaps: self.class.swaps(),
            started: self.class.started(),
            closed: self.class.closed(),
            rows,
        }
    }

    /// Goes back to what is on disk.
    fn rebuilt(&mut self, class: Class, people: People) {
        self.record.closed = class.closed().then(|| class.last_at());
        self.class = class;
        self.people = people;
    }
}
