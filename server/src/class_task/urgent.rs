//! Stop and hold. They have a way of their own past whatever else waits, and reach the screens even
//! when the disk refuses: what cannot be on disk within a moment is shown as not yet saved and
//! written as soon as the disk takes it, dated as of when it was called.

use std::time::Duration;

use floorbell_core::class::clock::Clock;
use floorbell_core::class::command::{Actor, Call, Command, Seen};
use floorbell_core::class::event::Event;
use floorbell_core::class::refusal::Refusal;
use floorbell_core::ids::RequestId;
use floorbell_core::time::HouseTime;
use floorbell_core::wire::{Outcome, ToDevice};
use tokio::time::Instant;

use super::Task;
use super::errand::{Answer, No, Reply, Yes};
use super::turn::{Moment, Turn};
use crate::house::outlet::{Outlet, encode};

/// How long a stop or hold waits for the disk before it is shown without. A sync takes some
/// milliseconds; the notice has to stand on every screen 200 ms after the touch (rule 1.8).
const GRACE: Duration = Duration::from_millis(50);

/// Unsaved stops and holds that are kept: the clock is held by the first, and each further one is
/// the same wish from another device or touch.
const UNSAVED_MAX: usize = 16;

/// The stop notice is sent so often, so far apart, for a datagram that is lost on the air is sent
/// again only after a time-out.
const STOP_TIMES: u32 = 3;
const STOP_APART: Duration = Duration::from_millis(10);

/// A stop or hold, as it comes from a coach device.
#[derive(Debug)]
pub(crate) struct Urgent {
    pub(crate) id: RequestId,
    pub(crate) call: Call,
    pub(crate) seen: Seen,
    pub(crate) by: Actor,
    pub(crate) outlet: Outlet,
}

/// One that is not on disk yet.
#[derive(Debug)]
pub(super) struct Unsaved {
    urgent: Urgent,
    /// When the server took it: the instant at which class time stands still.
    taken: HouseTime,
    /// The clock that it brings.
    clock: Clock,
    /// When it is shown, saved or not.
    show_at: Instant,
    shown: bool,
}

impl Unsaved {
    /// When it is to be shown, unless it has been.
    pub(super) fn waits_until(&self) -> Option<Instant> {
        (!self.shown).then_some(self.show_at)
    }

    fn stops(&self) -> bool {
        self.urgent.call == Call::Stop
    }
}

impl Urgent {
    fn command(&self) -> Command {
        Command::Call { id: self.id, call: self.call, seen: self.seen }
    }

    pub(crate) fn answer(&self, outcome: Outcome) {
        self.outlet.send(&ToDevice::Answer { to: self.id, outcome });
    }
}

impl Task {
    /// Takes a stop or hold. The next turn writes it, and that is tried at once.
    pub(super) fn take_urgent(&mut self, urgent: Urgent) {
        if let Some(known) = self.unsaved.iter_mut().find(|it| it.urgent.id == urgent.id) {
            if known.shown {
                urgent.answer(Outcome::NotYetSaved);
            }
            // The device may have come back on another connection.
            known.urgent = urgent;
            return;
        }
        let taken = self.clock.now();
        match self.clock_after(taken, &urgent) {
            Err(refusal) => urgent.answer(No::from(refusal).into()),
            // It was carried out before.
            Ok(None) => urgent.answer(Yes::Done.into()),
            Ok(Some(_)) if self.unsaved.len() >= UNSAVED_MAX => {
                urgent.answer(Outcome::NotYetSaved);
            }
            Ok(Some(clock)) => {
                let show_at = Instant::now() + GRACE;
                self.unsaved.push(Unsaved { urgent, taken, clock, show_at, shown: false });
            }
        }
    }

    /// The clock that a stop or hold brings; none where it was carried out before.
    fn clock_after(&self, now: HouseTime, urgent: &Urgent) -> Result<Option<Clock>, Refusal> {
        // Held already, though not on disk: class time stands where the first one put it.
        if let Some(first) = self.unsaved.last() {
            let stopped = first.clock.stopped || urgent.call == Call::Stop;
            return Ok(Some(Clock { stopped, ..first.clock.clone() }));
        }
        let class = &self.working.class;
        let events = class.decide(now, urgent.by, urgent.command())?;
        Ok(events.into_iter().find_map(|event| match event {
            Event::Called { phase, stopped, .. } => {
                let mut clock = Clock { phase, stopped, ..class.clock() };
                clock.revision.0 += 1;
                Some(clock)
            }
            _ => None,
        }))
    }

    /// Shows what the disk has kept waiting for too long.
    pub(super) fn show_unsaved(&mut self) {
        let now = Instant::now();
        for index in 0..self.unsaved.len() {
            let unsaved = &mut self.unsaved[index];
            if unsaved.shown || unsaved.show_at > now {
                continue;
            }
            unsaved.shown = true;
            let clock = unsaved.clock.clone();
            unsaved.urgent.answer(Outcome::NotYetSaved);
            if unsaved.stops() {
                self.send_stop(clock.clone(), false);
                self.views.stop_shown(&clock, &self.feed);
            }
            self.feed.publish_clock(clock);
        }
    }

    /// The clock that is shown although it is not on disk.
    pub(super) fn unsaved_clock(&self) -> Option<Clock> {
        self.unsaved.iter().rfind(|unsaved| unsaved.shown).map(|unsaved| unsaved.clock.clone())
    }

    /// Has everything unsaved shown at once, for the disk has refused.
    pub(super) fn hurry_unsaved(&mut self) {
        for unsaved in &mut self.unsaved {
            unsaved.show_at = Instant::now();
        }
    }

    /// Works out anew what clock the unsaved stops and holds bring, now that the state has been
    /// rebuilt from disk.
    pub(super) fn decide_unsaved_again(&mut self) {
        for mut unsaved in std::mem::take(&mut self.unsaved) {
            match self.clock_after(unsaved.taken, &unsaved.urgent) {
                Ok(Some(clock)) => {
                    unsaved.clock = clock;
                    self.unsaved.push(unsaved);
                }
                // The disk had it after all.
                Ok(None) => unsaved.urgent.answer(Yes::Done.into()),
                Err(refusal) => unsaved.urgent.answer(No::from(refusal).into()),
            }
        }
    }

    /// Puts all unsaved stops and holds into a turn, each as of when it was taken.
    pub(super) fn write_unsaved(&mut self, turn: &mut Turn) {
        let wall = self.clock.wall();
        for unsaved in &self.unsaved {
            let moment = Moment { house: unsaved.taken, wall };
            let Urgent { by, id, outlet, .. } = &unsaved.urgent;
            let result = self.working.command(moment, *by, unsaved.urgent.command(), turn);
            let reply = Reply::Device(outlet.clone(), *id);
            turn.answers.push(Answer { reply, result });
        }
        turn.urgent = self.unsaved.len();
    }

    /// The first `count` unsaved stops and holds are on disk; their answers are sent with the turn.
    pub(super) fn saved_unsaved(&mut self, count: usize) {
        let stopped = self.unsaved.drain(..count).any(|unsaved| unsaved.stops());
        let clock = self.working.class.clock();
        if stopped && clock.stopped {
            self.send_stop(clock, true);
        }
    }

    /// Sends the stop notice to all who follow the class, never held back or merged.
    fn send_stop(&self, clock: Clock, saved: bool) {
        let text = encode(&ToDevice::Stop { clock, saved });
        let outlets = self.devices.followers(self.working.record.id);
        let send = move || outlets.iter().for_each(|outlet| outlet.send_encoded(text.clone()));
        send();
        tokio::spawn(async move {
            for _ in 1..STOP_TIMES {
                tokio::time::sleep(STOP_APART).await;
                send();
            }
        });
    }
}
