//! One simulated person with their phone, doing a class.
//!
//! What they do next is planned in class time, so a hold moves it by itself: a round is done when
//! class time of the segment has come to `round_done`.

use core::time::Duration;

use floorbell_core::class::command::{Counts, Reached};
use floorbell_core::ids::{MovementIndex, RequestId, SegmentIndex, TapId};
use floorbell_core::session::{BlockKind, Format, Movement};
use floorbell_core::time::Span;
use floorbell_core::wire::Ask;
use tokio::time::{Instant, sleep_until};

use super::person::Person;
use crate::chance;
use crate::clock;
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
    rounds: u32,
    /// Rounds done that they forgot to tap.
    forgotten: u32,
    /// Class time at which the round under way began, and at which it is done.
    round: [Span; 2],
}

impl Athlete {
    pub(super) fn new(person: Person, follower: Follower, hurry: f64) -> Self {
        let hurry = hurry.max(1.0);
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
        let Some(movements) = self.counted_by_rounds(segment) else {
            return;
        };
        let work = match self.work.take() {
            // Class time ran back: the coach has started the work anew.
            Some(work) if class_time < work.round[0] => None,
            work => work,
        };
        let mut work = work.unwrap_or_else(|| {
            let done = class_time + self.round_length(&movements, 0);
            Work { segment, rounds: 0, forgotten: 0, round: [class_time, done] }
        });
        if class_time >= work.round[1] {
            self.round_done(&mut work);
            let next = work.round[1] + self.round_length(&movements, work.rounds);
            work.round = [work.round[1], next];
        }
        self.work = Some(work);
    }

    fn round_done(&mut self, work: &mut Work) {
        work.rounds += 1;
        let person = &mut self.person;
        let (loses, forgets) = (person.loses_network, person.forgets);
        let (twice, chance) = (person.touches_twice, person.chance());
        if self.network_back.is_none() && chance.happens(loses) {
            let away = Duration::from_secs_f64(chance.between(2.0, 25.0) / self.hurry);
            self.network_back = Some(Instant::now() + away);
            self.follower.cut();
        }
        let chance = self.person.chance();
        if chance.happens(forgets) {
            work.forgotten += 1;
            return;
        }
        if chance.happens(twice) {
            self.touch_again = Some(Instant::now() + TOUCHES_APART);
        }
        for _ in 0..core::mem::take(&mut work.forgotten) {
            self.tap(Counts::RoundBefore);
        }
        self.tap(Counts::Round);
    }

    fn tap(&mut self, counts: Counts) {
        let tap = TapId(chance::id());
        if let Err(why) = self.follower.device_mut().tap(tap, counts, clock::now()) {
            tracing::debug!(name = self.person.name, ?why, "could not tap");
        }
    }

    /// The bell has gone: they work out how far they came, and enter it some breaths later.
    fn finish(&mut self, work: &Work) {
        let (Some(movements), Some(athlete)) =
            (self.counted_by_rounds(work.segment), self.follower.device().athlete())
        else {
            return;
        };
        let Some(length) = self.length(work.segment) else {
            return;
        };
        let [began, done] = work.round;
        let share = (length - began).as_secs_f64() / (done - began).as_secs_f64();
        let reached = reached(&self.round_reps(work.segment, &movements), share);
        let breath = self.person.chance().between(3.0, 12.0) / self.hurry;
        let when = Instant::now() + Duration::from_secs_f64(breath);
        let segment = work.segment;
        self.entry = Some((when, Ask::EnterExtra { athlete, segment, reached }));
    }

    /// Reps of each movement in the round under way, as the house told for this athlete.
    fn round_reps(&self, segment: SegmentIndex, movements: &[Movement]) -> Vec<u32> {
        let own = self.follower.device().own();
        let window = own.and_then(|own| own.windows.iter().find(|own| own.segment == segment));
        match window {
            Some(window) if !window.reps.is_empty() => window.reps.clone(),
            _ => movements.iter().map(Movement::reps).collect(),
        }
    }

    fn length(&self, segment: SegmentIndex) -> Option<Span> {
        self.follower.device().state()?.now.segments.get(segment.0 as usize)?.length
    }

    /// The movements of a window that is counted by rounds.
    fn counted_by_rounds(&self, segment: SegmentIndex) -> Option<Vec<Movement>> {
        let state = self.follower.device().state()?;
        let block = state.now.segments.get(segment.0 as usize)?.block;
        let block = state.session.blocks.get(block.0 as usize)?;
        match &block.kind {
            BlockKind::Piece(piece) if matches!(piece.format, Format::Amrap { .. }) => {
                Some(block.movements.clone())
            }
            _ => None,
        }
    }

    fn round_length(&mut self, movements: &[Movement], before: u32) -> Span {
        let secs = self.person.round_secs(movements, before) / self.hurry;
        Span::from_micros((secs * 1e6) as i64)
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
