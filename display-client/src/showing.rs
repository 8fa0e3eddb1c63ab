//! From the class clock as data to what a screen shows at one instant of house time. Pure.
//!
//! The house sends a clock only when a call changes it; every bell that goes on by itself is worked
//! out here, so that a screen without a network goes on alone (rule 1.4). The browser pages do the
//! same (`web/src/shared/clock.ts`), and the same cases hold both.

use floorbell_core::class::clock::{Clock, Phase, Plan};
use floorbell_core::ids::SegmentIndex;
use floorbell_core::session::layout::{Segment, SegmentKind};
use floorbell_core::sync::Sync;
use floorbell_core::time::{DeviceTime, HouseTime, Span};

#[cfg(test)]
mod tests;

const SECOND: Span = Span::from_secs(1);

/// What stands on the clock at one instant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Showing<'a> {
    /// People come in; nothing has begun.
    Gathering,
    /// The clock is in a segment.
    Standing(Standing<'a>),
    /// The last segment is over.
    Done,
}

/// Where the clock stands in a segment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Standing<'a> {
    /// Which segment.
    pub index: SegmentIndex,
    /// The segment.
    pub segment: &'a Segment,
    /// How its seconds go.
    pub hand: Hand,
    /// Class time, 0 or more and never past the bell.
    pub class_time: Span,
    /// From the segment's start to its bell, added time included; none for one that counts up.
    pub length: Option<Span>,
    /// The segment that follows, dropped ones passed over; none at the end.
    pub next: Option<SegmentIndex>,
}

/// How the seconds of a segment go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hand {
    /// Class time runs.
    Running {
        /// When class time was, or would have been, zero.
        zero: HouseTime,
        /// The bell; none for a segment that counts up.
        bell: Option<HouseTime>,
    },
    /// The lead-in of a resume: class time stands.
    Resuming {
        /// When class time goes on.
        goes_on: HouseTime,
        /// The bell that then follows.
        bell: Option<HouseTime>,
    },
    /// Class time stands on the coach's call.
    Held,
    /// The bell has gone, and the clock waits for the coach.
    Waiting {
        /// When the bell was.
        since: HouseTime,
    },
}

/// What a clock does at an instant, through every bell that goes on by itself.
pub(crate) fn through_bells(plan: &Plan, mut phase: Phase, at: HouseTime) -> Phase {
    while let (Some(segment), Some(bell)) = (phase.segment(), plan.bell(&phase))
        && bell <= at
    {
        phase = plan.past_bell(segment, bell);
    }
    phase
}

/// What the clock shows at an instant. A clock in a segment that the plan does not have, which only
/// a house of another version could send, shows as gathering.
pub fn showing<'a>(clock: &Clock, plan: &'a Plan, at: HouseTime) -> Showing<'a> {
    let phase = through_bells(plan, clock.phase, at);
    let (index, added) = match phase {
        Phase::Gathering => return Showing::Gathering,
        Phase::Done => return Showing::Done,
        Phase::Running { segment, added, .. } | Phase::Held { segment, added, .. } => {
            (segment, added)
        }
        Phase::Waiting { segment, .. } => (segment, Span::ZERO),
    };
    let Some(segment) = plan.get(index) else {
        return Showing::Gathering;
    };
    let bell = plan.bell(&phase);
    let hand = match phase {
        Phase::Held { .. } => Hand::Held,
        Phase::Waiting { since, .. } => Hand::Waiting { since },
        Phase::Running { anchor, at_anchor, .. } if leads_in(segment, at_anchor, anchor - at) => {
            Hand::Resuming { goes_on: anchor, bell }
        }
        Phase::Running { anchor, at_anchor, .. } => {
            Hand::Running { zero: anchor - at_anchor, bell }
        }
        Phase::Gathering | Phase::Done => return Showing::Gathering,
    };
    Showing::Standing(Standing {
        index,
        segment,
        hand,
        class_time: plan.class_time(&phase, at).unwrap_or_default(),
        length: plan.length(index, added),
        next: plan.after(index),
    })
}

/// Whether a resume's lead-in is shown. Only work has one (rule 1.5). Elsewhere the present lies
/// before the anchor only because this screen has the call before its own time has reached it.
fn leads_in(segment: &Segment, at_anchor: Span, ahead: Span) -> bool {
    let just_started = at_anchor == Span::ZERO && ahead < SECOND;
    segment.kind == SegmentKind::Work && ahead > Span::ZERO && !just_started
}

/// The device time at which a screen that shows house time shows `at`; none before it knows any.
pub fn when_shown(sync: &Sync, now: DeviceTime, at: HouseTime) -> Option<DeviceTime> {
    let mut due = now;
    // Shown time runs by at most a twentieth faster or slower while it meets a correction, so that each
    // turn leaves a twentieth of the error: of a minute, less than a microsecond.
    for _ in 0..6 {
        due = due + (at - sync.shown(due)?.time);
    }
    Some(due)
}

impl Standing<'_> {
    /// Time left to the bell; none for a segment that counts up.
    pub fn remaining(&self) -> Option<Span> {
        Some((self.length? - self.class_time).at_least_zero())
    }

    /// The kind that is shown: a resume's lead-in and the last seconds of a rest before work are
    /// lead-in too (rule 1.2).
    pub fn kind_shown(&self) -> SegmentKind {
        let lead_in = self.segment.lead_in;
        let in_lead_in =
            lead_in > Span::ZERO && self.remaining().is_some_and(|remaining| remaining <= lead_in);
        if in_lead_in || matches!(self.hand, Hand::Resuming { .. }) {
            SegmentKind::LeadIn
        } else {
            self.segment.kind
        }
    }

    /// The digits: a count-down rounded up, so that 0 stands only at the bell; a count-up rounded
    /// down (rule 2.4); the overrun from its first full second; a lead-in in bare seconds.
    pub fn digits(&self, at: HouseTime) -> String {
        let seconds = self.seconds(at);
        let minutes = Span::from_secs(seconds);
        match self.hand {
            _ if self.kind_shown() == SegmentKind::LeadIn => seconds.to_string(),
            Hand::Waiting { .. } if seconds > 0 => format!("+{minutes}"),
            _ => minutes.to_string(),
        }
    }

    /// The next instant after `at` at which the digits or the kind that is shown change; none where
    /// they stand.
    pub fn next_change(&self, at: HouseTime) -> Option<HouseTime> {
        let seconds = self.seconds(at);
        match self.hand {
            Hand::Held => None,
            Hand::Waiting { since } => Some(since + Span::from_secs(seconds + 1)),
            Hand::Running { zero, bell: None } => Some(zero + Span::from_secs(seconds + 1)),
            Hand::Resuming { goes_on, .. } => Some(goes_on - Span::from_secs(seconds - 1)),
            Hand::Running { bell: Some(bell), .. } => {
                let second = bell - Span::from_secs(seconds - 1);
                let lead_in = bell - self.segment.lead_in;
                Some(if at < lead_in { second.min(lead_in) } else { second })
            }
        }
    }

    /// What the digits say, in whole seconds.
    fn seconds(&self, at: HouseTime) -> i64 {
        match self.hand {
            Hand::Waiting { since } => run(at - since),
            Hand::Resuming { goes_on, .. } => left(goes_on - at),
            Hand::Held | Hand::Running { .. } => {
                self.remaining().map_or_else(|| run(self.class_time), left)
            }
        }
    }
}

/// Whole seconds that remain, rounded up.
fn left(remaining: Span) -> i64 {
    // Away from zero: what remains is never negative.
    (remaining.as_micros() + SECOND.as_micros() - 1).div_euclid(SECOND.as_micros())
}

/// Whole seconds that have run, rounded down.
fn run(time: Span) -> i64 {
    time.at_least_zero().as_micros() / SECOND.as_micros()
}
