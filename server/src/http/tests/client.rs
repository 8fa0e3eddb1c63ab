//! As much of an HTTP client as the tests need, which sends what it is told to, right or wrong.

use std::fmt::Write as _;
use std::net::SocketAddr;

use serde_json::Value;
use tokio::io::{AsyncBufReadExt, AsyncReadExt, AsyncWriteExt, BufReader};
use tokio::net::TcpStream;

use crate::access::Token;

/// A request.
pub(super) struct Ask {
    to: SocketAddr,
    method: &'static str,
    path: String,
    host: String,
    headers: String,
    body: String,
}

/// What came back.
#[derive(Debug)]
pub(super) struct Answer {
    pub(super) status: u16,
    headers: Vec<(String, String)>,
    pub(super) body: String,
}

impl Ask {
    pub(super) fn new(to: SocketAddr, method: &'static str, path: &str) -> Self {
        Self {
            to,
            method,
            path: path.to_owned(),
            host: to.to_string(),
            headers: String::new(),
            body: String::new(),
        }
    }

    pub(super) fn host(mut self, host: &str) -> Self {
        host.clone_into(&mut self.host);
        self
    }

    pub(super) fn header(mut self, name: &str, value: &str) -> Self {
        write!(self.headers, "{name}: {value}\r\n").unwrap();
        self
    }

    pub(super) fn bearer(self, token: &Token) -> Self {
        self.header("authorization", &format!("Bearer {token}"))
    }

    pub(super) fn json(self, body: &str) -> Self {
        self.header("content-type", "application/json").text(body)
    }

    pub(super) fn text(mut self, body: &str) -> Self {
        body.clone_into(&mut self.body);
        self
    }

    /// What a browser sends to begin a WebSocket.
    pub(super) fn upgrade(self) -> Self {
        self.header("upgrade", "websocket")
            .header("sec-websocket-version", "13")
            .header("sec-websocket-key", "dGhlIHNhbXBsZSBub25jZQ==")
            .header("sec-websocket-protocol", floorbell_core::wire::SUBPROTOCOL)
    }

    pub(super) async fn send(self) -> Answer {
        let Self { to, method, path, host, headers, body } = self;
        let upgrades = headers.contains("upgrade:");
        let connection = if upgrades { "upgrade" } else { "close" };
        let length = body.len();
        let request = format!(
            "{method} {path} HTTP/1.1\r\nhost: {host}\r\nconnection: {connection}\r\n\
             content-length: {length}\r\n{headers}\r\n{body}"
        );
        let mut stream = BufReader::new(TcpStream::connect(to).await.unwrap());
        stream.write_all(request.as_bytes()).await.unwrap();
        let status = line(&mut stream).await.split(' ').nth(1).unwrap().parse().unwrap();
        let mut headers = Vec::new();
        loop {
            let line = line(&mut stream).await;
            let Some((name, value)) = line.split_once(": ") else { break };
            headers.push((name.to_owned(), value.to_owned()));
        }
        let mut answer = Answer { status, headers, body: String::new() };
        let length = answer.header("content-length").map_or(0, |length| length.parse().unwrap());
        let mut body = vec![0; length];
        stream.read_exact(&mut body).await.unwrap();
        answer.body = String::from_utf8_lossy(&body).into_owned();
        answer
    }
}

async fn line(stream: &mut BufReader<TcpStream>) -> String {
    let mut line = String::new();
    stream.read_line(&mut line).await.unwrap();
    line.trim_end().to_owned()
}

impl Answer {
    /// The value of a header; nothing where it is missing.
    pub(super) fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(found, _)| found == name).map(|(_, value)| &**value)
    }

    /// The body as JSON.
    pub(super) fn value(&self) -> Value {
        serde_json::from_str(&self.body).unwrap_or_else(|e| panic!("{e}: {}", self.body))
    }

    /// The sentence of a problem, after a look at its form.
    pub(super) fn problem(&self) -> String {
        assert_eq!(self.header("content-type"), Some("application/problem+json"));
        let value = self.value();
        assert_eq!(
            (&value["type"], &value["status"]),
            (&"about:blank".into(), &self.status.into())
        );
        value["detail"].as_str().unwrap().to_owned()
    }

    /// What a cookie is set to, and the rest of its line.
    pub(super) fn cookie(&self, name: &str) -> Option<(&str, &str)> {
        let lines = self.headers.iter().filter(|(found, _)| found == "set-cookie");
        let mut values = lines.filter_map(|(_, line)| line.strip_prefix(name)?.strip_prefix('='));
        values.next()?.split_once("; ")
    }
}
