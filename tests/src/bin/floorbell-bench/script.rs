//! A script with a phone's token: it taps on several connections without a pause and without waiting for
//! an answer, and comes back at once under another device id when a connection is ended.

use std::ops::AddAssign;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use floorbell_core::class::command::{Counts, Tap};
use floorbell_core::ids::{AthleteId, DeviceId, Revision, SegmentIndex, TapId};
use floorbell_core::time::{HouseTime, Span};
use floorbell_core::wire::{FromDevice, SUBPROTOCOL};
use floorbell_tests::people::Phone;
use futures_util::{SinkExt, StreamExt};
use tokio::net::TcpStream;
use tokio::task::JoinSet;
use tokio_tungstenite::tungstenite::client::IntoClientRequest;
use tokio_tungstenite::tungstenite::http::{HeaderValue, header};
use tokio_tungstenite::tungstenite::{Error, Message};
use tokio_tungstenite::{MaybeTlsStream, WebSocketStream};

/// Connections at once.
const CONNECTIONS: usize = 4;

/// What became of the taps.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Outcome {
    /// Given to the network.
    pub(crate) sent: usize,
    /// On disk.
    pub(crate) kept: usize,
    /// Told that it is too much.
    pub(crate) told: usize,
    /// Times that a connection was ended.
    pub(crate) ended: usize,
}

impl AddAssign for Outcome {
    fn add_assign(&mut self, other: Self) {
        self.sent += other.sent;
        self.kept += other.kept;
        self.told += other.told;
        self.ended += other.ended;
    }
}

/// What the script knows: the phone whose token it uses, and the time.
pub(crate) struct Script {
    url: String,
    token: String,
    athlete: AthleteId,
    segment: SegmentIndex,
    made_at: HouseTime,
    left: AtomicUsize,
    outcome: Mutex<Outcome>,
}

impl Script {
    /// A script that has so many taps to send.
    pub(crate) fn new(authority: &str, phone: &Phone, segment: SegmentIndex, taps: usize) -> Self {
        let now = floorbell_client::now();
        let reading = phone.follower.device().sync().estimate(now).expect("it knows the time");
        Self {
            url: format!("ws://{authority}/api/follow?as=athlete"),
            token: phone.token.clone(),
            athlete: phone.athlete,
            segment,
            made_at: reading.time,
            left: AtomicUsize::new(taps),
            outcome: Mutex::default(),
        }
    }

    /// Sends them all, or as many as it can in that time.
    pub(crate) async fn run_for(self, time: Duration) -> Outcome {
        let script = Arc::new(self);
        let mut connections = JoinSet::new();
        for _ in 0..CONNECTIONS {
            let script = Arc::clone(&script);
            connections.spawn(async move {
                while script.left.load(Ordering::Relaxed) > 0 {
                    // Why it ended is the house's affair.
                    drop(script.tap_until_ended().await);
                    script.note(Outcome { ended: 1, ..Outcome::default() });
                }
            });
        }
        let all = async { while connections.join_next().await.is_some() {} };
        // Most of the time it is not done by then: the result says how far it came.
        drop(tokio::time::timeout(time, all).await);
        connections.shutdown().await;
        *script.outcome.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn note(&self, more: Outcome) {
        *self.outcome.lock().unwrap_or_else(PoisonError::into_inner) += more;
    }

    async fn tap_until_ended(&self) -> Result<(), Error> {
        let (mut sink, mut stream) = self.connect().await?.split();
        let hello = FromDevice::Hello { device: DeviceId(floorbell_client::random_id()) };
        sink.send(text(&hello)).await?;
        let one = || {
            self.left.fetch_update(Ordering::Relaxed, Ordering::Relaxed, |left| left.checked_sub(1))
        };
        let tapping = async {
            while one().is_ok() {
                sink.feed(self.tap()).await?;
                self.note(Outcome { sent: 1, ..Outcome::default() });
            }
            sink.flush().await?;
            // All are sent: what is left is to hear of them.
            std::future::pending().await
        };
        let hearing = async {
            while let Some(message) = stream.next().await {
                let message = message?;
                let text = message.to_text().unwrap_or_default();
                if text.starts_with(r#"{"type":"kept""#) {
                    self.note(Outcome { kept: 1, ..Outcome::default() });
                } else if text.contains(r#""too-much""#) {
                    self.note(Outcome { told: 1, ..Outcome::default() });
                }
            }
            Ok(())
        };
        tokio::select! {
            ended = tapping => ended,
            ended = hearing => ended,
        }
    }

    async fn connect(&self) -> Result<WebSocketStream<MaybeTlsStream<TcpStream>>, Error> {
        let mut request = self.url.as_str().into_client_request()?;
        let headers = request.headers_mut();
        let bearer = format!("Bearer {}", self.token);
        headers.insert(header::AUTHORIZATION, HeaderValue::from_str(&bearer)?);
        headers.insert(header::SEC_WEBSOCKET_PROTOCOL, HeaderValue::from_static(SUBPROTOCOL));
        Ok(tokio_tungstenite::connect_async(request).await?.0)
    }

    fn tap(&self) -> Message {
        text(&FromDevice::Tap {
            tap: Tap {
                id: TapId(floorbell_client::random_id()),
                athlete: self.athlete,
                segment: self.segment,
                counts: Counts::RoundBefore,
                made_at: self.made_at,
                bound: Span::from_millis(5),
                heard: Revision(0),
            },
        })
    }
}

fn text(message: &FromDevice) -> Message {
    Message::text(serde_json::to_string(message).expect("messages are plain data"))
}
