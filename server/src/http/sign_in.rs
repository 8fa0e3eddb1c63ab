//! The coach's way in: the passphrase, which is set once through the one-time link that the first
//! start shows, and signing in and out with it.

use std::sync::Arc;

use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::{Extension, Json};
use floorbell_core::name::Name;
use serde::Deserialize;
use serde_json::json;

use super::accept::Peer;
use super::body::Sent;
use super::problem::Problem;
use super::{App, forgive, grant, settings};
use crate::access::{Holder, Passphrase, PassphraseHash, Role, Sender, Token};
use crate::house::{Identity, Settings};
use crate::store::{Record, Setting};

/// What the set-up page sends.
#[derive(Deserialize)]
pub(super) struct SetUp {
    token: String,
    passphrase: String,
    house: Option<String>,
    emergency: Option<String>,
}

/// Sets the passphrase and signs in. The link's token is worth nothing from then on.
pub(super) async fn set_up(
    State(app): State<Arc<App>>,
    Extension(Peer(peer)): Extension<Peer>,
    Extension(sender): Extension<Sender>,
    Sent(sent): Sent<SetUp>,
) -> Result<Response, Problem> {
    app.charge(&app.guesses.set_up, peer)?;
    // Held to the end: of two that use the link at once, the second finds the house set up.
    let turn = app.hashing.lock().await;
    let stored = app.store.settings()?;
    if stored.passphrase.is_some() {
        return Err(Problem::conflict("The house has its passphrase already: sign in with it."));
    }
    let shown = Token::parse(&sent.token).map(|token| token.hash());
    if shown.is_none() || shown != stored.setup_token {
        return Err(Problem::new(
            StatusCode::FORBIDDEN,
            "This set-up link is not valid. Use the one that the server showed when it last \
             started, or start it again for a new one.",
        ));
    }
    forgive(&app.guesses.set_up, peer);
    let passphrase = Passphrase::new(&sent.passphrase)
        .map_err(|problem| Problem::bad_request(problem.to_string()))?;
    let before = app.house.settings();
    let settings = Settings {
        house: sent.house.as_deref().map_or(Ok(before.house), Name::new)?,
        emergency: sent.emergency.map_or(Ok(before.emergency), settings::emergency)?,
        places: before.places,
    };
    let hash = blocking(move || PassphraseHash::of(&passphrase)).await?;
    let token = Token::random();
    let session = grant(&token, Holder::Coach, app.clock.wall());
    app.store.write(vec![Record::Setting(Setting::Passphrase(hash)), session]).await?;
    app.house.set_settings(settings).await?;
    drop(turn);
    tracing::info!(%peer, "the passphrase was set");
    Ok(signed_in(&app, sender, &token))
}

/// What the sign-in page sends.
#[derive(Deserialize)]
pub(super) struct SignIn {
    passphrase: String,
}

/// Signs a coach in.
pub(super) async fn sign_in(
    State(app): State<Arc<App>>,
    Extension(Peer(peer)): Extension<Peer>,
    Extension(sender): Extension<Sender>,
    Sent(sent): Sent<SignIn>,
) -> Result<Response, Problem> {
    app.charge(&app.guesses.passphrase, peer)?;
    let Some(hash) = app.store.settings()?.passphrase else {
        return Err(Problem::conflict(
            "The house has no passphrase yet: open the set-up link that the server showed when \
             it started.",
        ));
    };
    let turn = app.hashing.lock().await;
    let right = blocking(move || hash.is_of(&sent.passphrase)).await?;
    drop(turn);
    if !right {
        tracing::warn!(%peer, "a wrong passphrase");
        let detail = "That is not the passphrase. Look at it again and try once more.";
        return Err(Problem::new(StatusCode::UNAUTHORIZED, detail));
    }
    forgive(&app.guesses.passphrase, peer);
    let token = app.let_in(Holder::Coach).await?;
    tracing::info!(%peer, "a coach signed in");
    Ok(signed_in(&app, sender, &token))
}

/// Signs this coach device out; what it follows ends.
pub(super) async fn sign_out(
    State(app): State<Arc<App>>,
    Extension(identity): Extension<Identity>,
) -> Result<Response, Problem> {
    if let Identity::Coach { session } = identity {
        app.store.write(vec![Record::Revoke(session)]).await?;
        app.house.signed_out(&session);
    }
    let cookie = Role::Coach.clear_cookie(app.secure);
    Ok((StatusCode::NO_CONTENT, [(header::SET_COOKIE, cookie)]).into_response())
}

/// The token of a coach: in a cookie for a page, in the body for a program.
fn signed_in(app: &App, sender: Sender, token: &Token) -> Response {
    match sender {
        Sender::Page => (StatusCode::NO_CONTENT, cookie(app, Role::Coach, token)).into_response(),
        Sender::Program => Json(json!({ "token": token.to_string() })).into_response(),
    }
}

/// The header that hands a token to a browser.
pub(super) fn cookie(app: &App, role: Role, token: &Token) -> HeaderMap {
    HeaderMap::from_iter([(header::SET_COOKIE, role.set_cookie(token, app.secure))])
}

/// Runs what takes tens of milliseconds away from the threads that everything else runs on.
pub(super) async fn blocking<T: Send + 'static>(
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, Problem> {
    tokio::task::spawn_blocking(work).await.map_err(|error| {
        tracing::error!(%error, "a request failed");
        let detail = "The house could not do that. Try again, and look into the server's log.";
        Problem::new(StatusCode::INTERNAL_SERVER_ERROR, detail)
    })
}
