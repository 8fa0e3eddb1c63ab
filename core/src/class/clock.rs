//! The class clock as data: a phase from which every screen works out what to show, now and through
//! every bell that goes on by itself, without hearing from the server again (rule 1.4).

use serde::{Deserialize, Serialize};

use crate::ids::{Revision, SegmentIndex};
use crate::session::AfterBell;
use crate::session::layout::{Segment, SegmentKind};
use crate::time::{HouseTime, Span};

/// The class clock at one moment.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Clock {
    /// Goes up with every call, every take-back and at the close; bells leave it alone.
    pub revision: Revision,
    /// What the clock is doing.
    pub phase: Phase,
    /// Whether the stop notice stands on every screen.
    pub stopped: bool,
}

/// What the class clock is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(tag = "phase", rename_all = "kebab-case")]
pub enum Phase {
    /// People come in; nothing has begun.
    Gathering,
    /// Class time runs. Before `anchor` (a resume's lead-in) it stands at `at_anchor`.
    Running {
        /// The segment that runs.
        segment: SegmentIndex,
        /// The instant from which class time is counted.
        anchor: HouseTime,
        /// Class time at the anchor.
        at_anchor: Span,
        /// How far the coach has moved the bell; negative where time was taken away.
        added: Span,
    },
    /// The clock stands still on the coach's call.
    Held {
        /// The segment that is held.
        segment: SegmentIndex,
        /// Where class time stands.
        class_time: Span,
        /// How far the coach has moved the bell.
        added: Span,
    },
    /// The bell has gone, and the clock waits for the coach's next.
    Waiting {
        /// The segment whose bell has gone.
        segment: SegmentIndex,
        /// When its bell was due.
        since: HouseTime,
    },
    /// The last segment is over.
    Done,
}

impl Phase {
    /// The phase at the start of `segment`.
    pub fn begin(segment: SegmentIndex, at: HouseTime) -> Self {
        Self::Running { segment, anchor: at, at_anchor: Span::ZERO, added: Span::ZERO }
    }

    /// The segment that the clock is in, if it is in one.
    pub fn segment(&self) -> Option<SegmentIndex> {
        match *self {
            Self::Running { segment, .. }
            | Self::Held { segment, .. }
            | Self::Waiting { segment, .. } => Some(segment),
            Self::Gathering | Self::Done => None,
        }
    }
}

/// The segments of a class, in which some may have been trimmed since it was laid out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan(Vec<Segment>);

impl Plan {
    /// A plan of these segments, which are never empty.
    pub fn new(segments: Vec<Segment>) -> Self {
        Self(segments)
    }

    /// All segments, dropped ones included.
    pub fn segments(&self) -> &[Segment] {
        &self.0
    }

    /// One segment.
    pub fn get(&self, index: SegmentIndex) -> Option<&Segment> {
        self.0.get(index.0 as usize)
    }

    /// Replaces a segment that stands in the plan; another index changes nothing.
    pub(super) fn replace(&mut self, index: SegmentIndex, segment: Segment) {
        if let Some(place) = self.0.get_mut(index.0 as usize) {
            *place = segment;
        }
    }

    /// Leaves a segment out.
    pub(super) fn leave_out(&mut self, index: SegmentIndex) {
        if let Some(segment) = self.0.get_mut(index.0 as usize) {
            segment.dropped = true;
        }
    }

    /// The kept segments with their indexes, in order.
    pub fn kept(&self) -> impl Iterator<Item = (SegmentIndex, &Segment)> {
        (0..).map(SegmentIndex).zip(&self.0).filter(|(_, segment)| !segment.dropped)
    }

    /// The first kept segment after `index`.
    pub fn after(&self, index: SegmentIndex) -> Option<SegmentIndex> {
        self.kept().map(|(at, _)| at).find(|&at| at > index)
    }

    /// The last kept segment before `index`.
    pub fn before(&self, index: SegmentIndex) -> Option<SegmentIndex> {
        self.kept().map(|(at, _)| at).take_while(|&at| at < index).last()
    }

    /// The kept segments of the same block as `index`, first and last.
    pub fn block_of(&self, index: SegmentIndex) -> Option<(SegmentIndex, SegmentIndex)> {
        let block = self.get(index)?.block;
        let mut same = self.kept().filter(|(_, segment)| segment.block == block);
        let (first, _) = same.next()?;
        Some((first, same.last().map_or(first, |(last, _)| last)))
    }

    /// The kept segments of its own block right before and right after a segment.
    pub(super) fn neighbours(
        &self,
        index: SegmentIndex,
    ) -> (Option<SegmentIndex>, Option<SegmentIndex>) {
        let block = |at| self.get(at).map(|segment| segment.block);
        let same = |at: &SegmentIndex| block(*at) == block(index);
        (self.before(index).filter(same), self.after(index).filter(same))
    }

    /// Whether a segment is scored work.
    pub fn is_work(&self, index: SegmentIndex) -> bool {
        self.get(index).is_some_and(|segment| segment.kind == SegmentKind::Work)
    }

    /// Whether a segment is a lead-in of its own.
    pub fn is_lead_in(&self, index: SegmentIndex) -> bool {
        self.get(index).is_some_and(|segment| segment.kind == SegmentKind::LeadIn)
    }

    /// Length of a segment with what was added, where it has a length.
    pub fn length(&self, index: SegmentIndex, added: Span) -> Option<Span> {
        Some((self.get(index)?.length? + added).at_least_zero())
    }

    /// Class time of the phase at an instant, never past the bell. Nothing outside a segment.
    pub fn class_time(&self, phase: &Phase, at: HouseTime) -> Option<Span> {
        match *phase {
            Phase::Running { segment, anchor, at_anchor, added } => {
                let run = at_anchor + (at - anchor).at_least_zero();
                Some(self.length(segment, added).map_or(run, |length| run.min(length)))
            }
            Phase::Held { class_time, .. } => Some(class_time),
            Phase::Waiting { segment, .. } => self.length(segment, Span::ZERO),
            Phase::Gathering | Phase::Done => None,
        }
    }

    /// The instant of the phase's bell, where one is to come.
    pub fn bell(&self, phase: &Phase) -> Option<HouseTime> {
        match *phase {
            Phase::Running { segment, anchor, at_anchor, added } => {
                Some(anchor + (self.length(segment, added)? - at_anchor).at_least_zero())
            }
            _ => None,
        }
    }

    /// What the clock does from the bell of `segment` on, which went at `due`.
    pub fn past_bell(&self, segment: SegmentIndex, due: HouseTime) -> Phase {
        let after = self.get(segment).map_or(AfterBell::Wait, |segment| segment.after);
        match (after, self.after(segment)) {
            (AfterBell::Next, Some(next)) => Phase::begin(next, due),
            (AfterBell::Next, None) => Phase::Done,
            (AfterBell::Wait, _) => Phase::Waiting { segment, since: due },
        }
    }

    /// When the class will be over if nothing is called but the nexts that are due, and every open
    /// segment takes as long as planned (rule 1.10). The clock's own instant once it is done.
    pub fn projected_end(&self, phase: &Phase, now: HouseTime) -> HouseTime {
        let rest = |from: Option<SegmentIndex>| -> Span {
            self.kept()
                .filter(|&(at, _)| from.is_none_or(|from| at > from))
                .map(|(_, segment)| segment.planned)
                .sum()
        };
        match *phase {
            Phase::Gathering => now + rest(None),
            Phase::Done => now,
            Phase::Waiting { segment, .. } => now + rest(Some(segment)),
            Phase::Running { segment, added, .. } | Phase::Held { segment, added, .. } => {
                let planned = self.get(segment).map_or(Span::ZERO, |segment| segment.planned);
                let run = self.class_time(phase, now).unwrap_or_default();
                // Of a coach-led movement by time, the change-over after its bell is still to come.
                let left = (planned + added - run).at_least_zero();
                let goes_on = match *phase {
                    Phase::Running { anchor, .. } => now.max(anchor),
                    _ => now,
                };
                goes_on + left + rest(Some(segment))
            }
        }
    }
}
