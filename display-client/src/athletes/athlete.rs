//! One simulated person with their phone, doing a class.
//!
//! What they do is planned leg by leg in class time, so a hold moves it by itself. In a team that
//! shares a tally, a leg begins with the tap of whoever had the turn before.

use core::time::Duration;

use floorbell_core::class::command::{Counts, Reached};
use floorbell_core::ids::{MovementIndex, RequestId, SegmentIndex, TapId};
use floorbell_core::time::Span;
use floorbell_core::wire::{Ask, OwnWindow};
use tokio::time::{Instant, sleep_until};

use super::counting::Window;
use super::person::Person;
use crate::chance;
use crate::clock;
use crate::device::Device;
use crate::follow::{Follower, News};

/// How often they look at the clock: finer than anybody taps.
const LOOK_EVERY: Duration = Duration::from_millis(50);
/// Between two touches that were meant as one.
const TOUCHES_APART: Duration = Duration::from_millis(150);

/// One simulated person with their phone.
pub(super) struct Athlete {
    person: Person,
    follower: Follower,
    hurry: f64,
    work: Option<Work>,
    /// When they touch once more by mistake.
    touch_again: Option<Instant>,
    /// When their network comes back.
    network_back: Option<Instant>,
    /// Extra reps that they enter once they have their breath back.
    entry: Option<(Instant, Ask)>,
}

/// A window of work that they are in.
struct Work {
    segment: SegmentIndex,
    /// Rounds or good attempts done.
    done: u32,
    /// Rounds done that they forgot to tap.
    forgotten: u32,
    /// Class time at which their last leg ended.
    free: Span,
    /// None while it is another's turn, and once all is done.
    under_way: Option<UnderWay>,
    /// The team's last tap before their turn, and whether they have tapped since: the turn then
    /// seems theirs until they are told of their own tap.
    after: Option<TapId>,
    tapped: bool,
}

/// A leg of work.
struct UnderWay {
    counts: Counts,
    /// Class time at which it began, and at which it is done.
    began: Span,
    ends: Span,
}

/// Whose turn it is in a window.
enum Turn<'a> {
    /// They work alone.
    Alone,
    /// Theirs, with what their team was told of the window.
    Theirs(&'a OwnWindow),
    /// Somebody else's.
    Other,
}

impl Athlete {
    pub(super) fn new(person: Person, follower: Follower, hurry: f64) -> Self {
        Self {
            person,
            follower,
            hurry,
            work: None,
            touch_again: None,
            network_back: None,
            entry: None,
        }
    }

    /// Does the class, until the house turns them away.
    pub(super) async fn take_part(mut self) {
        let mut look = Instant::now();
        loop {
            tokio::select! {
                news = self.follower.next() => match news {
                    News::TurnedAway(status) => {
                        tracing::debug!(name = self.person.name, status, "turned away");
                        return;
                    }
                    News::Lost(why) => tracing::debug!(name = self.person.name, why, "lost"),
                    News::Connected | News::Heard(_) => {}
                },
                () = sleep_until(look) => {
                    look = Instant::now() + LOOK_EVERY;
                    self.look();
                }
            }
        }
    }

    /// Looks at the clock and does what is to be done.
    fn look(&mut self) {
        if self.network_back.take_if(|back| *back <= Instant::now()).is_some() {
            self.follower.mend();
        }
        if self.touch_again.take_if(|again| *again <= Instant::now()).is_some() {
            self.tap(Counts::Round);
        }
        if let Some((_, ask)) = self.entry.take_if(|(when, _)| *when <= Instant::now()) {
            // With too many requests waiting, the person gives up on this one.
            let _ = self.follower.device_mut().ask(RequestId(chance::id()), ask);
        }
        let now = clock::now();
        let device = self.follower.device();
        let (phase, class_time) = (device.phase(now), device.class_time(now));
        let segment = phase.and_then(|phase| phase.segment());
        if let Some(work) = self.work.take_if(|work| Some(work.segment) != segment) {
            self.finish(&work);
        }
        let (Some(segment), Some(class_time)) = (segment, class_time) else {
            return;
        };
        if self.follower.device().work(now) == Some(segment) {
            self.work_on(segment, class_time);
        }
    }

    fn work_on(&mut self, segment: SegmentIndex, class_time: Span) {
        let device = self.follower.device();
        let Some(window) = window(device, segment) else {
            return;
        };
        // Where class time ran back, the coach has started the work anew.
        let work = self.work.take().filter(|work| class_time >= work.free);
        let mut work = work.unwrap_or_else(|| Work::new(segment, class_time));
        let mut begins = work.under_way.is_none();
        let turn = turn(device, &window, segment);
        match turn {
            Turn::Alone => {}
            Turn::Other => (begins, work.under_way) = (false, None),
            Turn::Theirs(told) => {
                begins &= !(work.tapped && work.after == told.last_tap);
                if begins {
                    (work.after, work.tapped) = (told.last_tap, false);
                    work.free = work.free.max(told.last.unwrap_or_default());
                    work.done = window.rounds_told(told).saturating_add(work.forgotten);
                }
            }
        }
        if begins {
            let rested = !matches!(turn, Turn::Alone);
            let leg = window.next(&mut self.person, work.done, work.free, rested);
            work.under_way = leg.map(|leg| UnderWay {
                counts: leg.counts,
                began: work.free,
                ends: work.free + Span::from_micros((leg.secs.max(0.0) * 1e6) as i64),
            });
        }
        if let Some(leg) = work.under_way.take_if(|leg| class_time >= leg.ends) {
            self.leg_done(&mut work, &leg);
        }
        self.work = Some(work);
    }

    fn leg_done(&mut self, work: &mut Work, leg: &UnderWay) {
        work.free = leg.ends;
        let minutes = (leg.ends - leg.began).as_secs_f64() * self.hurry / 60.0;
        let person = &mut self.person;
        let (loses, forgets) = (person.loses_network * minutes, person.forgets);
        let (twice, chance) = (person.touches_twice, person.chance());
        if self.network_back.is_none() && chance.happens(loses) {
            let away = Duration::from_secs_f64(chance.between(2.0, 25.0) / self.hurry);
            self.network_back = Some(Instant::now() + away);
            self.follower.cut();
        }
        let chance = self.person.chance();
        work.done += u32::from(!matches!(leg.counts, Counts::Attempt { good: false, .. }));
        if leg.counts == Counts::Round {
            if chance.happens(forgets) {
                work.forgotten += 1;
                return;
            }
            if chance.happens(twice) {
                self.touch_again = Some(Instant::now() + TOUCHES_APART);
            }
        }
        for _ in 0..core::mem::take(&mut work.forgotten) {
            self.tap(Counts::RoundBefore);
        }
        self.tap(leg.counts);
        work.tapped = true;
    }

    fn tap(&mut self, counts: Counts) {
        let tap = TapId(chance::id());
        if let Err(why) = self.follower.device_mut().tap(tap, counts, clock::now()) {
            tracing::debug!(name = self.person.name, ?why, "could not tap");
        }
    }

    /// The bell has gone: they work out how far they came, and enter it some breaths later.
    fn finish(&mut self, work: &Work) {
        let device = self.follower.device();
        let (Some(leg), Some(athlete)) = (&work.under_way, device.athlete()) else {
            return;
        };
        let segment = work.segment;
        let Some(window) = window(device, segment).filter(Window::has_extra) else {
            return;
        };
        let Some(told) = told(device, segment) else {
            return;
        };
        let share =
            (window.length() - leg.began).as_secs_f64() / (leg.ends - leg.began).as_secs_f64();
        let reached = reached(&told.reps, share);
        let breath = self.person.chance().between(3.0, 12.0) / self.hurry;
        let when = Instant::now() + Duration::from_secs_f64(breath);
        self.entry = Some((when, Ask::EnterExtra { athlete, segment, reached }));
    }
}

impl Work {
    /// Work that somebody begins at this class time.
    fn new(segment: SegmentIndex, at: Span) -> Self {
        Self {
            segment,
            done: 0,
            forgotten: 0,
            free: at,
            under_way: None,
            after: None,
            tapped: false,
        }
    }
}

/// A window of work, if it is scored.
fn window(device: &Device, segment: SegmentIndex) -> Option<Window<'_>> {
    let state = device.state()?;
    let segment = state.now.segments.get(segment.0 as usize)?;
    Window::new(state.session.blocks.get(segment.block.0 as usize)?, segment.length?)
}

/// What the house told of a window.
fn told(device: &Device, segment: SegmentIndex) -> Option<&OwnWindow> {
    device.own()?.windows.iter().find(|told| told.segment == segment)
}

fn turn<'a>(device: &'a Device, window: &Window<'_>, segment: SegmentIndex) -> Turn<'a> {
    let team = device.own().map_or(&[][..], |own| &own.team);
    if !window.is_shared() || team.len() < 2 {
        return Turn::Alone;
    }
    match told(device, segment) {
        Some(told) if told.turn.is_some() && told.turn == device.athlete() => Turn::Theirs(told),
        _ => Turn::Other,
    }
}

/// How far somebody is who has done this share of a round's reps.
fn reached(reps: &[u32], share: f64) -> Reached {
    // Never the whole round: that would have been tapped.
    let whole: u32 = reps.iter().sum();
    let mut left = (f64::from(whole) * share.clamp(0.0, 1.0)) as u32;
    left = left.min(whole.saturating_sub(1));
    for (movement, &reps) in (0..).map(MovementIndex).zip(reps) {
        if left < reps {
            return Reached { movement, reps: left };
        }
        left -= reps;
    }
    Reached { movement: MovementIndex(0), reps: 0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_of_a_round_is_a_movement_and_reps_of_it() {
        for (share, movement, reps) in
            [(0.0, 0, 0), (0.5, 1, 2), (10.9 / 26.0, 0, 10), (0.99, 2, 6), (1.0, 2, 6), (7.0, 2, 6)]
        {
            let expected = Reached { movement: MovementIndex(movement), reps };
            assert_eq!(reached(&[11, 8, 7], share), expected, "{share}");
        }
    }
}
