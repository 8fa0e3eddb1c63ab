//! The reading half: bounds what a device sends, answers timestamp exchanges on the spot and hands
//! everything else on.

use std::time::Duration;

use axum::extract::ws::{Message, Utf8Bytes};
use floorbell_core::class::command::Call;
use floorbell_core::ids::DeviceId;
use floorbell_core::time::HouseTime;
use floorbell_core::wire::{Ask, FromDevice, MESSAGE_BYTES_MAX, ToDevice};
use futures_util::{Stream, StreamExt};
use tokio::time::{sleep, timeout};
use tokio_tungstenite::tungstenite;

use super::message::{self, Unread};
use super::{End, ask, rights};
use crate::class_task::{No, Urgent};
use crate::house::devices::{Report, Seat};
use crate::house::outlet::{Goodbye, Must, Outlet};
use crate::house::{House, Identity};

/// A device says which it is in this time, on the slowest network that can carry a class.
const HELLO_WITHIN: Duration = Duration::from_secs(10);

/// A device that is not heard for so long is gone: two pings and some were not answered.
const HEARD_WITHIN: Duration = Duration::from_secs(40);

const HELLO_FIRST: Goodbye = Goodbye { code: 1008, reason: "The first message is \"hello\"." };
const SILENT: Goodbye = Goodbye { code: 1001, reason: "Nothing was heard for 40 s." };
const BINARY: Goodbye = Goodbye { code: 1003, reason: "Messages are text, not binary." };
const TOO_LONG: Goodbye = Goodbye { code: 1009, reason: "A message has up to 16 KiB." };
const NOT_UTF8: Goodbye = Goodbye { code: 1007, reason: "Text is UTF-8." };
const NOT_WEBSOCKET: Goodbye = Goodbye { code: 1002, reason: "This is not WebSocket (RFC 6455)." };

/// The end of a wall or tally tablet that the house no longer knows.
pub(super) const NOT_LET_IN: Goodbye =
    Goodbye { code: 1008, reason: "This device is not known: load the page to ask again." };

/// What a device sends.
pub(super) type Incoming = dyn Stream<Item = Result<Message, axum::Error>> + Send + Unpin;

/// Reads the first message: which device it is.
pub(super) async fn hello(stream: &mut Incoming) -> Result<DeviceId, End> {
    let first = timeout(HELLO_WITHIN, text(stream)).await.unwrap_or(Err(Some(HELLO_FIRST)))?;
    match message::read(&first) {
        Ok(FromDevice::Hello { device }) => Ok(device),
        Err(Unread::Malformed(goodbye)) => Err(Some(goodbye)),
        Ok(_) | Err(Unread::Unknown(_)) => Err(Some(HELLO_FIRST)),
    }
}

/// The next text.
async fn text(stream: &mut Incoming) -> Result<Utf8Bytes, End> {
    loop {
        if let Some(text) = heard(stream).await? {
            return Ok(text);
        }
    }
}

/// The next that is heard: a text, or nothing but a sign of life.
async fn heard(stream: &mut Incoming) -> Result<Option<Utf8Bytes>, End> {
    match stream.next().await {
        Some(Ok(Message::Text(text))) if text.len() > MESSAGE_BYTES_MAX => Err(Some(TOO_LONG)),
        Some(Ok(Message::Text(text))) => Ok(Some(text)),
        Some(Ok(Message::Binary(_))) => Err(Some(BINARY)),
        // Answered below this; the stream ends next.
        Some(Ok(Message::Ping(_) | Message::Pong(_) | Message::Close(_))) => Ok(None),
        Some(Err(error)) => Err(goodbye(error)),
        None => Err(None),
    }
}

/// What an unreadable stream is ended with; nothing where there is nobody left to tell.
fn goodbye(error: axum::Error) -> End {
    use tungstenite::Error;
    match error.into_inner().downcast::<Error>().map(|error| *error) {
        Ok(Error::Capacity(_)) => Some(TOO_LONG),
        Ok(Error::Utf8(_)) => Some(NOT_UTF8),
        Ok(Error::Protocol(tungstenite::error::ProtocolError::ResetWithoutClosingHandshake)) => {
            None
        }
        Ok(Error::Protocol(_)) => Some(NOT_WEBSOCKET),
        _ => None,
    }
}

/// The reading half of a connection.
pub(super) struct Reader<'a> {
    pub(super) house: &'a House,
    stream: &'a mut Incoming,
    pub(super) seat: &'a Seat,
    pub(super) identity: Identity,
    pub(super) device: DeviceId,
    pub(super) outlet: Outlet,
}

impl<'a> Reader<'a> {
    pub(super) fn new(
        house: &'a House,
        stream: &'a mut Incoming,
        seat: &'a Seat,
        (identity, device): (Identity, DeviceId),
        outlet: Outlet,
    ) -> Self {
        Self { house, stream, seat, identity, device, outlet }
    }

    /// Reads until the connection ends. Who sends too much is read slowly: what they still have to
    /// send waits on their own side of the network, and costs the house nothing.
    pub(super) async fn run(&mut self) -> Result<(), End> {
        loop {
            let heard =
                timeout(HEARD_WITHIN, heard(self.stream)).await.map_err(|_| Some(SILENT))??;
            if let Some(over) = self.hear(heard)?
                && self.may_be_slowed()
            {
                sleep(over).await;
            }
        }
    }

    /// Takes in what was heard. If the device sends too much, says for how long it has to wait.
    fn hear(&mut self, heard: Option<Utf8Bytes>) -> Result<Option<Duration>, End> {
        // A pong comes from a browser whose page may be frozen: it keeps the connection, no more.
        let Some(text) = heard else { return Ok(self.seat.take_turn().err()) };
        let now = self.house.clock().now();
        self.seat.heard(now);
        let said = match message::read(&text) {
            Ok(message) => Ok(message),
            Err(Unread::Unknown(text)) => Err(No::new("not-understood", text)),
            Err(Unread::Malformed(goodbye)) => return Err(Some(goodbye)),
        };
        let urgent = said.as_ref().is_ok_and(|message| self.is_urgent(message));
        let over = if urgent { None } else { self.seat.take_turn().err() };
        match said {
            Ok(message) if over.is_none() => self.take(message, now),
            Ok(message) => self.refuse(&message, ask::too_much(), true),
            Err(no) => self.error(if over.is_none() { no } else { ask::too_much() }),
        }
        Ok(over)
    }

    /// Whether a message goes past everything else: it is never too much.
    fn is_urgent(&self, message: &FromDevice) -> bool {
        matches!(self.identity, Identity::Coach { .. })
            && matches!(message, FromDevice::Call { call: Call::Stop | Call::Hold, .. })
    }

    /// What a coach device sends next may be a stop.
    fn may_be_slowed(&self) -> bool {
        !matches!(self.identity, Identity::Coach { .. })
    }

    fn take(&mut self, message: FromDevice, now: HouseTime) {
        if let Err(no) = rights::check(&self.identity, &message) {
            return self.refuse(&message, no, false);
        }
        match message {
            FromDevice::Hello { .. } => {
                self.error(No::new("said-hello", "This device has said hello already."));
            }
            FromDevice::Sync { t0 } => self.outlet.must(Must::Sync { t0, t1: now }),
            FromDevice::Report { bound, round_trip, waiting, refused } => {
                self.seat.report(Report { bound, round_trip, waiting, refused });
            }
            FromDevice::StopSeen { revision } => self.seat.stop_seen(revision),
            FromDevice::Call { id, call: call @ (Call::Stop | Call::Hold), seen } => {
                if let Some(by) = self.actor() {
                    let outlet = self.outlet.clone();
                    self.call_urgently(Urgent { id, call, seen, by, outlet });
                }
            }
            FromDevice::Ask { id, ask: Ask::Wall { number, accept } } => {
                self.settle_pairing(id, number, accept);
            }
            message => self.hand_on(message),
        }
    }

    /// Refuses a message. `again` says whether a tap may be sent again.
    fn refuse(&self, message: &FromDevice, no: No, again: bool) {
        match self.reply(message) {
            Some(reply) => reply.no(no, again),
            None => self.error(no),
        }
    }

    fn error(&self, no: No) {
        self.outlet.send(&ToDevice::Error { code: no.code.to_owned(), text: no.text });
    }
}
