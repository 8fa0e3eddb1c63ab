//! Opening a class of a sheet, the classes that were, and the way to the one that is open.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Query, State};
use axum::http::{StatusCode, header};
use axum::response::IntoResponse;
use floorbell_core::sheet;
use serde::Deserialize;
use serde_json::{Value, json};

use super::body::Sent;
use super::problem::Problem;
use super::{App, sheets};
use crate::access::Token;
use crate::house::OpenClass;
use crate::qr;

/// What the coach sends to open a class.
#[derive(Deserialize)]
pub(super) struct Open {
    sheet: String,
}

/// Opens a class.
pub(super) async fn open(
    State(app): State<Arc<App>>,
    Sent(sent): Sent<Open>,
) -> Result<Json<Value>, Problem> {
    let reading = sheet::read(&sheets::find(&app, &sent.sheet)?.text);
    let Some(session) = reading.session else {
        let detail = "The sheet cannot be read yet: mend what is marked in it.";
        return Err(Problem::new(StatusCode::UNPROCESSABLE_ENTITY, detail)
            .with("problems", json!(reading.problems)));
    };
    let open = app.house.open_class(&sent.sheet, session).await?;
    Ok(Json(shown(&open)))
}

/// The class that is open and those that were.
pub(super) async fn list(State(app): State<Arc<App>>) -> Result<Json<Value>, Problem> {
    let past = app.store.classes()?.into_iter().filter(|class| class.closed.is_some());
    let past = past.map(|class| {
        let opened = class.opened_wall.as_micros() / 1_000;
        json!({ "class": class.id, "title": class.title, "opened": opened })
    });
    let open = app.house.current();
    Ok(Json(json!({ "open": open.as_ref().map(shown), "past": past.collect::<Vec<_>>() })))
}

/// Whose address the picture is to hold.
#[derive(Deserialize)]
pub(super) struct Whose {
    /// The token of a personal link; without one, the address that lets anybody in.
    me: Option<String>,
}

/// The address that phones scan, as a picture.
pub(super) async fn qr(
    State(app): State<Arc<App>>,
    Query(Whose { me }): Query<Whose>,
) -> Result<impl IntoResponse, Problem> {
    let open = app.house.current();
    let open = open.ok_or_else(|| Problem::not_found("No class is open: open one first."))?;
    let address = match me.as_deref().map(Token::parse) {
        None => open.address,
        Some(Some(token)) => {
            let (page, _) = open.address.split_once('#').unwrap_or((&open.address, ""));
            format!("{page}#me={token}")
        }
        Some(None) => return Err(Problem::bad_request("That is no personal link: add them anew.")),
    };
    Ok(([(header::CONTENT_TYPE, "image/svg+xml")], qr::svg(&address)))
}

fn shown(open: &OpenClass) -> Value {
    json!({
        "class": open.class,
        "title": open.title,
        "code": open.code.to_string(),
        "address": open.address,
    })
}
