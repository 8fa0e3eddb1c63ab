//! One connection: a WebSocket that a device follows the house over.
//!
//! [`read`] and [`write`] are the two halves, and run side by side: a device that takes nothing in
//! is still heard. The first message says which device it is; then it has a seat in the house until
//! either half ends. Everything that a device can do wrong ends here: what reaches a class task is
//! well-formed, allowed and not too much.

mod ask;
mod message;
mod read;
mod rights;
mod write;

#[cfg(test)]
mod tests;

use std::time::Duration;

use axum::extract::ws::{CloseFrame, Message, WebSocket, WebSocketUpgrade};
use axum::response::Response;
use floorbell_core::wire::{MESSAGE_BYTES_MAX, SUBPROTOCOL};
use futures_util::stream::{SplitSink, SplitStream};
use futures_util::{SinkExt, StreamExt};
use tokio::time::timeout;

use self::read::Reader;
use self::write::Writer;
use crate::house::outlet::{Goodbye, Outlet};
use crate::house::{House, HouseProblem, Identity};

/// What is read at once. The default of 128 KiB is kept and cleared for every connection, which
/// costs most of its memory and time; devices send some hundred bytes at a time.
const READ_BUFFER: usize = 1024;

/// A message that is somewhat too long is read to its end, so that the device gets to hear why it
/// is shut out; beyond this it is not worth that.
const READ_BYTES_MAX: usize = 4 * MESSAGE_BYTES_MAX;

/// What may wait unsent inside the WebSocket: the full state of a class with 200 people is some
/// 200 KiB.
const WRITE_BUFFER_MAX: usize = 1024 * 1024;

/// How long a device has to say goodbye in turn.
const GOODBYE_WITHIN: Duration = Duration::from_secs(1);

type Sink = SplitSink<WebSocket, Message>;
type Stream = SplitStream<WebSocket>;

/// Takes a connection over.
pub(crate) fn follow(
    house: House,
    upgrade: WebSocketUpgrade,
    identity: Identity,
) -> Result<Response, HouseProblem> {
    let upgrade = upgrade
        .protocols([SUBPROTOCOL])
        .read_buffer_size(READ_BUFFER)
        .write_buffer_size(0)
        .max_write_buffer_size(WRITE_BUFFER_MAX)
        .max_message_size(READ_BYTES_MAX)
        .max_frame_size(READ_BYTES_MAX);
    if upgrade.selected_protocol().is_none() {
        return Err(HouseProblem::OtherVersion);
    }
    if house.is_stopping() {
        return Err(HouseProblem::Stopping);
    }
    Ok(upgrade.on_upgrade(move |socket| serve(house, socket, identity)))
}

async fn serve(house: House, socket: WebSocket, identity: Identity) {
    let (mut sink, mut stream) = socket.split();
    let goodbye = attend(&house, &mut sink, &mut stream, identity).await.err();
    if let Some(Goodbye { code, reason }) = goodbye.flatten() {
        let close = Message::Close(Some(CloseFrame { code, reason: reason.into() }));
        // Whatever the device still sends is read, for unread bytes would reset the connection
        // before it has seen why. Errors no longer matter.
        let _ = timeout(GOODBYE_WITHIN, async {
            sink.send(close).await.ok();
            while let Some(Ok(_)) = stream.next().await {}
        })
        .await;
    }
}

/// How a connection ends: by the server, which says why, or by the device.
type End = Option<Goodbye>;

/// Serves a device until it ends.
async fn attend(
    house: &House,
    sink: &mut Sink,
    stream: &mut Stream,
    identity: Identity,
) -> Result<(), End> {
    let device = read::hello(stream).await?;
    let (outlet, inlet) = Outlet::new();
    let role = house.role(&identity).ok_or(Some(read::NOT_LET_IN))?;
    let now = house.clock().now();
    let seat =
        house.devices().connect(identity, device, role, outlet.clone(), now).map_err(Some)?;
    let mut reader = Reader::new(house, stream, &seat, (identity, device), outlet);
    let mut writer = Writer::new(house, sink, identity, inlet);
    tokio::select! {
        end = reader.run() => end,
        end = writer.run() => end,
    }
}
