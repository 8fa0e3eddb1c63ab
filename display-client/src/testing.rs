//! Small values for the tests of what screens show: lengths and instants in seconds.

use floorbell_core::class::clock::{Clock, Phase};
use floorbell_core::ids::{AthleteId, BlockIndex, ClassId, Revision, SegmentIndex};
use floorbell_core::score::{Scoring, Tally};
use floorbell_core::session::AfterBell;
use floorbell_core::session::layout::{Segment, SegmentKind, segments};
use floorbell_core::sheet;
use floorbell_core::time::{HouseTime, Span};
use floorbell_core::wire::{Join, Now, Row, Score, State};
use uuid::Uuid;

pub(crate) fn house(seconds: f64) -> HouseTime {
    HouseTime::from_micros((seconds * 1e6).round() as i64)
}

pub(crate) fn segment(kind: SegmentKind, length: Option<i64>, after: AfterBell) -> Segment {
    Segment {
        block: BlockIndex(0),
        kind,
        length: length.map(Span::from_secs),
        planned: Span::from_secs(length.unwrap_or(60)),
        after,
        window: None,
        movement: None,
        lead_in: Span::ZERO,
        announce: true,
        dropped: false,
    }
}

pub(crate) fn running(segment: u32, anchor: f64, at_anchor: i64, added: i64) -> Clock {
    let phase = Phase::Running {
        segment: SegmentIndex(segment),
        anchor: house(anchor),
        at_anchor: Span::from_secs(at_anchor),
        added: Span::from_secs(added),
    };
    clock(phase)
}

pub(crate) fn clock(phase: Phase) -> Clock {
    Clock { revision: Revision(1), phase, stopped: false }
}

/// The class of a sheet, with nobody in it.
pub(crate) fn state(sheet: &str, clock: Clock) -> State {
    let session = sheet::read(sheet).session.expect("the sheet is sound");
    let now = Now {
        clock,
        segments: segments(&session),
        swaps: Vec::new(),
        started: None,
        closed: false,
        rows: Vec::new(),
    };
    let join = Join {
        code: "CDFG-3479".into(),
        address: "http://quayside.local:7600/#c=CDFG-3479".into(),
    };
    let scoring = session.blocks.iter().map(Scoring::of).collect();
    State { number: 1, class: ClassId(Uuid::from_u128(1)), session, scoring, join: Some(join), now }
}

/// Somebody who has a tally in one block, or none yet.
pub(crate) fn row(name: &str, block: u32, place: Option<u32>, tally: Option<Tally>) -> Row {
    // Told apart by their names.
    let id = name.bytes().fold(7_u128, |id, byte| id.wrapping_mul(251) + u128::from(byte));
    Row {
        athlete: AthleteId(Uuid::from_u128(id)),
        name: name.into(),
        at_home: false,
        scaled: false,
        scores: vec![Score {
            block: BlockIndex(block),
            tally,
            place,
            windows: Vec::new(),
            pace: None,
            last_at: None,
            marked: false,
        }],
        overall: place,
        total_reps: None,
        team: None,
    }
}

pub(crate) fn rounds(rounds: u32, extra: u32) -> Tally {
    Tally::Rounds { rounds, extra }
}
