//! Following a class: the WebSocket that everything live goes through.

use std::sync::Arc;

use axum::Extension;
use axum::extract::State;
use axum::extract::ws::WebSocketUpgrade;
use axum::extract::ws::rejection::WebSocketUpgradeRejection;
use axum::response::Response;

use super::App;
use super::problem::Problem;
use crate::house::Identity;

/// Hands a connection to the house.
pub(super) async fn follow(
    State(app): State<Arc<App>>,
    Extension(identity): Extension<Identity>,
    upgrade: Result<WebSocketUpgrade, WebSocketUpgradeRejection>,
) -> Result<Response, Problem> {
    let upgrade = upgrade.map_err(|rejection| {
        Problem::bad_request(format!("A class is followed over a WebSocket: {rejection}."))
    })?;
    Ok(app.house.follow(upgrade, identity)?)
}
