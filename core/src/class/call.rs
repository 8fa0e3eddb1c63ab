//! What the clock does after a call, and how a call is taken back.

use super::Class;
use super::clock::Phase;
use super::command::{Actor, Call, Seen};
use super::event::{Event, Repeats};
use super::refusal::Refusal;
use super::timeline::{Cause, Stretch};
use crate::ids::{RequestId, SegmentIndex};
use crate::time::{HouseTime, Span};
use crate::wire::TakeBack;

/// How long a call can be taken back (rule 1.6).
const TAKE_BACK_WITHIN: Span = Span::from_secs(10);

/// Back within this goes to the segment before (rule 1.6).
const BACK_WITHIN: Span = Span::from_secs(2);

/// The most that one call moves a bell. Who needs more changes the sheet.
const ADD_TIME_MAX: Span = Span::from_mins(60);

/// What the clock does after a call, and which work is done anew.
struct Called {
    phase: Phase,
    stopped: bool,
    repeats: Option<Repeats>,
}

impl Class {
    pub(super) fn call(
        &self,
        now: HouseTime,
        by: Actor,
        (id, call, seen): (RequestId, Call, Seen),
    ) -> Result<Vec<Event>, Refusal> {
        let clock = self.clock();
        // Hold and stop are wanted whatever the clock has done since the coach looked.
        if !matches!(call, Call::Hold | Call::Stop) {
            if seen.revision != clock.revision {
                return Err(Refusal::Stale {
                    last: self.timeline.calls().next().map(|(_, call)| call),
                });
            }
            if seen.segment != clock.phase.segment() {
                return Err(Refusal::Stale { last: None });
            }
        }
        if clock.stopped && !matches!(call, Call::Resume | Call::Stop) {
            return Err(Refusal::NotNow("The stop notice stands: resume first."));
        }
        let called = self.outcome(now, clock.phase, clock.stopped, call)?;
        let phase = called.phase;
        let mut events = vec![called.event(now, by, (id, call))];
        // Time taken away may have put the bell at this instant.
        events.extend(self.bells_due(phase, now).1);
        Ok(events)
    }

    /// What comes of a call to a clock that is in `phase`.
    fn outcome(
        &self,
        now: HouseTime,
        phase: Phase,
        stopped: bool,
        call: Call,
    ) -> Result<Called, Refusal> {
        let just = |phase| (phase, None);
        let (phase, repeats) = match call {
            Call::Start => match (phase, self.plan.kept().next()) {
                (Phase::Gathering, Some((first, _))) => just(Phase::begin(first, now)),
                _ => return Err(Refusal::NotNow("The class has begun already.")),
            },
            Call::Hold => match self.held(phase, now) {
                Some(held) => just(held),
                None => return Err(Refusal::NotNow("The clock stands still already.")),
            },
            Call::Stop => just(self.held(phase, now).unwrap_or(phase)),
            Call::Resume => just(self.resumed(now, phase, stopped)?),
            Call::Next => just(self.next(now, phase)?),
            Call::Finish => just(self.finished(now, phase)?),
            Call::AddTime { span } => just(self.time_added(phase, now, span)?),
            Call::Back => self.back(now, phase)?,
            Call::Restart => self.restarted(now, phase)?,
            Call::Jump { to } => self.jumped(now, phase, to)?,
        };
        let stopped = match call {
            Call::Stop => true,
            Call::Resume => false,
            _ => stopped,
        };
        Ok(Called { phase, stopped, repeats })
    }

    fn begun(phase: Phase) -> Result<(), Refusal> {
        match phase {
            Phase::Gathering => Err(Refusal::NotNow("The class has not begun: start it first.")),
            _ => Ok(()),
        }
    }

    fn in_class(phase: Phase) -> Result<SegmentIndex, Refusal> {
        Self::begun(phase)?;
        phase
            .segment()
            .ok_or(Refusal::NotNow("The last segment is over: close the class, or go back."))
    }

    /// The phase held at `now`, if it runs.
    fn held(&self, phase: Phase, now: HouseTime) -> Option<Phase> {
        let Phase::Running { segment, added, .. } = phase else { return None };
        let class_time = self.plan.class_time(&phase, now)?;
        Some(Phase::Held { segment, class_time, added })
    }

    fn resumed(&self, now: HouseTime, phase: Phase, stopped: bool) -> Result<Phase, Refusal> {
        match phase {
            Phase::Held { segment, class_time, added } => Ok(Phase::Running {
                segment,
                anchor: now + self.lead_in_before(segment),
                at_anchor: class_time,
                added,
            }),
            _ if stopped => Ok(phase),
            _ => Err(Refusal::NotNow("The clock is not held.")),
        }
    }

    /// Nobody is thrown into work: a call that leads into it gives a lead-in first.
    fn lead_in_before(&self, segment: SegmentIndex) -> Span {
        if self.plan.is_work(segment) { self.resume_lead_in } else { Span::ZERO }
    }

    /// Next in a rest that holds a lead-in goes to that lead-in, if it has not begun.
    fn lead_in_of_rest(&self, phase: Phase, now: HouseTime) -> Option<Phase> {
        let (Phase::Running { segment, added, .. } | Phase::Held { segment, added, .. }) = phase
        else {
            return None;
        };
        let lead_in = self.plan.get(segment)?.lead_in;
        let at_anchor = self.plan.length(segment, added)? - lead_in;
        let not_begun = lead_in > Span::ZERO && self.plan.class_time(&phase, now)? < at_anchor;
        not_begun.then_some(Phase::Running { segment, anchor: now, at_anchor, added })
    }

    fn next(&self, now: HouseTime, phase: Phase) -> Result<Phase, Refusal> {
        let segment = Self::in_class(phase)?;
        Ok(match (self.lead_in_of_rest(phase, now), self.plan.after(segment)) {
            (Some(lead_in), _) => lead_in,
            (None, Some(next)) => Phase::begin(next, now),
            (None, None) => Phase::Done,
        })
    }

    fn finished(&self, now: HouseTime, phase: Phase) -> Result<Phase, Refusal> {
        let segment = Self::in_class(phase)?;
        let (_, last) = self.plan.block_of(segment).unwrap_or((segment, segment));
        Ok(match self.plan.after(last.max(segment)) {
            Some(next) => Phase::begin(next, now + self.lead_in_before(next)),
            None => Phase::Done,
        })
    }

    fn back(&self, now: HouseTime, phase: Phase) -> Result<(Phase, Option<Repeats>), Refusal> {
        Self::begun(phase)?;
        let last = self.plan.kept().last().map(|(index, _)| index);
        let current = phase.segment().or(last).unwrap_or_default();
        let just_begun = !matches!(phase, Phase::Waiting { .. })
            && self.plan.class_time(&phase, now).is_some_and(|time| time < BACK_WITHIN);
        let before = self.plan.before(current).filter(|_| just_begun);
        Ok(self.again(now, before.unwrap_or(current), current))
    }

    fn restarted(&self, now: HouseTime, phase: Phase) -> Result<(Phase, Option<Repeats>), Refusal> {
        let segment = Self::in_class(phase)?;
        let (first, _) = self.plan.block_of(segment).unwrap_or((segment, segment));
        Ok(self.again(now, first, segment))
    }

    fn jumped(
        &self,
        now: HouseTime,
        phase: Phase,
        to: SegmentIndex,
    ) -> Result<(Phase, Option<Repeats>), Refusal> {
        Self::begun(phase)?;
        let kept = self.plan.get(to).is_some_and(|segment| !segment.dropped);
        if kept { Ok(self.again(now, to, to)) } else { Err(Refusal::NotInSheet("segment")) }
    }

    /// Begins `target` anew, and with it the work from there to `current`.
    fn again(
        &self,
        now: HouseTime,
        target: SegmentIndex,
        current: SegmentIndex,
    ) -> (Phase, Option<Repeats>) {
        let repeated = Repeats { from: target, to: current.max(target) };
        let work_repeated = (repeated.from.0..=repeated.to.0)
            .map(SegmentIndex)
            .any(|index| self.plan.is_work(index) && self.timeline.entered(index));
        let phase = Phase::begin(target, now + self.lead_in_before(target));
        (phase, work_repeated.then_some(repeated))
    }

    fn time_added(&self, phase: Phase, now: HouseTime, span: Span) -> Result<Phase, Refusal> {
        if !(-ADD_TIME_MAX..=ADD_TIME_MAX).contains(&span) {
            return Err(Refusal::OutOfRange { what: "Minutes to add", least: 0, most: 60 });
        }
        let no_bell = Refusal::NotNow("This segment has no bell ahead of it that could be moved.");
        let segment = phase.segment().ok_or(no_bell)?;
        let written = self.plan.get(segment).and_then(|segment| segment.length).ok_or(no_bell)?;
        let class_time = self.plan.class_time(&phase, now).ok_or(no_bell)?;
        // Not below what has run: the remaining time is never negative.
        let moved = |added: Span| (added + span).max(class_time - written);
        match phase {
            Phase::Running { segment, anchor, at_anchor, added } => {
                Ok(Phase::Running { segment, anchor, at_anchor, added: moved(added) })
            }
            Phase::Held { segment, class_time, added } => {
                Ok(Phase::Held { segment, class_time, added: moved(added) })
            }
            _ => Err(no_bell),
        }
    }

    pub(super) fn take_back_call(
        &self,
        now: HouseTime,
        by: Actor,
        id: RequestId,
        of: RequestId,
    ) -> Result<Vec<Event>, Refusal> {
        let until = self.take_back_until(of)?;
        if until.is_some_and(|until| now > until) {
            return Err(Refusal::TooLateToTakeBack);
        }
        let (_, before, since) = self.timeline.around(of).ok_or(Refusal::NoSuchCall)?;
        let mut events = vec![Event::TakenBack { id, by, of }];
        events.extend(self.had_it_not_been_made(before, since, now));
        Ok(events)
    }

    /// What the clock did after the stretch `before`, had the call that ended it not been made. Who
    /// held the clock since, or stopped it, still has done so, at the instant at which they did.
    fn had_it_not_been_made(
        &self,
        before: &Stretch,
        since: &[Stretch],
        now: HouseTime,
    ) -> Vec<Event> {
        let mut events = Vec::new();
        let (mut phase, mut stopped) = (before.phase, before.stopped);
        for later in since {
            let Cause::Call { id, by, call } = later.cause else { continue };
            let (rung, bells) = self.bells_due(phase, later.from);
            events.extend(bells);
            phase = rung;
            // What makes no sense there, such as time added to what was over, is left out.
            if let Ok(called) = self.outcome(later.from, phase, stopped, call) {
                (phase, stopped) = (called.phase, called.stopped);
                events.push(called.event(later.from, by, (id, call)));
            }
        }
        events.extend(self.bells_due(phase, now).1);
        events
    }

    /// Until when a call can be taken back (rule 1.6); none: until the bell of the work that it
    /// starts anew.
    fn take_back_until(&self, of: RequestId) -> Result<Option<HouseTime>, Refusal> {
        let (called, _, since) = self.timeline.around(of).ok_or(Refusal::NoSuchCall)?;
        if matches!(called.cause, Cause::Call { call: Call::Stop, .. }) {
            return Err(Refusal::NotNow("Stop is not taken back: resume instead."));
        }
        let goes_on = since.iter().all(|later| match later.cause {
            Cause::Call { call, .. } => call.stays_in_segment(),
            Cause::Bell { of } => !self.plan.is_work(of),
            Cause::Opening | Cause::Closing => true,
        });
        if called.starts_anew() && goes_on {
            return Ok(None);
        }
        if since.iter().any(|later| matches!(later.cause, Cause::Call { .. })) {
            return Err(Refusal::TooLateToTakeBack);
        }
        Ok(Some(called.from + TAKE_BACK_WITHIN))
    }

    /// The last call that can be taken back at `now`, if any.
    pub fn take_back(&self, now: HouseTime) -> Option<TakeBack> {
        if self.closed {
            return None;
        }
        self.timeline.calls().find_map(|(id, call)| {
            let until = self.take_back_until(id).ok()?;
            until.is_none_or(|until| now <= until).then_some(TakeBack { id, call, until })
        })
    }
}

impl Called {
    fn event(self, at: HouseTime, by: Actor, (id, call): (RequestId, Call)) -> Event {
        let Self { phase, stopped, repeats } = self;
        Event::Called { id, by, at, call, phase, stopped, repeats }
    }
}

impl Call {
    /// Whether the clock stays in the segment that it is in.
    const fn stays_in_segment(self) -> bool {
        matches!(self, Self::Hold | Self::Stop | Self::Resume | Self::AddTime { .. })
    }
}
