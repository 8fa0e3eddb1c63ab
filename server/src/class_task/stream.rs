//! Frames of a class, encoded once for all who follow it at the same pace.
//!
//! A change goes out as one frame, through a channel that keeps the last few: whoever has fallen
//! further behind, or is new, takes the newest full state instead, which is encoded once for each
//! audience when the first of them asks.

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use axum::extract::ws::Utf8Bytes;
use floorbell_core::ids::{AthleteId, ClassId};
use floorbell_core::score::Scoring;
use floorbell_core::session::Session;
use floorbell_core::wire::{Frame, Join, Now, Row, State, ToDevice};
use tokio::sync::{broadcast, watch};

use crate::house::outlet::encode;

/// Frames that a connection may be behind by before it gets the full state instead: a quarter of a
/// second of a busy class. More would be a backlog, fewer would send the much larger state to
/// screens that merely stuttered.
const FRAMES_BEHIND_MAX: usize = 16;

/// Who looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Audience {
    /// Coach devices.
    Coach,
    /// Walls and phones, to whom cues and the coach's notes are not sent.
    Everyone,
}

/// The session as each audience has it.
#[derive(Debug)]
pub(crate) struct Sessions {
    coach: Session,
    everyone: Session,
}

impl Sessions {
    pub(crate) fn new(session: &Session) -> Self {
        Self { coach: session.clone(), everyone: for_everyone(session) }
    }

    pub(crate) fn of(&self, audience: Audience) -> &Session {
        match audience {
            Audience::Coach => &self.coach,
            Audience::Everyone => &self.everyone,
        }
    }
}

/// A session without what only coaches see.
fn for_everyone(session: &Session) -> Session {
    let mut session = session.clone();
    for block in &mut session.blocks {
        block.cues.clear();
        block.coach_notes.clear();
    }
    session
}

/// All that is shown of a class, as of one frame.
#[derive(Debug)]
pub(crate) struct Snapshot {
    pub(crate) number: u64,
    pub(crate) now: Arc<Now>,
    class: ClassId,
    sessions: Arc<Sessions>,
    join: Option<Join>,
    encoded: [OnceLock<Utf8Bytes>; 2],
}

impl Snapshot {
    /// The full state as text, encoded by the first who needs it.
    pub(crate) fn encoded(&self, audience: Audience) -> Utf8Bytes {
        let cell = match audience {
            Audience::Coach => &self.encoded[0],
            Audience::Everyone => &self.encoded[1],
        };
        let encoded = cell.get_or_init(|| {
            encode(&ToDevice::State(Box::new(State {
                number: self.number,
                class: self.class,
                session: self.sessions.of(audience).clone(),
                scoring: self.sessions.of(audience).blocks.iter().map(Scoring::of).collect(),
                join: self.join.clone(),
                now: Now::clone(&self.now),
            })))
        });
        encoded.clone()
    }
}

/// A frame as text.
#[derive(Clone, Debug)]
pub(crate) struct Numbered {
    pub(crate) number: u64,
    pub(crate) text: Utf8Bytes,
}

/// How soon changes of the board go out. What the clock did goes out at once everywhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Pace {
    /// As fast as a screen can show it: walls, coach devices, tally tablets.
    Quick,
    /// As fast as somebody who works looks at their phone. What they do themselves, they are shown
    /// at once in their own view.
    Calm,
}

/// One sequence of frames, with the state that they lead to.
#[derive(Debug)]
pub(super) struct Stream {
    snapshot: watch::Sender<Arc<Snapshot>>,
    frames: broadcast::Sender<Numbered>,
}

impl Stream {
    /// A sequence whose first state is `now`.
    pub(super) fn new(
        class: ClassId,
        sessions: Arc<Sessions>,
        join: Option<Join>,
        now: Arc<Now>,
    ) -> Self {
        let snapshot =
            Snapshot { number: 0, now, class, sessions, join, encoded: Default::default() };
        Self {
            snapshot: watch::Sender::new(Arc::new(snapshot)),
            frames: broadcast::Sender::new(FRAMES_BEHIND_MAX),
        }
    }

    /// The newest state.
    pub(super) fn snapshot(&self) -> Arc<Snapshot> {
        Arc::clone(&self.snapshot.borrow())
    }

    /// Frames from now on.
    pub(super) fn frames(&self) -> broadcast::Receiver<Numbered> {
        self.frames.subscribe()
    }

    /// Shows `now`, as far as it differs from what was shown.
    pub(super) fn publish(&self, now: Arc<Now>) {
        let last = self.snapshot();
        // A frame cannot say that the class has not begun after all (a start taken back): the gap
        // in the numbers has everyone take the full state.
        let unbegun = last.now.started.is_some() && now.started.is_none();
        let number = last.number + if unbegun { 2 } else { 1 };
        let Some(frame) = changes(&last.now, &now, number) else { return };
        let text = encode(&ToDevice::Frame(Box::new(frame)));
        self.snapshot.send_replace(Arc::new(Snapshot {
            number,
            class: last.class,
            sessions: Arc::clone(&last.sessions),
            // A closed class lets nobody in.
            join: last.join.clone().filter(|_| !now.closed),
            now,
            encoded: Default::default(),
        }));
        // An error says that nobody looks.
        let _ = self.frames.send(Numbered { number, text });
    }

    /// Whether `now` differs from what was shown in more than the board.
    pub(super) fn is_urgent(&self, now: &Now) -> bool {
        let shown = &self.snapshot().now;
        let Now { clock, segments, swaps, started, closed, rows } = now;
        (clock, segments, swaps, started, closed, rows.len())
            != (
                &shown.clock,
                &shown.segments,
                &shown.swaps,
                &shown.started,
                &shown.closed,
                shown.rows.len(),
            )
    }
}

/// What leads from one state to the next; nothing where they are the same.
fn changes(from: &Now, to: &Now, number: u64) -> Option<Frame> {
    let old: BTreeMap<AthleteId, &Row> = from.rows.iter().map(|row| (row.athlete, row)).collect();
    let rows: Vec<Row> = to
        .rows
        .iter()
        .filter(|row| old.get(&row.athlete).is_none_or(|old| old != row))
        .cloned()
        .collect();
    let stays = |athlete: AthleteId| to.rows.iter().any(|row| row.athlete == athlete);
    let gone = old.keys().copied().filter(|&athlete| !stays(athlete)).collect();
    let frame = Frame {
        number,
        clock: (from.clock != to.clock).then(|| to.clock.clone()),
        segments: (from.segments != to.segments).then(|| to.segments.clone()),
        swaps: (from.swaps != to.swaps).then(|| to.swaps.clone()),
        started: to.started.filter(|_| from.started != to.started),
        closed: (from.closed != to.closed).then_some(to.closed),
        rows,
        gone,
    };
    (frame != Frame { number, ..Frame::default() }).then_some(frame)
}
