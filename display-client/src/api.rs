//! What is asked over plain HTTP: coming in, signing in, opening a class.
//!
//! Each request is HTTP/1.0 on a connection of its own: the answer then is never in chunks and ends
//! where the connection ends, so that a few lines do, for the few requests that a device ever makes.
//! There is no TLS: this client is for the machine itself and for the house's own network.

use core::fmt;
use core::str::FromStr;
use core::time::Duration;
use std::io;

use floorbell_core::class::command::Choice;
use floorbell_core::ids::{AthleteId, ClassId};
use floorbell_core::session::Block;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio_tungstenite::tungstenite::http::uri::Authority;

/// The longest answer that is read, in bytes: over ten times a class of sixty people.
const ANSWER_BYTES_MAX: u64 = 1024 * 1024;
/// How long an answer may take. Setting a passphrase is the slowest, at some hundred milliseconds.
const ANSWER_WITHIN: Duration = Duration::from_secs(15);

/// The port of a URL that names none.
const HTTP_PORT: u16 = 80;

/// Where a house is reached: `http://HOST:PORT`, or `HOST:PORT`, or `http://HOST`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Address {
    authority: String,
}

impl Address {
    /// Host and port, as they stand in a URL.
    pub fn authority(&self) -> &str {
        &self.authority
    }
}

impl FromStr for Address {
    type Err = ApiError;

    fn from_str(text: &str) -> Result<Self, ApiError> {
        let (bare, scheme) = match text.strip_prefix("http://") {
            Some(bare) => (bare, true),
            None => (text, false),
        };
        let bare = bare.trim_end_matches('/');
        let bad = || ApiError::BadAddress(text.to_owned());
        let authority: Authority = bare.parse().map_err(|_| bad())?;
        let host = authority.host();
        if host.is_empty() || bare.contains('@') {
            return Err(bad());
        }
        let port = match bare[host.len()..].trim_start_matches(':') {
            // A name alone may be anything; a URL without a port means this one.
            "" if scheme => HTTP_PORT,
            port => port.parse::<u16>().map_err(|_| bad())?,
        };
        Ok(Self { authority: format!("{host}:{port}") })
    }
}

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "http://{}", self.authority)
    }
}

/// Why a request brought nothing.
#[derive(Debug)]
pub enum ApiError {
    /// The address is no `http://HOST:PORT`.
    BadAddress(String),
    /// The house could not be reached, or broke off.
    Unreachable(Address, io::Error),
    /// The house says no.
    Refused {
        /// The HTTP status.
        status: u16,
        /// A sentence that says what to do.
        detail: String,
    },
    /// The answer is not what it should be.
    Unreadable(String),
}

impl fmt::Display for ApiError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::BadAddress(text) => {
                write!(f, "{text}: not an address of a house; one looks like http://10.0.0.2:7600.")
            }
            Self::Unreachable(address, error) => {
                write!(f, "{address} cannot be reached ({error}). Is the server running there?")
            }
            Self::Refused { detail, .. } => f.write_str(detail),
            Self::Unreadable(what) => write!(f, "The answer could not be read: {what}."),
        }
    }
}

impl std::error::Error for ApiError {}

/// The class of a code, before anybody has said who they are.
#[derive(Clone, Debug, Deserialize)]
pub struct Look {
    /// The session's title.
    pub title: String,
    /// The class.
    pub class: ClassId,
    /// Its blocks, without what only coaches see.
    pub blocks: Vec<Block>,
}

/// Somebody who comes in.
#[derive(Clone, Debug, Serialize)]
pub struct Newcomer {
    /// What they are called.
    pub name: String,
    /// How they do the class.
    pub choice: Choice,
    /// Whether they join from home.
    pub at_home: bool,
}

/// Somebody who has come in.
#[derive(Clone, Debug, Deserialize)]
pub struct Joined {
    /// Who they are in the class.
    pub athlete: AthleteId,
    /// The class.
    pub class: ClassId,
    /// The token that their device follows with.
    pub token: String,
}

/// A wall that asks to be let in.
#[derive(Clone, Debug, Deserialize)]
pub struct Wall {
    /// The number by which the coach knows it.
    pub number: u32,
    /// The token that it follows with.
    pub token: String,
}

/// The class that was opened.
#[derive(Clone, Debug, Deserialize)]
pub struct Opened {
    /// The class.
    pub class: ClassId,
    /// The class code.
    pub code: String,
}

/// Shows the class of a code.
pub async fn look(address: &Address, code: &str) -> Result<Look, ApiError> {
    read(&send(address, "POST", "/api/look", None, Body::json(&json!({ "code": code }))).await?)
}

/// Comes in by the class code.
pub async fn join(address: &Address, code: &str, who: &Newcomer) -> Result<Joined, ApiError> {
    let Newcomer { name, choice, at_home } = who;
    let body = json!({ "code": code, "name": name, "choice": choice, "at_home": at_home });
    read(&send(address, "POST", "/api/join", None, Body::json(&body)).await?)
}

/// Asks to be let in as a wall.
pub async fn wall(address: &Address) -> Result<Wall, ApiError> {
    read(&send(address, "POST", "/api/walls", None, Body::json(&json!({}))).await?)
}

/// Sets the passphrase with the token of the one-time link. The answer is the coach's token.
pub async fn set_up(address: &Address, token: &str, passphrase: &str) -> Result<String, ApiError> {
    let body = json!({ "token": token, "passphrase": passphrase });
    coach_token(&send(address, "POST", "/api/set-up", None, Body::json(&body)).await?)
}

/// Signs a coach in. The answer is the coach's token.
pub async fn sign_in(address: &Address, passphrase: &str) -> Result<String, ApiError> {
    let body = json!({ "passphrase": passphrase });
    coach_token(&send(address, "POST", "/api/sign-in", None, Body::json(&body)).await?)
}

/// Keeps a sheet under a name.
pub async fn put_sheet(
    address: &Address,
    coach: &str,
    name: &str,
    text: &str,
) -> Result<(), ApiError> {
    send(address, "PUT", &format!("/api/sheets/{name}"), Some(coach), Body::markdown(text))
        .await
        .map(|_| ())
}

/// Opens a class of a kept sheet.
pub async fn open_class(address: &Address, coach: &str, sheet: &str) -> Result<Opened, ApiError> {
    let body = json!({ "sheet": sheet });
    read(&send(address, "POST", "/api/classes", Some(coach), Body::json(&body)).await?)
}

#[derive(Deserialize)]
struct CoachToken {
    token: String,
}

fn coach_token(body: &[u8]) -> Result<String, ApiError> {
    read(body).map(|CoachToken { token }| token)
}

fn read<T: DeserializeOwned>(body: &[u8]) -> Result<T, ApiError> {
    serde_json::from_slice(body).map_err(|error| ApiError::Unreadable(error.to_string()))
}

/// What a request carries.
struct Body {
    kind: &'static str,
    text: String,
}

impl Body {
    fn json(value: &Value) -> Self {
        Self { kind: "application/json", text: value.to_string() }
    }

    fn markdown(text: &str) -> Self {
        Self { kind: "text/markdown", text: text.to_owned() }
    }
}

/// The body of an answer that says no (RFC 9457), as far as it is of use here.
#[derive(Deserialize)]
struct Problem {
    detail: String,
}

/// One request and the body of its answer.
async fn send(
    address: &Address,
    method: &str,
    path: &str,
    token: Option<&str>,
    body: Body,
) -> Result<Vec<u8>, ApiError> {
    let exchange = async {
        let mut stream = TcpStream::connect(address.authority()).await?;
        stream.write_all(request(address, method, path, token, &body).as_bytes()).await?;
        let mut answer = Vec::new();
        stream.take(ANSWER_BYTES_MAX).read_to_end(&mut answer).await?;
        Ok(answer)
    };
    let answer = match tokio::time::timeout(ANSWER_WITHIN, exchange).await {
        Ok(answer) => answer,
        Err(_) => Err(io::Error::from(io::ErrorKind::TimedOut)),
    };
    parse(&answer.map_err(|error| ApiError::Unreachable(address.clone(), error))?)
}

fn request(
    address: &Address,
    method: &str,
    path: &str,
    token: Option<&str>,
    body: &Body,
) -> String {
    let Body { kind, text } = body;
    let authorization =
        token.map(|token| format!("Authorization: Bearer {token}\r\n")).unwrap_or_default();
    format!(
        "{method} {path} HTTP/1.0\r\nHost: {}\r\n{authorization}Content-Type: {kind}\r\n\
         Content-Length: {}\r\n\r\n{text}",
        address.authority(),
        text.len(),
    )
}

/// The body of an answer that says yes.
fn parse(answer: &[u8]) -> Result<Vec<u8>, ApiError> {
    let unreadable = || ApiError::Unreadable("it is not HTTP, or broke off".to_owned());
    let end = answer.windows(4).position(|four| four == b"\r\n\r\n").ok_or_else(unreadable)?;
    let (head, body) = (&answer[..end], &answer[end + 4..]);
    let head = core::str::from_utf8(head).map_err(|_| unreadable())?;
    let status: u16 = head
        .split_ascii_whitespace()
        .nth(1)
        .and_then(|status| status.parse().ok())
        .ok_or_else(unreadable)?;
    if (200..300).contains(&status) {
        return Ok(body.to_vec());
    }
    let detail = serde_json::from_slice(body)
        .map_or_else(|_| format!("The house answered {status}."), |Problem { detail }| detail);
    Err(ApiError::Refused { status, detail })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses() {
        for (text, authority) in [
            ("http://127.0.0.1:7600", Some("127.0.0.1:7600")),
            ("http://[::1]:7600/", Some("[::1]:7600")),
            ("quayside.local:80", Some("quayside.local:80")),
            ("https://127.0.0.1:7600", None),
            ("http://quayside.local", Some("quayside.local:80")),
            ("http://[::1]", Some("[::1]:80")),
            ("127.0.0.1", None),
            ("http://:80", None),
            ("http://a:", Some("a:80")),
            ("http://a:70000", None),
            ("http://me@a:80", None),
            ("a b:80", None),
            ("a\u{7}:80", None),
            ("a?:80", None),
            ("http://a:80/coach", None),
            ("", None),
        ] {
            let got = text.parse::<Address>().ok();
            assert_eq!(got.as_ref().map(Address::authority), authority, "{text}");
        }
    }

    #[test]
    fn answers() {
        assert_eq!(parse(b"HTTP/1.0 204 No Content\r\na: b\r\n\r\n").unwrap(), b"");
        assert_eq!(parse(b"HTTP/1.1 200 OK\r\n\r\n{\"a\":1}").unwrap(), b"{\"a\":1}");
        let refused = parse(
            b"HTTP/1.1 404 Not Found\r\n\r\n{\"title\":\"Not Found\",\"detail\":\"No such class.\"}",
        );
        assert!(
            matches!(refused, Err(ApiError::Refused { status: 404, detail }) if detail == "No such class.")
        );
        let bare = parse(b"HTTP/1.1 500 Internal Server Error\r\n\r\n<html>");
        assert!(matches!(bare, Err(ApiError::Refused { status: 500, .. })));
        for broken in [&b""[..], b"HTTP/1.1 200 OK\r\n", b"hello\r\n\r\n"] {
            assert!(matches!(parse(broken), Err(ApiError::Unreadable(_))), "{broken:?}");
        }
    }
}
