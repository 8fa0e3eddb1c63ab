//! The house's name and what its stop notice says.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use floorbell_core::name::Name;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

use super::App;
use super::body::Sent;
use super::problem::Problem;
use crate::house::Settings;

/// Characters of the stop notice: a number to call and where two things are, still read from the far
/// end of the floor.
const EMERGENCY_CHARACTERS_MAX: usize = 280;

/// The settings as the coach sees and sends them.
#[derive(Deserialize, Serialize)]
pub(super) struct Shown {
    house: String,
    emergency: String,
    /// Whether boards show places.
    #[serde(default = "shown")]
    places: bool,
}

/// Where nothing is said.
const fn shown() -> bool {
    true
}

/// What anyone may know of the house.
pub(super) async fn house(State(app): State<Arc<App>>) -> Result<Json<Value>, Problem> {
    Ok(Json(json!({
        "house": app.house.settings().house,
        "set_up": app.store.settings()?.passphrase.is_some(),
        "secure": app.secure,
    })))
}

/// The settings.
pub(super) async fn show(State(app): State<Arc<App>>) -> Json<Shown> {
    let Settings { house, emergency, places } = app.house.settings();
    Json(Shown { house: house.into(), emergency, places })
}

/// Changes them.
pub(super) async fn save(
    State(app): State<Arc<App>>,
    Sent(sent): Sent<Shown>,
) -> Result<StatusCode, Problem> {
    let settings = Settings {
        house: Name::new(&sent.house)?,
        emergency: emergency(sent.emergency)?,
        places: sent.places,
    };
    app.house.set_settings(settings).await?;
    Ok(StatusCode::NO_CONTENT)
}

/// What the stop notice may say.
pub(super) fn emergency(text: String) -> Result<String, Problem> {
    if text.chars().count() > EMERGENCY_CHARACTERS_MAX {
        Err(Problem::bad_request(format!(
            "The stop notice is too long: use up to {EMERGENCY_CHARACTERS_MAX} characters."
        )))
    } else if text.chars().any(|c| c.is_control() && c != '\n') {
        Err(Problem::bad_request("The stop notice holds an invisible control character."))
    } else {
        Ok(text)
    }
}
