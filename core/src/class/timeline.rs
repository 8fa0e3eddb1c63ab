//! What the class clock did, and when: the line on which every tap is placed by the instant at which
//! it was made.
//!
//! The line is a list of stretches, each with the phase that held from its first instant on. Taking
//! a call back cuts the line before that call; what the clock would have done instead is appended
//! as if the call had never been made.

use super::clock::{Clock, Phase, Plan};
use super::command::{Actor, Call};
use super::event::Repeats;
use crate::ids::{RequestId, Revision, SegmentIndex};
use crate::score::{Mark, WhyNot};
use crate::time::{HouseTime, Span};

/// How long after the bell, or after a hold, a tap still belongs to the work before it *(cp)*.
pub(super) const GRACE: Span = Span::from_secs(2);

/// One stretch of the line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Stretch {
    pub(super) from: HouseTime,
    pub(super) phase: Phase,
    pub(super) stopped: bool,
    pub(super) cause: Cause,
    /// The clock's revision since this stretch.
    pub(super) revision: Revision,
    /// The work that this stretch's call starts anew.
    repeats: Option<Repeats>,
    /// Whether work done in this stretch still counts: no later stretch does it anew.
    live: bool,
}

/// What began a stretch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Cause {
    Opening,
    Call { id: RequestId, by: Actor, call: Call },
    Bell { of: SegmentIndex },
    Closing,
}

/// Where an instant lies on the line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Placed {
    /// In work that counts, at this class time.
    Work { segment: SegmentIndex, at: Span, mark: Option<Mark> },
    /// Where nothing is counted, since the given revision.
    Elsewhere { why: WhyNot, since: Revision },
}

/// The line. Never empty: it begins with the opening.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Timeline {
    stretches: Vec<Stretch>,
    revision: Revision,
}

impl Timeline {
    pub(super) fn opened(at: HouseTime) -> Self {
        let opening = Stretch {
            from: at,
            phase: Phase::Gathering,
            stopped: false,
            cause: Cause::Opening,
            revision: Revision(0),
            repeats: None,
            live: true,
        };
        Self { stretches: vec![opening], revision: Revision(0) }
    }

    pub(super) fn last(&self) -> &Stretch {
        self.stretches.last().expect("a time line begins with its opening and keeps it")
    }

    pub(super) fn clock(&self) -> Clock {
        let last = self.last();
        Clock { revision: self.revision, phase: last.phase, stopped: last.stopped }
    }

    /// When the first segment began.
    pub(super) fn started(&self) -> Option<HouseTime> {
        self.stretches.iter().find(|stretch| stretch.phase != Phase::Gathering).map(|s| s.from)
    }

    /// The calls that were carried out and not taken back, last first.
    pub(super) fn calls(&self) -> impl Iterator<Item = (RequestId, Call)> {
        self.stretches.iter().rev().filter_map(|stretch| match stretch.cause {
            Cause::Call { id, call, .. } => Some((id, call)),
            _ => None,
        })
    }

    pub(super) fn called(
        &mut self,
        from: HouseTime,
        cause: Cause,
        (phase, stopped): (Phase, bool),
        repeats: Option<Repeats>,
    ) {
        self.revision = Revision(self.revision.0 + 1);
        self.push(from, phase, stopped, cause, repeats);
    }

    pub(super) fn rang(&mut self, of: SegmentIndex, due: HouseTime, phase: Phase) {
        let stopped = self.last().stopped;
        self.push(due, phase, stopped, Cause::Bell { of }, None);
    }

    /// The class is over for good: nothing runs on, and the stop notice, which nobody could take
    /// away any more, goes.
    pub(super) fn closed(&mut self, at: HouseTime) {
        self.revision = Revision(self.revision.0 + 1);
        let phase = match self.last().phase {
            Phase::Gathering => Phase::Gathering,
            _ => Phase::Done,
        };
        self.push(at, phase, false, Cause::Closing, None);
    }

    fn push(
        &mut self,
        from: HouseTime,
        phase: Phase,
        stopped: bool,
        cause: Cause,
        repeats: Option<Repeats>,
    ) {
        let revision = self.revision;
        self.stretches.push(Stretch { from, phase, stopped, cause, revision, repeats, live: true });
        self.mark_live();
    }

    /// Cuts the line before a call. The caller has made sure that it is there.
    pub(super) fn take_back(&mut self, of: RequestId) {
        self.revision = Revision(self.revision.0 + 1);
        if let Some(at) = self.position(of) {
            self.stretches.truncate(at);
        }
        self.mark_live();
    }

    fn position(&self, call: RequestId) -> Option<usize> {
        self.stretches
            .iter()
            .position(|stretch| matches!(stretch.cause, Cause::Call { id, .. } if id == call))
    }

    /// The call's own stretch, the one before it, and those after it.
    pub(super) fn around(&self, call: RequestId) -> Option<(&Stretch, &Stretch, &[Stretch])> {
        let at = self.position(call)?;
        Some((
            &self.stretches[at],
            self.stretches.get(at.checked_sub(1)?)?,
            &self.stretches[at + 1..],
        ))
    }

    /// A stretch of work counts unless a later one enters the same segment anew, or a later call
    /// starts it anew.
    fn mark_live(&mut self) {
        for at in 0..self.stretches.len() {
            let segment = self.stretches[at].phase.segment();
            let mut before = segment;
            self.stretches[at].live = segment.is_none_or(|segment| {
                self.stretches[at + 1..].iter().all(|later| {
                    let entered = later.phase.segment() == Some(segment) && before != Some(segment);
                    before = later.phase.segment();
                    !entered && !later.repeats.is_some_and(|repeats| repeats.covers(segment))
                })
            });
        }
    }

    /// When the run of `segment` that counts began, if there is one.
    pub(super) fn live_since(&self, segment: SegmentIndex) -> Option<HouseTime> {
        self.stretches
            .iter()
            .find(|stretch| stretch.live && stretch.phase.segment() == Some(segment))
            .map(|stretch| stretch.from)
    }

    /// Class time of the run of `segment` that counts, as it was at an instant or when it ended.
    pub(super) fn class_time_of(
        &self,
        plan: &Plan,
        segment: SegmentIndex,
        at: HouseTime,
    ) -> Option<Span> {
        let index = self.stretches.iter().rposition(|stretch| {
            stretch.live && stretch.phase.segment() == Some(segment) && stretch.from <= at
        })?;
        let end = self.stretches.get(index + 1).map_or(at, |after| after.from.min(at));
        plan.class_time(&self.stretches[index].phase, end)
    }

    /// How far the bell of the run of `segment` that counts was moved.
    pub(super) fn added(&self, segment: SegmentIndex) -> Span {
        self.stretches
            .iter()
            .rev()
            .filter(|stretch| stretch.live)
            .find_map(|stretch| match stretch.phase {
                Phase::Running { segment: own, added, .. }
                | Phase::Held { segment: own, added, .. }
                    if own == segment =>
                {
                    Some(added)
                }
                _ => None,
            })
            .unwrap_or_default()
    }

    /// Whether `segment` was ever entered, in a run that counts or in another.
    pub(super) fn entered(&self, segment: SegmentIndex) -> bool {
        self.stretches.iter().any(|stretch| stretch.phase.segment() == Some(segment))
    }

    /// Places an instant, at which a device that was showing `named` says something was done. The
    /// 2 s after the bell outrank what the clock did in them: the tap belongs to what it names.
    pub(super) fn place(&self, plan: &Plan, named: SegmentIndex, at: HouseTime) -> Placed {
        let Some(index) = self.stretches.iter().rposition(|stretch| stretch.from <= at) else {
            return Placed::Elsewhere { why: WhyNot::NotWork, since: Revision(0) };
        };
        let here = &self.stretches[index];
        let elsewhere = |why| Placed::Elsewhere { why, since: here.revision };
        if let Phase::Running { segment, anchor, .. } = here.phase
            && plan.is_work(segment)
            && at >= anchor
            && (segment == named || self.just_ended(plan, named, index, at).is_none())
        {
            let Some(class_time) = plan.class_time(&here.phase, at) else {
                return elsewhere(WhyNot::NotWork);
            };
            let mark = (segment != named).then_some(Mark::OtherSegment);
            return here.counted(segment, class_time, mark);
        }
        if let Some((stretch, end, mark)) = self.just_ended(plan, named, index, at)
            && let Some(class_time) = plan.class_time(&stretch.phase, end)
        {
            return stretch.counted(named, class_time, Some(mark));
        }
        match here.phase {
            Phase::Held { segment, .. } if plan.is_work(segment) => elsewhere(WhyNot::Held),
            Phase::Running { segment, .. } if plan.is_work(segment) => elsewhere(WhyNot::LeadIn),
            _ if self.begun(named, at) => elsewhere(WhyNot::AfterBell),
            Phase::Running { segment, .. } if plan.is_lead_in(segment) => elsewhere(WhyNot::LeadIn),
            _ => elsewhere(WhyNot::NotWork),
        }
    }

    /// The stretch in which `named` last ran, past any lead-in of its own, if it stopped running at
    /// most the grace before `at`.
    fn just_ended(
        &self,
        plan: &Plan,
        named: SegmentIndex,
        index: usize,
        at: HouseTime,
    ) -> Option<(&Stretch, HouseTime, Mark)> {
        let earliest = at - GRACE;
        let runs = |stretch: &Stretch, at: HouseTime| {
            matches!(stretch.phase, Phase::Running { segment, anchor, .. }
                if segment == named && anchor <= at)
        };
        (1..=index).rev().take_while(|&after| self.stretches[after].from >= earliest).find_map(
            |after| {
                let (before, after) = (&self.stretches[after - 1], &self.stretches[after]);
                let mark = match after.phase {
                    Phase::Held { .. } => Mark::AfterHold,
                    _ => Mark::AfterBell,
                };
                let end = after.from;
                (plan.is_work(named) && runs(before, end) && !runs(after, end))
                    .then_some((before, end, mark))
            },
        )
    }

    /// Whether the run of `named` that counts had begun by `at`; where it is not running then, it is
    /// over.
    fn begun(&self, named: SegmentIndex, at: HouseTime) -> bool {
        self.live_since(named).is_some_and(|since| since <= at)
    }
}

impl Stretch {
    fn counted(&self, segment: SegmentIndex, at: Span, mark: Option<Mark>) -> Placed {
        if self.live {
            Placed::Work { segment, at, mark }
        } else {
            Placed::Elsewhere { why: WhyNot::Repeated, since: self.revision }
        }
    }

    /// Whether the stretch began with a call that starts work anew.
    pub(super) fn starts_anew(&self) -> bool {
        self.repeats.is_some()
    }
}

impl Repeats {
    /// Whether a segment is among those that are done anew.
    pub fn covers(self, segment: SegmentIndex) -> bool {
        (self.from..=self.to).contains(&segment)
    }
}
