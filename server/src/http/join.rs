//! The way in for phones, by the class code or a personal link, and for walls and tally
//! tablets.

use std::net::IpAddr;
use std::sync::Arc;

use axum::extract::State;
use axum::http::HeaderMap;
use axum::response::{IntoResponse, Response};
use axum::{Extension, Json};
use floorbell_core::class::command::Choice;
use floorbell_core::ids::{AthleteId, ClassId};
use floorbell_core::name::Name;
use floorbell_core::session::Block;
use floorbell_core::wire;
use serde::{Deserialize, Serialize};

use super::accept::Peer;
use super::body::Sent;
use super::gate::tokens;
use super::problem::Problem;
use super::sign_in::cookie;
use super::{App, forgive};
use crate::access::{ClassCode, Holder, PairedKind, Role, Sender, Token};
use crate::house::{HouseProblem, Identity, Joined, Newcomer};

/// What a phone sends that has scanned the class code.
#[derive(Deserialize)]
pub(super) struct Code {
    code: String,
}

/// What it is shown.
#[derive(Serialize)]
pub(super) struct Look {
    title: String,
    class: ClassId,
    blocks: Vec<Block>,
    expected: Vec<Expected>,
}

/// Somebody who said that they will come.
#[derive(Serialize)]
struct Expected {
    athlete: AthleteId,
    name: Name,
}

/// Shows the class of a code before anybody has said who they are.
pub(super) async fn look(
    State(app): State<Arc<App>>,
    Extension(Peer(peer)): Extension<Peer>,
    Sent(sent): Sent<Code>,
) -> Result<Json<Look>, Problem> {
    let code = known(&app, peer, &sent.code)?;
    let look = app.house.look(&code)?;
    let expected = look.expected.into_iter().map(|(athlete, name)| Expected { athlete, name });
    Ok(Json(Look {
        title: look.session.title,
        class: look.class,
        blocks: look.session.blocks,
        expected: expected.collect(),
    }))
}

/// What a phone sends to come in.
#[derive(Deserialize)]
pub(super) struct Join {
    code: String,
    name: Option<String>,
    expected: Option<AthleteId>,
    choice: Option<Choice>,
    #[serde(default)]
    at_home: bool,
}

/// Lets somebody in by the class code, as somebody new or as one of those expected.
pub(super) async fn join(
    State(app): State<Arc<App>>,
    Extension(Peer(peer)): Extension<Peer>,
    Extension(sender): Extension<Sender>,
    Sent(sent): Sent<Join>,
) -> Result<Response, Problem> {
    let code = known(&app, peer, &sent.code)?;
    let who = match (sent.name, sent.expected) {
        (Some(name), None) => Newcomer::Named(Name::new(&name)?),
        (None, Some(athlete)) => Newcomer::Expected(athlete),
        _ => {
            return Err(Problem::bad_request("Say who you are: a name, or one of those expected."));
        }
    };
    let joined = app.house.join(&code, who, sent.choice, sent.at_home).await?;
    let Joined { class, athlete } = joined;
    let token = app.let_in(Holder::Athlete { class, athlete }).await?;
    Ok(came_in(&app, sender, joined, &token))
}

/// What a phone sends that has opened a personal link.
#[derive(Deserialize)]
pub(super) struct Personal {
    token: String,
}

/// Lets somebody in by their personal link, on any number of devices. The link's token is what each
/// of them keeps: another one would be worth the same, and every use of the link would write one.
pub(super) async fn personal(
    State(app): State<Arc<App>>,
    Extension(sender): Extension<Sender>,
    Sent(sent): Sent<Personal>,
) -> Result<Response, Problem> {
    let not_valid =
        || Problem::not_found("This link is not valid, or no longer: ask the coach for a new one.");
    let token = Token::parse(&sent.token).ok_or_else(not_valid)?;
    let Some(Identity::Athlete { class, athlete }) = app.identity(&token)? else {
        return Err(not_valid());
    };
    let joined = app.house.join_personal(class, athlete).await?;
    Ok(came_in(&app, sender, joined, &token))
}

/// What somebody is answered who has come in.
#[derive(Serialize)]
struct CameIn {
    athlete: AthleteId,
    class: ClassId,
    #[serde(skip_serializing_if = "Option::is_none")]
    token: Option<String>,
}

fn came_in(app: &App, sender: Sender, joined: Joined, token: &Token) -> Response {
    let Joined { class, athlete } = joined;
    let answer = |token| Json(CameIn { athlete, class, token });
    match sender {
        Sender::Page => (cookie(app, Role::Athlete, token), answer(None)).into_response(),
        Sender::Program => answer(Some(token.to_string())).into_response(),
    }
}

/// What a wall or tally tablet is answered that asks to be let in.
#[derive(Serialize)]
struct Waits {
    number: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    token: Option<String>,
}

/// Has a wall wait until the coach lets it in.
pub(super) async fn wall(
    State(app): State<Arc<App>>,
    Extension(Peer(peer)): Extension<Peer>,
    Extension(sender): Extension<Sender>,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    pair(&app, PairedKind::Wall, peer, (sender, &headers))
}

/// Has a tally tablet wait until the coach lets it in.
pub(super) async fn tablet(
    State(app): State<Arc<App>>,
    Extension(Peer(peer)): Extension<Peer>,
    Extension(sender): Extension<Sender>,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    pair(&app, PairedKind::Tablet, peer, (sender, &headers))
}

/// Has a device wait. One that waits already, or was let in, keeps its number: it asks again
/// whenever it cannot tell whether it is known.
fn pair(
    app: &App,
    kind: PairedKind,
    peer: IpAddr,
    (sender, headers): (Sender, &HeaderMap),
) -> Result<Response, Problem> {
    for token in tokens(headers, sender, false, app.secure) {
        let role = app.identity(&token)?.and_then(|identity| app.house.role(&identity));
        if let (PairedKind::Wall, Some(wire::Role::Wall { number, .. }))
        | (PairedKind::Tablet, Some(wire::Role::Tablet { number, .. })) = (kind, role)
        {
            return Ok(Json(Waits { number, token: None }).into_response());
        }
    }
    app.charge(&app.guesses.pairing, peer)?;
    let token = Token::random();
    let number = app.house.pair(kind, token.hash())?;
    let answer = |token| Json(Waits { number, token });
    Ok(match sender {
        Sender::Page => (cookie(app, Role::paired(kind), &token), answer(None)).into_response(),
        Sender::Program => answer(Some(token.to_string())).into_response(),
    })
}

/// The code as typed, if it is that of the open class. Whether it is costs a guess; a right one is
/// forgiven before anything else happens, so that many phones behind one address hold up nobody.
fn known(app: &App, peer: IpAddr, typed: &str) -> Result<ClassCode, Problem> {
    app.charge(&app.guesses.class_code, peer)?;
    let open = app.house.current().map(|open| open.code);
    match ClassCode::parse(typed) {
        Some(code) if open == Some(code) => {
            forgive(&app.guesses.class_code, peer);
            Ok(code)
        }
        _ => Err(HouseProblem::NoSuchClass.into()),
    }
}
