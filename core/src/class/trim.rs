//! Winning time: segments that have not begun are left out, shortened, or put back.
//!
//! What was asked is done on a copy of the plan, whose segments are then joined up again; the event
//! holds those that differ.

use super::Class;
use super::clock::{Phase, Plan};
use super::command::Trim;
use super::event::Event;
use super::refusal::Refusal;
use crate::ids::SegmentIndex;
use crate::session::AfterBell;
use crate::session::layout::{Segment, SegmentKind};
use crate::time::Span;

/// No segment is longer than a morning.
const LENGTH_MAX: Span = Span::from_mins(180);

impl Class {
    /// None where the segment is so already.
    pub(super) fn trim(&self, index: SegmentIndex, trim: Trim) -> Result<Option<Event>, Refusal> {
        let segment = self.plan.get(index).ok_or(Refusal::NotInSheet("segment"))?;
        if self.has_begun(index) {
            return Err(Refusal::NotNow("This segment has begun: it can no longer be trimmed."));
        }
        let mut plan = self.plan.clone();
        match trim {
            Trim::Drop if segment.kind == SegmentKind::LeadIn => {
                return Err(Refusal::NotNow("A lead-in stays with its work."));
            }
            Trim::Drop if segment.dropped => return Ok(None),
            Trim::Drop if segment.kind == SegmentKind::Work => self.leave_out(index, &mut plan),
            // A rest that flows into work stays as its lead-in, so that nobody is thrown into it.
            Trim::Drop if segment.lead_in > Span::ZERO => {
                plan.replace(index, of_length(segment, segment.lead_in));
            }
            Trim::Drop => plan.leave_out(index),
            Trim::Length { span } => plan.replace(index, shortened(segment, span)?),
            Trim::Restore => self.restore_block_of(index, &mut plan),
        }
        self.join_up(&mut plan);
        let was = self.plan.segments();
        let segments: Vec<_> = (0..)
            .map(SegmentIndex)
            .zip(plan.segments().iter().zip(was))
            .filter(|(_, (is, was))| is != was)
            .map(|(at, (is, _))| (at, is.clone()))
            .collect();
        Ok((!segments.is_empty()).then_some(Event::Trimmed { segments }))
    }

    fn has_begun(&self, index: SegmentIndex) -> bool {
        let phase = self.phase();
        phase == Phase::Done || phase.segment().is_some_and(|current| index <= current)
    }

    /// Leaves a window of work out, and with it one rest next to it where else two rests would meet,
    /// or one would begin or end the block; a lone window takes its lead-in along. What has begun
    /// stays.
    fn leave_out(&self, index: SegmentIndex, plan: &mut Plan) {
        use SegmentKind::{LeadIn, Rest};
        let (before, after) = plan.neighbours(index);
        let kind = |at: Option<SegmentIndex>| Some(plan.get(at?)?.kind);
        let can_go = before.is_some_and(|before| !self.has_begun(before));
        let along = match (kind(before), kind(after)) {
            (Some(Rest), Some(Rest) | None) | (Some(LeadIn), None) if can_go => before,
            (Some(Rest | LeadIn) | None, Some(Rest)) => after,
            _ => None,
        };
        plan.leave_out(index);
        if let Some(along) = along {
            plan.leave_out(along);
        }
    }

    /// Everything of the segment's block that has not begun, as the sheet has it.
    fn restore_block_of(&self, index: SegmentIndex, plan: &mut Plan) {
        let block = self.plan.get(index).map(|segment| segment.block);
        for (at, segment) in (0..).map(SegmentIndex).zip(&self.as_written) {
            if Some(segment.block) == block && !self.has_begun(at) {
                plan.replace(at, segment.clone());
            }
        }
    }

    /// What follows a bell, and whether a rest leads in, hang on what comes next. Where a segment
    /// that waits was left out, the one before waits in its stead: the class does not flow on over
    /// the place at which the coach meant to call next.
    fn join_up(&self, plan: &mut Plan) {
        let kept: Vec<_> = plan.kept().map(|(index, segment)| (index, segment.clone())).collect();
        for (number, (index, segment)) in kept.iter().enumerate() {
            let next = kept.get(number + 1);
            let at = index.0 as usize;
            let until = next.map_or(self.as_written.len(), |(next, _)| next.0 as usize);
            let waits = self.as_written[at..until].iter().any(|it| it.after == AfterBell::Wait);
            let lead_in = match next {
                Some((_, next)) if next.kind == SegmentKind::Work => self.as_written[at].lead_in,
                _ => Span::ZERO,
            };
            let after = if waits { AfterBell::Wait } else { AfterBell::Next };
            let lead_in = lead_in.min(segment.planned);
            plan.replace(*index, Segment { after, lead_in, ..segment.clone() });
        }
    }
}

fn shortened(segment: &Segment, span: Span) -> Result<Segment, Refusal> {
    if span < Span::from_secs(1) || span > LENGTH_MAX {
        return Err(Refusal::OutOfRange { what: "Seconds of a segment", least: 1, most: 10_800 });
    }
    Ok(of_length(segment, span))
}

fn of_length(segment: &Segment, span: Span) -> Segment {
    Segment { length: segment.length.map(|_| span), planned: span, ..segment.clone() }
}
