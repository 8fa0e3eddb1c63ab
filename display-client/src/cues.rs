//! What is announced and when (rule 1.10): the bells, and half-way, one minute and ten seconds to go
//! where the sheet wants them. Pure. As in the browser pages (`web/src/shared/cues.ts`), except that
//! a terminal has no sounds to count in with.

use core::iter::successors;

use floorbell_core::class::clock::{Clock, Phase, Plan};
use floorbell_core::session::layout::SegmentKind;
use floorbell_core::time::{HouseTime, Span};

/// Half-way is left out of what is shorter than this (common practice).
const HALF_WAY_FROM: Span = Span::from_secs(60);
/// The one minute is left out where half-way is as near as this (common practice).
const APART: Span = Span::from_secs(15);
/// Ten seconds are left out of what is not longer than this (common practice).
const TEN_SECONDS_FROM: Span = Span::from_secs(30);

/// What is announced.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum CueKind {
    /// A bell; also the instant at which work goes on after a hold.
    Bell,
    /// Half of the segment has run.
    HalfWay,
    /// One minute to go.
    OneMinute,
    /// Ten seconds to go.
    TenSeconds,
}

impl CueKind {
    /// What is said in words; nothing of a bell, which the digits show.
    pub const fn words(self) -> Option<&'static str> {
        match self {
            Self::Bell => None,
            Self::HalfWay => Some("Half-way"),
            Self::OneMinute => Some("One minute"),
            Self::TenSeconds => Some("Ten seconds"),
        }
    }
}

/// One announcement.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cue {
    /// When.
    pub at: HouseTime,
    /// What.
    pub kind: CueKind,
}

/// The announcements from `from` up to `to`, `to` left out, in order. A clock that does not run has
/// none.
pub fn cues(clock: &Clock, plan: &Plan, from: HouseTime, to: HouseTime) -> Vec<Cue> {
    let runs = successors(Some(clock.phase), |phase| {
        Some(plan.past_bell(phase.segment()?, plan.bell(phase)?))
    });
    let mut found = Vec::new();
    for phase in runs {
        match phase {
            Phase::Running { anchor, .. } if anchor < to => of_run(&phase, plan, &mut found),
            _ => break,
        }
    }
    found.retain(|cue| (from..to).contains(&cue.at));
    found.sort();
    found
}

/// All announcements of one run, from where work goes on after a hold to its bell.
fn of_run(phase: &Phase, plan: &Plan, found: &mut Vec<Cue>) {
    let &Phase::Running { segment: index, anchor, at_anchor, added } = phase else {
        return;
    };
    let Some(segment) = plan.get(index) else {
        return;
    };
    if segment.kind == SegmentKind::Work && at_anchor > Span::ZERO {
        found.push(Cue { at: anchor, kind: CueKind::Bell });
    }
    let (Some(bell), Some(length)) = (plan.bell(phase), plan.length(index, added)) else {
        return;
    };
    let start = bell - length;
    let mut announce = |kind, at| {
        if at > start && at > anchor {
            found.push(Cue { at, kind });
        }
    };
    if segment.announce && segment.kind != SegmentKind::LeadIn {
        let half = start + Span::from_micros(length.as_micros() / 2);
        let minute = bell - Span::from_secs(60);
        if length >= HALF_WAY_FROM {
            announce(CueKind::HalfWay, half);
        }
        if (half - minute).as_micros().abs() > APART.as_micros() {
            announce(CueKind::OneMinute, minute);
        }
        if length > TEN_SECONDS_FROM {
            announce(CueKind::TenSeconds, bell - Span::from_secs(10));
        }
    }
    found.push(Cue { at: bell, kind: CueKind::Bell });
}

#[cfg(test)]
mod tests {
    use floorbell_core::ids::{Revision, SegmentIndex};
    use floorbell_core::session::AfterBell::{Next, Wait};
    use floorbell_core::session::layout::Segment;
    use floorbell_core::session::layout::SegmentKind::{LeadIn, Open, Work};

    use super::*;
    use crate::testing::{house, running, segment};

    fn told(clock: &Clock, segments: Vec<Segment>) -> Vec<String> {
        let plan = Plan::new(segments);
        let found = cues(clock, &plan, house(0.0), house(10_000.0));
        found
            .iter()
            .map(|cue| {
                let words = cue.kind.words().unwrap_or("bell");
                format!("{} {words}", (cue.at - house(0.0)).as_secs_f64())
            })
            .collect()
    }

    #[test]
    fn a_lead_in_and_work() {
        let segments = vec![segment(LeadIn, Some(10), Next), segment(Work, Some(240), Wait)];
        assert_eq!(
            told(&running(0, 0.0, 0, 0), segments),
            ["10 bell", "130 Half-way", "190 One minute", "240 Ten seconds", "250 bell"]
        );
    }

    #[test]
    fn what_the_sheet_does_not_want_or_what_is_short_is_not_announced() {
        let clock = running(0, 0.0, 0, 0);
        let quiet = Segment { announce: false, ..segment(Work, Some(240), Wait) };
        assert_eq!(told(&clock, vec![quiet]), ["240 bell"]);
        let two_minutes = vec![segment(Work, Some(120), Wait)];
        assert_eq!(told(&clock, two_minutes), ["60 Half-way", "110 Ten seconds", "120 bell"]);
        assert_eq!(told(&clock, vec![segment(Work, Some(20), Wait)]), ["20 bell"]);
        let led = vec![segment(Open, Some(20), Next), segment(Open, None, Wait)];
        assert_eq!(told(&clock, led), ["20 bell"]);
    }

    #[test]
    fn after_a_hold_the_bell_has_moved() {
        let clock = running(0, 100.0, 170, 0);
        let told = told(&clock, vec![segment(Work, Some(240), Wait)]);
        assert_eq!(told, ["100 bell", "110 One minute", "160 Ten seconds", "170 bell"]);
    }

    #[test]
    fn a_held_clock_has_none() {
        let phase =
            Phase::Held { segment: SegmentIndex(0), class_time: Span::ZERO, added: Span::ZERO };
        let held = Clock { revision: Revision(2), phase, stopped: true };
        assert!(told(&held, vec![segment(Work, Some(240), Wait)]).is_empty());
    }
}
