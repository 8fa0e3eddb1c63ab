//! How a tally came about: who, when, from, to and why, read from the journal.

use std::sync::Arc;

use axum::Json;
use axum::extract::rejection::{PathRejection, QueryRejection};
use axum::extract::{Path, Query, State};
use floorbell_core::class::command::{Actor, Counts, Settlement};
use floorbell_core::class::history::{Change, What, bearing_on, history};
use floorbell_core::ids::{AthleteId, ClassId, SegmentIndex};
use floorbell_core::score::{Mark, Standing};
use serde::Deserialize;
use serde_json::{Value, json};

use super::App;
use super::problem::Problem;
use super::sign_in::blocking;
use crate::class_task::stamped;
use crate::store::{Person, StoreError};

/// Which tally.
#[derive(Clone, Copy, Deserialize)]
pub(super) struct Which {
    athlete: AthleteId,
    segment: SegmentIndex,
}

/// The history of one tally, oldest first.
pub(super) async fn show(
    State(app): State<Arc<App>>,
    class: Result<Path<ClassId>, PathRejection>,
    which: Result<Query<Which>, QueryRejection>,
) -> Result<Json<Value>, Problem> {
    let (Ok(Path(class)), Ok(Query(which))) = (class, which) else {
        return Err(Problem::bad_request(
            "Say of whom and which work: /api/classes/CLASS/history?athlete=ATHLETE&segment=1.",
        ));
    };
    let changes = blocking(move || read(&app, class, which)).await??;
    Ok(Json(json!({ "changes": changes })))
}

/// Reads it; may block.
fn read(app: &App, class: ClassId, which: Which) -> Result<Vec<Value>, Problem> {
    let entries = app.store.load(class)?;
    if entries.is_empty() {
        return Err(Problem::not_found("There is no such class."));
    }
    let people = app.store.people(class)?;
    let events = bearing_on(stamped(class, entries)?, which.athlete);
    let changes = history(&events, which.athlete, which.segment)
        .map_err(|broken| StoreError::Damaged(format!("class {class}: {broken}")))?;
    Ok(changes.iter().map(|change| shown(change, &people)).collect())
}

fn shown(change: &Change, people: &[Person]) -> Value {
    let class_time = match &change.what {
        What::Tap { worth: Standing::Counted { at, .. }, .. } => Some(*at),
        _ => None,
    };
    json!({
        "at": change.at,
        "class_time": class_time,
        "who": who(change.by, people),
        "what": word(&change.what),
        "why": why(&change.what, people),
        "from": change.from,
        "to": change.to,
    })
}

fn who(by: Option<Actor>, people: &[Person]) -> String {
    match by {
        Some(Actor::Coach { .. }) => "Coach".to_owned(),
        Some(Actor::Tablet { .. }) => "Tally tablet".to_owned(),
        Some(Actor::Athlete { athlete, .. }) => name(athlete, people),
        None => "Clock".to_owned(),
    }
}

fn name(athlete: AthleteId, people: &[Person]) -> String {
    let person = people.iter().find(|person| person.athlete == athlete);
    person.map_or_else(|| "Somebody who left".to_owned(), |person| person.name.to_string())
}

fn word(what: &What) -> &'static str {
    match what {
        What::Tap { .. } => "tap",
        What::Undo => "undo",
        What::Entry => "entry",
        What::Set => "set",
        What::Settled { .. } => "settled",
        What::Counter { .. } => "counter",
        What::Choice { .. } => "choice",
        What::Call { .. } | What::TakenBack => "call",
        What::Plan => "plan",
        What::Bell => "bell",
    }
}

/// What happened, as a sentence.
fn why(what: &What, people: &[Person]) -> String {
    match what {
        What::Tap { counts, worth, .. } => tapped(*counts, worth),
        What::Undo => "Took a tap back.".to_owned(),
        What::Entry => "Entered extra reps.".to_owned(),
        What::Set => "Set the tally.".to_owned(),
        What::Settled { settlement } => match settlement {
            Settlement::Tap { counts: true, .. } => "Looked at a tap: it counts.".to_owned(),
            Settlement::Tap { .. } => "Looked at a tap: it does not count.".to_owned(),
            Settlement::TallyStands => "Looked at the tally: it stands.".to_owned(),
        },
        What::Counter { counter: Some(counter) } => {
            format!("From here on {} counts.", name(*counter, people))
        }
        What::Counter { counter: None } => "From here on they count themselves.".to_owned(),
        What::Choice { scaled: true } => "Scaled from here on.".to_owned(),
        What::Choice { scaled: false } => "As written from here on.".to_owned(),
        What::Call { call } => format!("Called {}.", call.word()),
        What::TakenBack => "Took a call back.".to_owned(),
        What::Plan => "The plan, the teams or who is here changed.".to_owned(),
        What::Bell => "A bell went.".to_owned(),
    }
}

fn tapped(counts: Counts, worth: &Standing) -> String {
    let what = match counts {
        Counts::Round => "a round".to_owned(),
        Counts::RoundBefore => "a round from before".to_owned(),
        Counts::Amount { amount } => amount.to_string(),
        Counts::Finish => "the finish".to_owned(),
        Counts::Attempt { grams, good } => {
            let word = if good { "good" } else { "no lift" };
            format!("{} kg, {word}", f64::from(grams) / 1_000.0)
        }
    };
    match worth {
        Standing::Counted { mark: None, .. } => format!("Tapped {what}."),
        Standing::Counted { mark: Some(mark), .. } => {
            format!("Tapped {what}; marked: {}.", mark_words(*mark))
        }
        Standing::NotCounted { why, .. } => format!("Tapped {what}. {}", why.sentence()),
    }
}

const fn mark_words(mark: Mark) -> &'static str {
    match mark {
        Mark::AfterBell => "just after the bell",
        Mark::AfterHold => "just after a hold",
        Mark::AheadOfTime => "dated ahead of its time",
        Mark::Backdated => "dated long before it came",
        Mark::Quick => "sooner than a round can be done",
        Mark::OtherSegment => "made for another segment",
    }
}
