//! Winning time: segments that have not begun are left out, shortened, or put back.

use super::Class;
use super::clock::Phase;
use super::command::Trim;
use super::event::Event;
use super::refusal::Refusal;
use crate::ids::SegmentIndex;
use crate::session::layout::{Segment, SegmentKind};
use crate::time::Span;

/// No segment is longer than a morning.
const LENGTH_MAX: Span = Span::from_mins(180);

impl Class {
    pub(super) fn trim(&self, index: SegmentIndex, trim: Trim) -> Result<Event, Refusal> {
        let phase = self.phase();
        let segment = self.plan.get(index).ok_or(Refusal::NotInSheet("segment"))?;
        if phase == Phase::Done || phase.segment().is_some_and(|current| index <= current) {
            return Err(Refusal::NotNow("This segment has begun: it can no longer be trimmed."));
        }
        let segments = match trim {
            Trim::Drop if segment.kind == SegmentKind::LeadIn => {
                return Err(Refusal::NotNow("A lead-in stays with its work."));
            }
            Trim::Drop => self.dropped(index, segment),
            Trim::Length { span } => vec![(index, shortened(segment, span)?)],
            Trim::Restore => self.restored(phase, index),
        };
        Ok(Event::Trimmed { segments })
    }

    /// The segment left out. A rest that flows into work keeps its lead-in, so that nobody is thrown
    /// into it. Work takes the rest next to it along, so that no two rests meet, and a lone window
    /// its lead-in; what followed the bell of a block's last work follows that of the
    /// last one that is left.
    fn dropped(&self, index: SegmentIndex, segment: &Segment) -> Vec<(SegmentIndex, Segment)> {
        let drop = |(index, segment): (SegmentIndex, &Segment)| {
            (index, Segment { dropped: true, ..segment.clone() })
        };
        if segment.kind != SegmentKind::Work {
            let left = segment.lead_in;
            return vec![match left {
                Span::ZERO => drop((index, segment)),
                _ => (index, of_length(segment, left)),
            }];
        }
        let mut changed = vec![drop((index, segment))];
        let same_block: Vec<_> =
            self.plan.kept().filter(|(_, other)| other.block == segment.block).collect();
        let at = same_block.iter().position(|(at, _)| *at == index).unwrap_or(0);
        let (before, after) = same_block.split_at(at);
        let after = after.get(1..).unwrap_or_default();
        let last_work = before.iter().rfind(|(_, other)| other.kind == SegmentKind::Work);
        match (before.last(), after.first()) {
            (Some(&rest), _) | (_, Some(&rest)) if rest.1.kind == SegmentKind::Rest => {
                changed.push(drop(rest));
            }
            (Some(&lead_in), None) if lead_in.1.kind == SegmentKind::LeadIn => {
                changed.push(drop(lead_in));
            }
            _ => {}
        }
        if let (Some((last, work)), true) = (last_work, after.is_empty()) {
            changed.push((*last, Segment { after: segment.after, ..Segment::clone(work) }));
        }
        changed
    }

    /// Everything of the segment's block that has not begun, as the sheet has it.
    fn restored(&self, phase: Phase, index: SegmentIndex) -> Vec<(SegmentIndex, Segment)> {
        let block = self.plan.get(index).map(|segment| segment.block);
        (0..)
            .map(SegmentIndex)
            .zip(&self.as_written)
            .filter(|(at, segment)| {
                Some(segment.block) == block && phase.segment().is_none_or(|current| *at > current)
            })
            .map(|(at, segment)| (at, segment.clone()))
            .collect()
    }
}

fn shortened(segment: &Segment, span: Span) -> Result<Segment, Refusal> {
    if span < Span::from_secs(1) || span > LENGTH_MAX {
        return Err(Refusal::OutOfRange { what: "Seconds of a segment", least: 1, most: 10_800 });
    }
    Ok(of_length(segment, span))
}

fn of_length(segment: &Segment, span: Span) -> Segment {
    Segment {
        length: segment.length.map(|_| span),
        planned: span,
        lead_in: segment.lead_in.min(span),
        ..segment.clone()
    }
}
