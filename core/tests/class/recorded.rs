//! Recorded cases of places and of what is read from splits, which numpy and scipy work out as well
//! (`tests/python/test_score_cases.py`).

use floorbell_core::class::command::Counts;
use floorbell_core::review::{fade, median, on_pace_for, on_rate_for, steadiness};
use floorbell_core::score::Tally;
use floorbell_core::score::board::{places, whole_class};
use floorbell_core::time::Span;
use serde::Deserialize;

use crate::floor::{Floor, athlete};

#[derive(Deserialize)]
struct Boards {
    boards: Vec<Board>,
    whole_class: Vec<WholeClass>,
}

#[derive(Deserialize)]
struct Board {
    name: String,
    tallies: Vec<Option<Tally>>,
    places: Vec<Option<u32>>,
}

#[derive(Deserialize)]
struct WholeClass {
    name: String,
    by_piece: Vec<Vec<Option<u32>>>,
    overall: Vec<Option<u32>>,
}

#[derive(Deserialize)]
struct Review {
    splits: Vec<Tapped>,
    readings: Vec<Reading>,
    paces: Vec<Pace>,
    rates: Vec<Rate>,
}

#[derive(Deserialize)]
struct Tapped {
    name: String,
    taps: Vec<Span>,
    splits: Vec<Span>,
}

#[derive(Deserialize)]
struct Reading {
    name: String,
    splits: Vec<Span>,
    median: Option<Span>,
    steadiness: Option<f64>,
    fade: Option<f64>,
}

#[derive(Deserialize)]
struct Pace {
    name: String,
    rounds: u32,
    last: Span,
    window: Span,
    splits: Vec<Span>,
    round_reps: u32,
    tally: Option<Tally>,
}

#[derive(Deserialize)]
struct Rate {
    name: String,
    done: u32,
    in_last_minute: u32,
    left: Span,
    on_pace_for: u32,
}

fn boards() -> Boards {
    serde_json::from_str(include_str!("../../../display-client/cases/places.json")).expect("reads")
}

fn review() -> Review {
    serde_json::from_str(include_str!("../../../display-client/cases/review.json")).expect("reads")
}

fn near(found: Option<f64>, expected: Option<f64>) -> bool {
    match (found, expected) {
        (Some(found), Some(expected)) => (found - expected).abs() <= 1e-9,
        (found, expected) => found.is_none() && expected.is_none(),
    }
}

#[test]
fn places_on_recorded_boards() {
    let Boards { boards, whole_class: classes } = boards();
    assert!(boards.len() > 20 && classes.len() > 10, "the file has its cases");
    for Board { name, tallies, places: expected } in boards {
        assert_eq!(places(&tallies, Tally::rank), expected, "{name}");
    }
    for WholeClass { name, by_piece, overall } in classes {
        assert_eq!(whole_class(&by_piece), overall, "{name}");
    }
}

#[test]
fn taps_give_the_recorded_splits() {
    let cases = review().splits;
    assert!(!cases.is_empty());
    for Tapped { name, taps, splits } in cases {
        let mut floor = Floor::in_amrap(30);
        floor.join(1);
        let (work, start) = (floor.work(), floor.now);
        floor.pass(Span::from_mins(29));
        for &tap in &taps {
            let tap = floor.tap_made(1, work, start + tap);
            assert_eq!(tap.counts, Counts::Round);
            floor.late(&tap);
        }
        assert_eq!(floor.class.windows(athlete(1))[0].splits, splits, "{name}");
    }
}

#[test]
fn recorded_splits_read_as_recorded() {
    let cases = review().readings;
    assert!(cases.len() > 20, "the file has its cases");
    for case in cases {
        let (name, splits) = (case.name, case.splits);
        assert_eq!(median(&splits), case.median, "{name}");
        let found = (steadiness(&splits), fade(&splits));
        let both = near(found.0, case.steadiness) && near(found.1, case.fade);
        assert!(both, "{name}: {found:?}, expected {:?}", (case.steadiness, case.fade));
    }
}

#[test]
fn recorded_paces() {
    let Review { paces, rates, .. } = review();
    assert!(!paces.is_empty() && !rates.is_empty());
    for Pace { name, rounds, last, window, splits, round_reps, tally } in paces {
        assert_eq!(on_pace_for(rounds, last, window, &splits, round_reps), tally, "{name}");
    }
    for Rate { name, done, in_last_minute, left, on_pace_for } in rates {
        assert_eq!(on_rate_for(done, in_last_minute, left), on_pace_for, "{name}");
    }
}
