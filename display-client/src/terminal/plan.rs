//! The wall's words for where the class is: which window, what comes next, which block's movements
//! are shown. As on the browser wall (`web/src/wall/plan-words.ts`).

use floorbell_core::ids::{BlockIndex, MovementIndex, SegmentIndex};
use floorbell_core::session::layout::{Segment, SegmentKind};
use floorbell_core::session::{Block, BlockKind, Format};
use floorbell_core::wire::State;

use crate::showing::{Hand, Standing};
use crate::words::{
    MovementWords, format_of, joined, kind_words, minutes, movements_now, piece_words,
    segment_words, title_of,
};

fn block(state: &State, index: BlockIndex) -> Option<&Block> {
    state.session.blocks.get(index.0 as usize)
}

fn segment(state: &State, index: Option<SegmentIndex>) -> Option<&Segment> {
    state.now.segments.get(index?.0 as usize)
}

/// A block's title; empty for one that the plan does not have.
pub(super) fn title(state: &State, index: BlockIndex) -> &str {
    block(state, index).map_or("", title_of)
}

/// `Work`, `Held`, `Work · over`, or the title of a block that is not a piece.
pub(super) fn phase_words(state: &State, standing: &Standing<'_>) -> String {
    let kind = standing.kind_shown();
    let word = if kind == standing.segment.kind {
        segment_words(standing.segment, block(state, standing.segment.block))
    } else {
        kind_words(kind)
    };
    match standing.hand {
        Hand::Held => "Held".to_owned(),
        Hand::Waiting { .. } => format!("{word} · over"),
        Hand::Running { .. } | Hand::Resuming { .. } => word.to_owned(),
    }
}

/// `Window 2 of 4`, `Interval 3 of 8`, or the round of a coach-led block; a rest has none of its own.
pub(super) fn window_title(state: &State, standing: &Standing<'_>) -> String {
    let segment = standing.segment;
    let window = window_words(segment);
    if window.is_empty() || matches!(segment.kind, SegmentKind::Rest | SegmentKind::LeadIn) {
        return String::new();
    }
    let title = match format_of(block(state, segment.block)) {
        None => "Round",
        Some(Format::EveryN { .. } | Format::Intervals { .. }) => "Interval",
        Some(_) => "Window",
    };
    format!("{title} {window}")
}

/// Which of how many, where there are several.
fn window_words(segment: &Segment) -> String {
    match segment.window {
        Some(window) if window.of > 1 => format!("{} of {}", window.number, window.of),
        _ => String::new(),
    }
}

/// What follows this segment, or why the clock stands.
pub(super) fn next_line(state: &State, standing: &Standing<'_>) -> String {
    match standing.hand {
        Hand::Held => "The clock is held".to_owned(),
        Hand::Resuming { .. } => "Work goes on from here".to_owned(),
        Hand::Running { .. } | Hand::Waiting { .. } => {
            format!("Next: {}", next_words(state, standing))
        }
    }
}

/// The segment after this one: `Rest 1:30`, `Work 4:00 · 3 of 4`, or the block that follows.
fn next_words(state: &State, standing: &Standing<'_>) -> String {
    let Some(next) = segment(state, standing.next) else {
        return "end of the class".to_owned();
    };
    let length = next.length.map(minutes).unwrap_or_default();
    let spaced = |name: &str, length: &str| format!("{name} {length}").trim().to_owned();
    let own = block(state, next.block);
    if next.block != standing.segment.block {
        let length = if next.kind == SegmentKind::LeadIn { "" } else { &length };
        return spaced(title(state, next.block), length);
    }
    if let Some(MovementIndex(movement)) = next.movement {
        let movement = own.and_then(|own| own.movements.get(movement as usize));
        return spaced(movement.map_or("", |movement| &movement.name), &length);
    }
    let window = if next.kind == SegmentKind::Work { window_words(next) } else { String::new() };
    joined(&[&spaced(kind_words(next.kind), &length), &window])
}

/// Whether a block has a board.
pub(super) fn has_board(block: Option<&Block>) -> bool {
    !matches!(format_of(block), None | Some(Format::Quality { .. }))
}

/// The piece whose board is shown: this block, or in a rest between blocks the piece before it.
pub(super) fn scored_block(state: &State, index: BlockIndex) -> Option<BlockIndex> {
    let own = block(state, index);
    if has_board(own) {
        return Some(index);
    }
    if !matches!(own?.kind, BlockKind::Rest { .. }) {
        return None;
    }
    (0..index.0).rev().map(BlockIndex).find(|&before| has_board(block(state, before)))
}

/// What is told beside the clock; a part that is empty takes no room.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct Told {
    /// What the sheet says for everyone.
    pub(super) text: Vec<String>,
    /// Which block the movements are of, where the phase does not say it.
    pub(super) title: String,
    /// How it is timed and scored.
    pub(super) how: String,
    pub(super) movements: Vec<MovementWords>,
    /// The movement that a coach-led block is at.
    pub(super) current: Option<usize>,
    /// How it should feel; shown where there is room.
    pub(super) aim: String,
}

/// A block's own movements, named where it is a piece; in a rest those of the block that follows. A
/// block without a score has its text above them. A talk without any has what the sheet says for
/// everyone, and any other block that has no movements looks ahead like a rest.
pub(super) fn told(state: &State, standing: &Standing<'_>) -> Told {
    let index = standing.segment.block;
    let Some(own) = block(state, index) else {
        return Told::default();
    };
    let talk = matches!(own.kind, BlockKind::Talk(_));
    let text = match own.kind {
        BlockKind::Piece(_) | BlockKind::Rest { .. } => &[][..],
        _ if talk && own.notes.is_empty() => &state.session.notes,
        _ => &own.notes,
    };
    let following = segment(state, standing.next).map(|segment| segment.block);
    let looks_ahead = own.movements.is_empty() && (!talk || text.is_empty());
    let shown = following.filter(|_| looks_ahead).unwrap_or(index);
    let shown_block = block(state, shown);
    Told {
        text: text.to_vec(),
        title: match own.kind {
            _ if shown != index => format!("Next: {}", title(state, shown)),
            BlockKind::Piece(_) => title_of(own).to_owned(),
            _ => String::new(),
        },
        how: shown_block.and_then(|it| it.kind.piece()).map(piece_words).unwrap_or_default(),
        aim: shown_block
            .and_then(|it| it.aim.as_ref())
            .map_or(String::new(), |aim| format!("Aim: {}", aim.text)),
        movements: movements_now(state, shown),
        current: standing.segment.movement.filter(|_| shown == index).map(|it| it.0 as usize),
    }
}

#[cfg(test)]
mod tests {
    use floorbell_core::class::clock::Plan;

    use super::*;
    use crate::showing::{Showing, showing};
    use crate::testing::{house, running, state};

    /// Segments: 0 talk, 1 warm-up, 2 set-up, 3 lead-in, 4 work, 5 rest, 6 work, 7 rest, 8 to 10 work,
    /// rest and work, 11 and 12 a drill.
    const SHEET: &str = "# Harbour evening

Water stands by the door.

## Talk: what we do tonight, 5 min

## Warm-up: casting off, 10 min

- 2:00 easy row

## Set-up: gear, 3 min

Keep the lane free.

## Quay run: AMRAP 9 min

Aim: steady.

- 8 goblet squat

## Rest at the water, 5 min

## Coil the rope: quality for 10 min

- 40 s plank

## Rest 3 min

## Two tides: AMRAP 4 min, 2 times, rest 1:30 between

- 5 squat

## Drill: the squat, coach-led, 2 rounds

- 20 s hang
";

    fn at<T>(segment: u32, f: impl Fn(&State, &Standing<'_>) -> T) -> T {
        let state = state(SHEET, running(segment, 0.0, 0, 0));
        let plan = Plan::new(state.now.segments.clone());
        let Showing::Standing(now) = showing(&state.now.clock, &plan, house(0.0)) else {
            panic!("no segment stands");
        };
        f(&state, &now)
    }

    #[test]
    fn what_is_told_beside_the_clock() {
        for (segment, text, title, movement) in [
            (0, "Water stands by the door.", "", ""),
            (1, "", "", "easy row"),
            (2, "Keep the lane free.", "Next: Quay run", "goblet squat"),
            (3, "", "Quay run", "goblet squat"),
            (4, "", "Quay run", "goblet squat"),
            (5, "", "Next: Coil the rope", "plank"),
        ] {
            let told = at(segment, told);
            let names: Vec<&str> = told.movements.iter().map(|it| &*it.name).collect();
            assert_eq!(
                (&*told.text.join("\n"), &*told.title, &*names.join(",")),
                (text, title, movement),
                "{segment}"
            );
        }
        let work = at(4, told);
        assert_eq!(
            (&*work.how, &*work.aim),
            ("As many rounds as possible in 9:00", "Aim: steady.")
        );
        assert_eq!(at(11, told).current, Some(0));
    }

    #[test]
    fn what_comes_next_and_which_window_it_is() {
        for (segment, next, window) in [
            (0, "Next: Warm-up: casting off 10:00", ""),
            (2, "Next: Quay run", ""),
            (3, "Next: Work 9:00", ""),
            (4, "Next: Rest at the water 5:00", ""),
            (8, "Next: Rest 1:30", "Window 1 of 2"),
            (9, "Next: Work 4:00 · 2 of 2", ""),
            (11, "Next: hang 0:20", "Round 1 of 2"),
            (12, "Next: end of the class", "Round 2 of 2"),
        ] {
            assert_eq!((&*at(segment, next_line), &*at(segment, window_title)), (next, window));
        }
    }

    #[test]
    fn a_rest_shows_the_board_before_it_and_quality_has_none() {
        let state = state(SHEET, running(0, 0.0, 0, 0));
        let shown: Vec<_> = (0..9)
            .map(|index| scored_block(&state, BlockIndex(index)).map(|found| found.0))
            .collect();
        let three = Some(3);
        assert_eq!(shown, [None, None, None, three, three, None, three, Some(7), None]);
    }
}
