//! The way to one connection, for those who must be heard: answers, stop, the end. Frames and views
//! go by other ways, on which a slow device gets the newest alone.

use std::sync::Arc;

use axum::extract::ws::Utf8Bytes;
use floorbell_core::time::{DeviceTime, HouseTime};
use floorbell_core::wire::ToDevice;
use tokio::sync::{mpsc, watch};

/// Messages that may wait for one connection: the answers to a whole burst of taps (see
/// [`BURST`](super::rate::BURST)), twice over. Who lets more pile up reads nothing, and is better served by
/// coming back.
const WAITING_MAX: usize = 512;

/// Something that a connection must not miss.
#[derive(Debug)]
pub(crate) enum Must {
    /// An encoded message.
    Text(Utf8Bytes),
    /// The second half of a timestamp exchange, to be stamped and encoded at the last moment.
    Sync { t0: DeviceTime, t1: HouseTime },
}

/// Why the server ends a connection.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Goodbye {
    /// The close code (RFC 6455, 7.4.1).
    pub(crate) code: u16,
    /// A sentence of at most 123 bytes, which is what a close frame holds (RFC 6455, 5.5.1).
    pub(crate) reason: &'static str,
}

/// The sending end; clones lead to the same connection.
#[derive(Clone, Debug)]
pub(crate) struct Outlet {
    musts: mpsc::Sender<Must>,
    goodbye: Arc<watch::Sender<Option<Goodbye>>>,
}

/// The connection's end.
#[derive(Debug)]
pub(crate) struct Inlet {
    pub(crate) musts: mpsc::Receiver<Must>,
    pub(crate) goodbye: watch::Receiver<Option<Goodbye>>,
}

impl Outlet {
    pub(crate) fn new() -> (Self, Inlet) {
        let (sender, musts) = mpsc::channel(WAITING_MAX);
        let (ends, goodbye) = watch::channel(None);
        (Self { musts: sender, goodbye: Arc::new(ends) }, Inlet { musts, goodbye })
    }

    pub(crate) fn send(&self, message: &ToDevice) {
        self.send_encoded(encode(message));
    }

    pub(crate) fn send_encoded(&self, text: Utf8Bytes) {
        self.must(Must::Text(text));
    }

    /// Hands a message over, or ends a connection that takes none.
    pub(crate) fn must(&self, must: Must) {
        if let Err(mpsc::error::TrySendError::Full(_)) = self.musts.try_send(must) {
            self.end(Goodbye { code: 1013, reason: "This device does not keep up: come back." });
        }
    }

    /// Ends the connection. The first reason stands.
    pub(crate) fn end(&self, goodbye: Goodbye) {
        self.goodbye.send_if_modified(|said| {
            let first = said.is_none();
            said.get_or_insert(goodbye);
            first
        });
    }
}

/// A message as text.
///
/// # Panics
/// Never: messages are plain data whose maps have text for keys.
pub(crate) fn encode(message: &ToDevice) -> Utf8Bytes {
    serde_json::to_string(message).expect("messages are plain data").into()
}
