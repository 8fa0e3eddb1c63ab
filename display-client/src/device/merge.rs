//! Taking a frame into the state that it changes.

use floorbell_core::wire::{Frame, State};

/// Changes what the frame names and leaves the rest alone.
pub(super) fn merge(state: &mut State, frame: &Frame) {
    let Frame { number, clock, segments, swaps, started, closed, rows, gone } = frame.clone();
    let now = &mut state.now;
    state.number = number;
    now.clock = clock.unwrap_or_else(|| now.clock.clone());
    now.started = started.or(now.started);
    now.closed = closed.unwrap_or(now.closed);
    if let Some(segments) = segments {
        now.segments = segments;
    }
    if let Some(swaps) = swaps {
        now.swaps = swaps;
    }
    now.rows.retain(|row| !gone.contains(&row.athlete));
    for row in rows {
        match now.rows.iter_mut().find(|known| known.athlete == row.athlete) {
            Some(known) => *known = row,
            None => now.rows.push(row),
        }
    }
}
