//! What stands before every route: where a request may come from, who may make it, how long it may
//! take, and what the browser is told about the answer.
//!
//! A page of the house shows its token in a cookie and proves by `Origin` that it is one. Browsers
//! leave `Origin` out where a page only fetches from its own house; there the cookie is taken
//! without it, as `SameSite=Strict` keeps pages of others from sending it and they could not read
//! the answer. For whatever changes something, and for following a class, a request without
//! `Origin` comes from a program, which shows a bearer token.

use std::sync::Arc;
use std::time::Duration;

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode, Uri, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::App;
use super::problem::Problem;
use crate::access::{PairedKind, Role, Sender, Stranger, Token, is_own_machine};
use crate::house::Identity;

/// How long a request may take, its body and its turn at the passphrase included. A page gives up
/// after as long.
const ANSWER_WITHIN: Duration = Duration::from_secs(10);

/// Who may use a route.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Who {
    /// Anyone; where there is a secret, it stands in the body.
    Anyone,
    /// A signed-in coach.
    Coach,
    /// A signed-in coach, or a wall that was let in.
    CoachOrWall,
    /// Whoever is what `as=` in the address says: `coach`, `wall`, `tablet` or `athlete`. A wall
    /// or tablet may wait to be let in.
    Asked,
}

/// Looks at where a request comes from, before anything else; and tells the browser what it may do
/// with the answer, after everything else.
pub(super) async fn guard(
    State(app): State<Arc<App>>,
    mut request: Request,
    next: Next,
) -> Response {
    let sender = app.names.sender(request.headers());
    let host = request.headers().get(header::HOST).cloned();
    // Neither holds a secret: those stand in fragments, bodies and headers.
    let (method, path) = (request.method().clone(), request.uri().path().to_owned());
    let answer = match sender {
        Ok(sender) => {
            request.extensions_mut().insert(sender);
            let answer = tokio::time::timeout(ANSWER_WITHIN, next.run(request)).await;
            answer.unwrap_or_else(|_| {
                let detail = "The house took too long to answer. Try again.";
                Problem::new(StatusCode::SERVICE_UNAVAILABLE, detail).into_response()
            })
        }
        Err(Stranger::Host) => Problem::new(
            StatusCode::MISDIRECTED_REQUEST,
            "The house does not go by this name. Use the address that the server showed when it \
             started, or start it with --name and this name.",
        )
        .into_response(),
        Err(Stranger::Origin) => {
            let detail = "Another site's page may not ask the house for anything.";
            Problem::new(StatusCode::FORBIDDEN, detail).into_response()
        }
    };
    tracing::debug!(%method, path, status = answer.status().as_u16(), "answered");
    let host = sender.ok().and(host.as_ref()).and_then(|host| host.to_str().ok());
    with_headers(answer, host, app.secure)
}

/// The security headers. `host` is one of the house's own names.
fn with_headers(mut answer: Response, host: Option<&str>, secure: bool) -> Response {
    const RESOURCE_POLICY: HeaderName = HeaderName::from_static("cross-origin-resource-policy");
    const OPENER_POLICY: HeaderName = HeaderName::from_static("cross-origin-opener-policy");
    const EMBEDDER_POLICY: HeaderName = HeaderName::from_static("cross-origin-embedder-policy");
    let headers = answer.headers_mut();
    headers.insert(header::X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    headers.insert(header::REFERRER_POLICY, HeaderValue::from_static("no-referrer"));
    headers.insert(RESOURCE_POLICY, HeaderValue::from_static("same-origin"));
    // These isolate the pages, which also gives them a finer clock. Where browsers do not trust the
    // connection they ignore both, and complain.
    if secure || host.is_some_and(is_own_machine) {
        headers.insert(OPENER_POLICY, HeaderValue::from_static("same-origin"));
        headers.insert(EMBEDDER_POLICY, HeaderValue::from_static("require-corp"));
    }
    headers.insert(header::CONTENT_SECURITY_POLICY, content_security_policy(host));
    if !headers.contains_key(header::CACHE_CONTROL) {
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
    answer
}

/// Everything comes from the house alone, but for the empty icon that stands in the pages themselves.
/// Some browsers do not count a WebSocket to the same address as `'self'`, so it is named.
fn content_security_policy(host: Option<&str>) -> HeaderValue {
    let sockets = host.map(|host| format!(" ws://{host} wss://{host}")).unwrap_or_default();
    let policy = format!(
        "default-src 'self'; connect-src 'self'{sockets}; img-src 'self' data:; object-src 'none'; base-uri 'none'; form-action 'self'; \
         frame-ancestors 'none'"
    );
    HeaderValue::from_str(&policy).expect("a host that was checked is fit for a header")
}

/// Lets a request on to its route if whoever makes it may use that.
pub(super) async fn admit(
    State((app, who)): State<(Arc<App>, Who)>,
    mut request: Request,
    next: Next,
) -> Response {
    match identity(&app, who, &request) {
        Ok(identity) => {
            if let Some(identity) = identity {
                request.extensions_mut().insert(identity);
            }
            next.run(request).await
        }
        Err(problem) => problem.into_response(),
    }
}

/// As whom a request is let in; nothing where anyone is.
fn identity(app: &App, who: Who, request: &Request) -> Result<Option<Identity>, Problem> {
    let fits: fn(&Identity) -> bool = match who {
        Who::Anyone => return Ok(None),
        Who::Coach => |identity| matches!(identity, Identity::Coach { .. }),
        Who::CoachOrWall => |identity| {
            let wall = PairedKind::Wall;
            matches!(identity, Identity::Coach { .. })
                || matches!(identity, Identity::Paired { paired, accepted: true } if paired.kind == wall)
        },
        Who::Asked => match asked(request.uri())? {
            Role::Coach => |identity| matches!(identity, Identity::Coach { .. }),
            Role::Wall => |identity| is_paired(identity, PairedKind::Wall),
            Role::Tablet => |identity| is_paired(identity, PairedKind::Tablet),
            Role::Athlete => |identity| matches!(identity, Identity::Athlete { .. }),
        },
    };
    let sender = request.extensions().get().copied().unwrap_or(Sender::Program);
    let only_reads = request.method().is_safe() && who != Who::Asked;
    let mut known = false;
    for token in tokens(request.headers(), sender, only_reads, app.secure) {
        if let Some(identity) = app.identity(&token)? {
            known = true;
            if fits(&identity) {
                return Ok(Some(identity));
            }
        }
    }
    Err(if known { Problem::not_yours(who.words()) } else { Problem::who_are_you(who.words()) })
}

/// The role that `as=` asks for.
fn asked(uri: &Uri) -> Result<Role, Problem> {
    let query = uri.query().unwrap_or_default();
    match query.split('&').find_map(|pair| pair.strip_prefix("as=")) {
        Some("coach") => Ok(Role::Coach),
        Some("wall") => Ok(Role::Wall),
        Some("tablet") => Ok(Role::Tablet),
        Some("athlete") => Ok(Role::Athlete),
        _ => Err(Problem::bad_request(
            "Say as whom: ?as=coach, ?as=wall, ?as=tablet or ?as=athlete.",
        )),
    }
}

fn is_paired(identity: &Identity, kind: PairedKind) -> bool {
    matches!(identity, Identity::Paired { paired, .. } if paired.kind == kind)
}

/// The tokens that a request shows: one from a program, up to one for each role from a browser.
pub(super) fn tokens(
    headers: &HeaderMap,
    sender: Sender,
    only_reads: bool,
    secure: bool,
) -> Vec<Token> {
    if sender == Sender::Program
        && let Some(line) = headers.get(header::AUTHORIZATION)
    {
        let shown = line.to_str().ok().and_then(|line| line.strip_prefix("Bearer "));
        return shown.and_then(Token::parse).into_iter().collect();
    }
    if sender == Sender::Program && !only_reads {
        return Vec::new();
    }
    Role::ALL.iter().filter_map(|role| role.cookie(headers, secure)).collect()
}

impl Who {
    /// Who that is, for a sentence.
    const fn words(self) -> &'static str {
        match self {
            Self::Anyone => "anyone",
            Self::Coach => "the coach",
            Self::CoachOrWall => "the coach and walls that the coach has let in",
            Self::Asked => "devices that were let in",
        }
    }
}
