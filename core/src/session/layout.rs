//! From a session to the segments of the class clock (rules 1.1, 1.2 and 1.9).
//!
//! Each block adds its own segments; of its neighbours it only has to know whether it is led in by
//! the rest before it, and whether its last bell flows into a rest.

use serde::{Deserialize, Serialize};

use super::{AfterBell, Block, BlockKind, Format, Pace, Piece, Session, Unit, Unscored, planned};
use crate::ids::{BlockIndex, MovementIndex};
use crate::time::Span;

/// One stretch of the class clock.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Segment {
    /// The block it belongs to.
    pub block: BlockIndex,
    /// What happens in it.
    pub kind: SegmentKind,
    /// How long it lasts; without a length it counts up until the coach's next call.
    pub length: Option<Span>,
    /// How long it is expected to take: its length, or what was worked out for an open one. A
    /// coach-led movement by time adds the change-over to the next one.
    pub planned: Span,
    /// What follows its bell.
    pub after: AfterBell,
    /// Which window, interval or coach-led round of its block this is, from 1, and of how many;
    /// of a rest, the one that it follows. None where there is only one.
    pub window: Option<Window>,
    /// The movement that a coach-led block is at.
    pub movement: Option<MovementIndex>,
    /// How many of a rest's last seconds are the lead-in of the work that follows it (rule 1.2).
    pub lead_in: Span,
    /// Whether half-way, one minute and ten seconds to go are announced.
    pub announce: bool,
    /// Taken out by the coach before it began (the clock passes over it).
    pub dropped: bool,
}

/// What happens in a segment.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(rename_all = "kebab-case")]
pub enum SegmentKind {
    /// Talk, set-up, warm-up, drill, cool-down.
    Open,
    /// The last seconds before work.
    LeadIn,
    /// Scored work.
    Work,
    /// Rest.
    Rest,
}

/// Which of how many.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Window {
    /// This one, from 1.
    pub number: u32,
    /// Of so many.
    pub of: u32,
}

/// Lays a session out as segments, all of it known before the class starts.
pub fn segments(session: &Session) -> Vec<Segment> {
    let blocks = &session.blocks;
    let mut segments = Vec::new();
    for (index, block) in blocks.iter().enumerate() {
        let before = index.checked_sub(1).map(|before| &blocks[before].kind);
        let next = blocks.get(index + 1).map(|block| &block.kind);
        let layout = Layout { block, index: BlockIndex(index as u32), segments: &mut segments };
        layout.run(before, next);
    }
    segments
}

/// How long all of it is expected to take, without what the coach took out.
pub fn total(segments: &[Segment]) -> Span {
    segments.iter().filter(|segment| !segment.dropped).map(|segment| segment.planned).sum()
}

/// Adds the segments of one block.
struct Layout<'s> {
    block: &'s Block,
    index: BlockIndex,
    segments: &'s mut Vec<Segment>,
}

impl Layout<'_> {
    fn run(mut self, before: Option<&BlockKind>, next: Option<&BlockKind>) {
        let block = self.block;
        match &block.kind {
            BlockKind::Talk(unscored) | BlockKind::SetUp(unscored) => self.whole(unscored),
            BlockKind::WarmUp(unscored)
            | BlockKind::Drill(unscored)
            | BlockKind::CoolDown(unscored) => match unscored.pace {
                Pace::CoachLed if !block.movements.is_empty() => self.coach_led(unscored),
                Pace::CoachLed | Pace::SelfPaced => self.whole(unscored),
            },
            BlockKind::Rest { length, after } => {
                let mut rest = self.segment(SegmentKind::Rest, *length, *after);
                if let (AfterBell::Next, Some(BlockKind::Piece(piece))) = (after, next) {
                    rest.lead_in = piece.lead_in.min(*length);
                }
                self.segments.push(rest);
            }
            BlockKind::Piece(piece) => {
                if !before.is_some_and(flows_on) && piece.lead_in > Span::ZERO {
                    let lead_in = self.segment(SegmentKind::LeadIn, piece.lead_in, AfterBell::Next);
                    self.segments.push(lead_in);
                }
                let rested = matches!(next, Some(BlockKind::Rest { .. }));
                self.piece(piece, if rested { AfterBell::Next } else { AfterBell::Wait });
            }
        }
    }

    /// One open segment for all of an unscored block.
    fn whole(&mut self, unscored: &Unscored) {
        let worked_out = || planned::rounds(&self.block.movements, unscored.rounds);
        let planned = unscored.given.unwrap_or_else(worked_out);
        let open = self.segment(SegmentKind::Open, planned, AfterBell::Wait);
        self.segments.push(Segment { length: unscored.given, ..open });
    }

    /// One open segment for each movement of each round. A length that the sheet gives is shared
    /// out in proportion, so that the block is planned as long as the sheet says.
    fn coach_led(&mut self, unscored: &Unscored) {
        let movements = &self.block.movements;
        let worked_out = planned::rounds(movements, unscored.rounds);
        let given = unscored.given.unwrap_or(worked_out);
        let steps = movements.len() * unscored.rounds as usize;
        let (mut so_far, mut shared) = (Span::ZERO, Span::ZERO);
        for step in 0..steps {
            let (round, at) = (step / movements.len(), step % movements.len());
            let once = planned::once(&movements[at]);
            so_far += once;
            if step + 1 < steps {
                so_far += planned::CHANGE_OVER;
            }
            // From the running sum, so that rounding never adds up.
            let until = in_proportion(so_far, given, worked_out);
            let open = self.segment(SegmentKind::Open, until - shared, AfterBell::Wait);
            let by_time = movements[at].amount.is_some_and(|a| a.unit == Unit::Seconds);
            self.segments.push(Segment {
                length: by_time.then_some(once),
                movement: Some(MovementIndex(at as u32)),
                window: window(round as u32 + 1, unscored.rounds),
                ..open
            });
            shared = until;
        }
    }

    /// The work of a piece, with the rests inside it.
    fn piece(&mut self, piece: &Piece, at_end: AfterBell) {
        let stretches = stretches(piece);
        let of = stretches.len() as u32;
        for (number, &(work, rest)) in (1..).zip(&stretches) {
            let after = if number == of { at_end } else { AfterBell::Next };
            let work = self.segment(SegmentKind::Work, work, after);
            self.segments.push(Segment { window: window(number, of), ..work });
            if rest > Span::ZERO {
                let rest = self.segment(SegmentKind::Rest, rest, AfterBell::Next);
                self.segments.push(Segment {
                    lead_in: piece.lead_in.min(rest.planned),
                    announce: false,
                    window: window(number, of),
                    ..rest
                });
            }
        }
    }

    /// A segment of this block that lasts `length`.
    fn segment(&self, kind: SegmentKind, length: Span, after: AfterBell) -> Segment {
        Segment {
            block: self.index,
            kind,
            length: Some(length),
            planned: length,
            after,
            window: None,
            movement: None,
            lead_in: Span::ZERO,
            announce: self.block.announce && kind != SegmentKind::LeadIn,
            dropped: false,
        }
    }
}

/// Whether a block ends in work by itself, and so holds the lead-in.
fn flows_on(block: &BlockKind) -> bool {
    matches!(block, BlockKind::Rest { after: AfterBell::Next, .. })
}

/// Each stretch of work of a piece, with the rest that follows it: none after the last.
fn stretches(piece: &Piece) -> Vec<(Span, Span)> {
    let (work, rest, rounds) = match piece.format {
        Format::Amrap { window, .. }
        | Format::MaxLoad { window, .. }
        | Format::MaxCount { window, .. }
        | Format::Quality { window, .. } => (window, Span::ZERO, 1),
        Format::ForTime { cap, .. } => (cap, Span::ZERO, 1),
        Format::EveryN { every, rounds, .. } => (every, Span::ZERO, rounds),
        Format::Intervals { work, rest, rounds, .. } => (work, rest, rounds),
    };
    let all = rounds * piece.repeats;
    (1..=all)
        .map(|number| match number {
            last if last == all => (work, Span::ZERO),
            // Intervals that are repeated without a rest of their own between go on as they were.
            number if number % rounds == 0 && piece.repeat_rest > Span::ZERO => {
                (work, piece.repeat_rest)
            }
            _ => (work, rest),
        })
        .collect()
}

fn window(number: u32, of: u32) -> Option<Window> {
    (of > 1).then_some(Window { number, of })
}

/// `part` of `whole`, scaled to `given`.
fn in_proportion(part: Span, given: Span, whole: Span) -> Span {
    let wide = |span: Span| i128::from(span.as_micros());
    let scaled = wide(part) * wide(given) / wide(whole).max(1);
    Span::from_micros(scaled as i64)
}
