//! What `floorbell check` prints of a session: its time line, and its time against the slot.
//! Plain text within 80 columns.

use core::fmt;

use super::fit::{TimeFit, block_total, time_fit};
use super::layout::{Segment, SegmentKind, segments, total};
use super::{AfterBell, Session};
use crate::ids::BlockIndex;
use crate::time::Span;

/// Characters that are left beside the columns of the time line, and of the totals.
const WHAT_CHARS: usize = 46;
const TOTAL_CHARS: usize = 70;
/// Characters of a name, where more stands beside it.
const NAME_CHARS: usize = 36;

/// Writes the time line of a session.
pub fn report(session: &Session) -> String {
    Report { session, segments: &segments(session) }.to_string()
}

struct Report<'s> {
    session: &'s Session,
    segments: &'s [Segment],
}

impl fmt::Display for Report<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{}", self.session.title)?;
        if let Some(people) = self.session.people {
            writeln!(f, "{people} people expected")?;
        }
        write_time_line(f, self.session, self.segments)?;
        write_totals(f, self.session, self.segments)
    }
}

fn write_time_line(
    out: &mut fmt::Formatter<'_>,
    session: &Session,
    segments: &[Segment],
) -> fmt::Result {
    writeln!(out, "\n   start  segment   length  then  what")?;
    let mut start = Span::ZERO;
    for (index, segment) in segments.iter().enumerate() {
        let new_block = index == 0 || segments[index - 1].block != segment.block;
        let name = what(session, segment, new_block);
        let kind = match segment.kind {
            SegmentKind::Open => "open",
            SegmentKind::LeadIn => "lead-in",
            SegmentKind::Work => "work",
            SegmentKind::Rest => "rest",
        };
        // An open segment has no bell: nothing follows it but the coach's call.
        let (length, then) = match (segment.length, segment.after) {
            (None, _) => (format!("~{}", segment.planned), "call"),
            (Some(length), AfterBell::Next) => (length.to_string(), "next"),
            (Some(length), AfterBell::Wait) => (length.to_string(), "wait"),
        };
        let start_text = start.to_string();
        let line = format!("{start_text:>8}  {kind:<7} {length:>8}  {then:<4}  {name}");
        writeln!(out, "{}", line.trim_end())?;
        start += segment.planned;
    }
    Ok(())
}

/// What a segment is about: the block's name where it begins, else what is done in it.
fn what(session: &Session, segment: &Segment, new_block: bool) -> String {
    let block = &session.blocks[segment.block.0 as usize];
    let mut parts = Vec::new();
    if new_block {
        parts.push(block.name.clone());
    }
    if let Some(movement) = segment.movement {
        parts.push(block.movements[movement.0 as usize].name.clone());
    }
    if let (Some(window), true) = (segment.window, segment.kind != SegmentKind::Rest) {
        parts.push(format!("{} of {}", window.number, window.of));
    }
    if segment.kind == SegmentKind::Rest && segment.lead_in > Span::ZERO {
        parts.push(format!("last {} lead in", segment.lead_in));
    }
    if let [name, _, ..] = parts.as_mut_slice() {
        *name = cut(name, NAME_CHARS);
    }
    cut(&parts.join(", "), WHAT_CHARS)
}

/// A text of at most `chars` characters.
fn cut(text: &str, chars: usize) -> String {
    if text.chars().count() <= chars {
        return text.to_owned();
    }
    text.chars().take(chars - 1).chain(['…']).collect()
}

fn write_totals(
    out: &mut fmt::Formatter<'_>,
    session: &Session,
    segments: &[Segment],
) -> fmt::Result {
    writeln!(out, "\n   total  block")?;
    for (index, block) in (0..).map(BlockIndex).zip(&session.blocks) {
        let time = block_total(segments, index).to_string();
        writeln!(out, "{time:>8}  {}", cut(&block.name, TOTAL_CHARS))?;
    }
    let all = total(segments).to_string();
    let fit = match time_fit(session, segments) {
        TimeFit::NoSlot => "in all; the sheet gives no slot".to_owned(),
        TimeFit::Fits { left } => format!("in all; it fits, {left} of the slot is left"),
        TimeFit::Over { by, could_give } => {
            let name = |index: BlockIndex| cut(&session.blocks[index.0 as usize].name, NAME_CHARS);
            let give = could_give.map(|index| format!("; could give: {}", name(index)));
            format!("in all; {by} over the slot{}", give.unwrap_or_default())
        }
    };
    writeln!(out, "{all:>8}  {fit}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::read;

    #[test]
    fn the_time_line_reads_down_the_page() {
        let sheet = "# Harbour\n\nSlot: 10 min\nPeople: 14\n\n## Talk\n\n\
                     ## Tide: AMRAP 2 min, 2 times, rest 1 min between\n\n- 9 sit-up\n\n\
                     ## Cool-down, coach-led\n\n- plank 20 s\n- a stretch with a name that is far \
                     too long for it\n\n## Rest 3 min\n";
        let expected = "\
Harbour
14 people expected

   start  segment   length  then  what
    0:00  open       ~3:00  call  Talk
    3:00  lead-in     0:10  next  Tide: AMRAP 2 min, 2 times, rest 1 min between
    3:10  work        2:00  next  1 of 2
    5:10  rest        1:00  next  last 0:10 lead in
    6:10  work        2:00  wait  2 of 2
    8:10  open        0:20  wait  Cool-down, coach-led, plank
    8:35  open       ~0:30  call  a stretch with a name that is far too long fo…
    9:05  rest        3:00  next  Rest 3 min

   total  block
    3:00  Talk
    5:10  Tide: AMRAP 2 min, 2 times, rest 1 min between
    0:55  Cool-down, coach-led
    3:00  Rest 3 min
   12:05  in all; 2:05 over the slot; could give: Rest 3 min
";
        assert_eq!(report(&read(sheet).session.unwrap()), expected);
    }
}
