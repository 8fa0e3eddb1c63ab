//! The coach's session sheets: kept, read, and checked.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::IntoResponse;
use floorbell_core::name::Name;
use floorbell_core::session::report::report;
use floorbell_core::sheet;
use serde_json::{Value, json};

use super::App;
use super::body::SentText;
use super::problem::Problem;
use super::sign_in::blocking;
use crate::store::{Record, Sheet};

/// One byte more than a sheet may have, so that one that is just too long is told so by its reader.
pub(super) const BODY_BYTES_MAX: usize = sheet::BYTES_MAX + 1;

/// All sheets, with how many problems each has.
pub(super) async fn list(State(app): State<Arc<App>>) -> Result<Json<Vec<Value>>, Problem> {
    // Reading them all takes a millisecond each.
    blocking(move || {
        let line = |Sheet { name, text, .. }| {
            let reading = sheet::read(&text);
            let title = reading.session.map_or_else(|| name.clone(), |session| session.title);
            json!({ "name": name, "title": title, "problems": reading.problems.len() })
        };
        Ok(Json(app.store.sheets()?.into_iter().map(line).collect()))
    })
    .await?
}

/// One sheet, as its coach wrote it.
pub(super) async fn show(
    State(app): State<Arc<App>>,
    Path(name): Path<String>,
) -> Result<impl IntoResponse, Problem> {
    let text = find(&app, &name)?.text;
    Ok(([(header::CONTENT_TYPE, "text/markdown; charset=utf-8")], text))
}

/// Keeps a sheet as a new version, even one that has problems: a coach may stop in the middle.
pub(super) async fn save(
    State(app): State<Arc<App>>,
    Path(name): Path<String>,
    SentText(text): SentText,
) -> Result<Json<Value>, Problem> {
    let name = Name::new(&name)?;
    let problems = sheet::read(&text).problems;
    let saved = app.clock.wall();
    app.store.write(vec![Record::Sheet { name: name.into(), text, saved }]).await?;
    Ok(Json(json!({ "problems": problems })))
}

/// Reads a sheet without keeping it.
pub(super) async fn check(SentText(text): SentText) -> Json<Value> {
    let reading = sheet::read(&text);
    let report = reading.session.as_ref().map(report).unwrap_or_default();
    Json(json!({ "problems": reading.problems, "report": report }))
}

/// A sheet that there is.
pub(super) fn find(app: &App, name: &str) -> Result<Sheet, Problem> {
    app.store.sheet(name)?.ok_or_else(|| Problem::not_found("There is no sheet of that name."))
}
