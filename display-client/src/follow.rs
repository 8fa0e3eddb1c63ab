//! Keeps one device connected: a WebSocket to the house, exchanges to keep house time, and a new
//! connection whenever one breaks.
//!
//! [`Follower::next`] does all the work and gives back what is new; nothing runs beside it. It may
//! be dropped half-way (in a `select!`) and called again without losing a message.
//!
//! Exchanges come in a burst of eight on connecting, then every 5 to 8 s (rule 2.1).

use core::future::poll_fn;
use core::pin::Pin;
use core::task::{Context, Poll, ready};
use core::time::Duration;

use floorbell_core::ids::DeviceId;
use floorbell_core::sync::Reading;
use floorbell_core::time::Span;
use floorbell_core::wire::{SUBPROTOCOL, ToDevice};
use futures_util::{Sink, Stream};
use tokio::net::TcpStream;
use tokio::time::{Instant, Sleep, sleep_until};
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::client::IntoClientRequest;
use tokio_tungstenite::tungstenite::handshake::client::Request;
use tokio_tungstenite::tungstenite::http::{HeaderValue, header};
use tokio_tungstenite::tungstenite::protocol::WebSocketConfig;
use tokio_tungstenite::tungstenite::{Error as SocketError, Message};

use crate::api::Address;
use crate::chance::{self, Chance};
use crate::clock;
use crate::device::Device;
use crate::device::outbox::Outbox;

/// Exchanges on connecting.
const BURST: u32 = 8;
/// Between two of a burst: longer than most round trips.
const BURST_GAP: Duration = Duration::from_millis(60);
/// Between two exchanges after the burst, at least.
const STEADY: Duration = Duration::from_secs(5);
/// And up to so much more, so that sixty devices do not ask in step. Rule 2.1 would allow 5 s; but
/// from 10 s on a device counts as silent, so a slow network is left the last two.
const STEADY_JITTER: Duration = Duration::from_secs(3);
/// Over this bound four exchanges are made where otherwise one is: it halves the error on a path of
/// much jitter.
const LOOSE_FROM: Span = Span::from_millis(5);
/// How many are made then.
const LOOSE_TIMES: u32 = 4;
/// A connection on which nothing was heard for so long is dead: three exchanges unanswered.
const SILENT_MAX: Duration = Duration::from_secs(25);
/// How long a connection may take to stand.
const CONNECT_WITHIN: Duration = Duration::from_secs(5);
/// The first wait after a broken connection; each further one is twice as long, up to the most.
const WAIT_LEAST: Duration = Duration::from_millis(100);
/// The longest wait, so that every screen is back within seconds of the server.
const WAIT_MOST: Duration = Duration::from_secs(5);
/// The longest message taken, in bytes: a state of sixty people and a long sheet is under a tenth.
const MESSAGE_BYTES_MAX: usize = 4 * 1024 * 1024;
/// Messages are small; the default of 128 KiB is zeroed for each connection.
const READ_BUFFER_BYTES: usize = 4 * 1024;

type Socket = WebSocketStream<TcpStream>;
type Connecting = Pin<Box<dyn Future<Output = Result<Socket, SocketError>> + Send>>;

/// As whom a device follows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum As {
    /// A coach device.
    Coach,
    /// A wall.
    Wall,
    /// A phone.
    Athlete,
}

impl As {
    const fn word(self) -> &'static str {
        match self {
            Self::Coach => "coach",
            Self::Wall => "wall",
            Self::Athlete => "athlete",
        }
    }
}

/// What happened.
#[derive(Debug)]
pub enum News {
    /// A connection stands.
    Connected,
    /// The connection broke, or none came about; another one is tried after a wait.
    Lost(String),
    /// The house does not let the device in, with this HTTP status. It is not tried again.
    TurnedAway(u16),
    /// A message came, and the device has taken it in.
    Heard(ToDevice),
}

/// One device that follows a class.
pub struct Follower {
    address: Address,
    token: String,
    role: As,
    device: Device,
    link: Link,
    /// When the timer of `link` is due: a wait is over, an exchange is due.
    timer: Pin<Box<Sleep>>,
    /// Connections in a row that did not come about.
    failures: u32,
    chance: Chance,
}

enum Link {
    /// Waits before it connects.
    Waiting,
    /// Is connecting.
    Connecting(Connecting),
    /// Stands.
    Standing { socket: Box<Socket>, burst_left: u32, heard: Instant },
    /// Stays away, by order or because it was turned away.
    Away,
}

impl Follower {
    /// A new device that follows with a token; it connects when [`Follower::next`] is called.
    pub fn new(address: Address, token: String, role: As) -> Self {
        Self {
            address,
            token,
            role,
            device: Device::new(DeviceId(chance::id()), clock::STEP),
            link: Link::Waiting,
            timer: Box::pin(sleep_until(Instant::now())),
            failures: 0,
            chance: Chance::new(chance::id().as_u64_pair().0),
        }
    }

    /// The same under an id that the device has had before, so that the house knows it again.
    #[must_use]
    pub fn known_as(self, device: DeviceId) -> Self {
        Self { device: Device::new(device, clock::STEP), ..self }
    }

    /// The same as a device that was down comes up again: under its id, with the taps on its disk.
    #[must_use]
    pub fn restored(self, device: DeviceId, outbox: Outbox) -> Self {
        Self { device: Device::restored(device, clock::STEP, outbox), ..self }
    }

    /// The device.
    pub fn device(&self) -> &Device {
        &self.device
    }

    /// The device, to tap or call on. What it says is sent by [`Follower::next`].
    pub fn device_mut(&mut self) -> &mut Device {
        &mut self.device
    }

    /// Breaks the connection and stays away, as a phone without a network does.
    pub fn cut(&mut self) {
        self.device.lost();
        self.link = Link::Away;
    }

    /// Ends [`Follower::cut`].
    pub fn mend(&mut self) {
        if matches!(self.link, Link::Away) {
            self.failures = 0;
            self.wait(Duration::ZERO);
        }
    }

    /// Waits for whatever happens next. Sends what the device has to say meanwhile.
    pub async fn next(&mut self) -> News {
        poll_fn(|cx| self.poll_next(cx)).await
    }

    fn poll_next(&mut self, cx: &mut Context<'_>) -> Poll<News> {
        loop {
            match &mut self.link {
                Link::Away => return Poll::Pending,
                Link::Waiting => {
                    ready!(self.timer.as_mut().poll(cx));
                    self.timer.as_mut().reset(Instant::now() + CONNECT_WITHIN);
                    let request = request(&self.address, &self.token, self.role);
                    self.link = Link::Connecting(Box::pin(connect(self.address.clone(), request)));
                }
                Link::Connecting(connecting) => {
                    let connected = match connecting.as_mut().poll(cx) {
                        Poll::Ready(connected) => connected,
                        Poll::Pending => {
                            ready!(self.timer.as_mut().poll(cx));
                            Err(SocketError::Io(std::io::ErrorKind::TimedOut.into()))
                        }
                    };
                    return Poll::Ready(self.connected(connected));
                }
                Link::Standing { .. } => return self.poll_standing(cx),
            }
        }
    }

    fn connected(&mut self, connected: Result<Socket, SocketError>) -> News {
        match connected {
            Ok(socket) => {
                self.failures = 0;
                self.device.connected();
                let (socket, heard) = (Box::new(socket), Instant::now());
                self.link = Link::Standing { socket, burst_left: BURST, heard };
                self.timer.as_mut().reset(Instant::now());
                News::Connected
            }
            Err(SocketError::Http(answer)) if answer.status().is_client_error() => {
                self.link = Link::Away;
                News::TurnedAway(answer.status().as_u16())
            }
            Err(error) => self.lost(error.to_string()),
        }
    }

    fn poll_standing(&mut self, cx: &mut Context<'_>) -> Poll<News> {
        loop {
            while self.timer.as_mut().poll(cx).is_ready() {
                if let Some(why) = self.exchange() {
                    return Poll::Ready(self.lost(why));
                }
            }
            let Link::Standing { socket, heard, .. } = &mut self.link else {
                return Poll::Pending;
            };
            let sent = poll_send(&mut self.device, socket, cx);
            let message = match (Pin::new(socket).poll_next(cx), sent) {
                (Poll::Ready(Some(Ok(message))), _) => message,
                (Poll::Ready(None), _) => {
                    return Poll::Ready(self.lost("the server closed it".to_owned()));
                }
                // Of what cannot be sent only now: what the house said before it closed the
                // connection says why.
                (Poll::Ready(Some(Err(error))), _) | (Poll::Pending, Poll::Ready(Err(error))) => {
                    return Poll::Ready(self.lost(error.to_string()));
                }
                (Poll::Pending, _) => return Poll::Pending,
            };
            let now = clock::now();
            *heard = Instant::now();
            let text = match message {
                Message::Text(text) => text,
                Message::Close(close) => {
                    let why = close.map_or(String::new(), |close| close.to_string());
                    return Poll::Ready(self.lost(why));
                }
                // Pings are answered by the socket itself; nothing else is sent by the house.
                _ => continue,
            };
            match serde_json::from_str(&text) {
                Ok(message) => {
                    self.device.heard(&message, now);
                    return Poll::Ready(News::Heard(message));
                }
                // A newer house may say more than this client knows.
                Err(error) => tracing::debug!(%error, "a message was not understood"),
            }
        }
    }

    /// Starts the exchange that is due. Says why the connection must be dead, if it must.
    fn exchange(&mut self) -> Option<String> {
        let Link::Standing { burst_left, heard, .. } = &mut self.link else {
            return None;
        };
        if heard.elapsed() > SILENT_MAX {
            return Some(format!("nothing heard for {} s", SILENT_MAX.as_secs()));
        }
        let now = clock::now();
        if *burst_left == 0 {
            let loose = |reading: Reading| reading.bound > LOOSE_FROM;
            let is_loose = self.device.sync().estimate(now).is_some_and(loose);
            *burst_left = if is_loose { LOOSE_TIMES } else { 1 };
        }
        *burst_left -= 1;
        let burst = *burst_left > 0;
        let gap =
            if burst { BURST_GAP } else { STEADY + STEADY_JITTER.mul_f64(self.chance.share()) };
        self.device.exchange(now);
        if !burst {
            self.device.report(now);
        }
        self.timer.as_mut().reset(Instant::now() + gap);
        None
    }

    /// The connection is gone: waits before the next, longer each time and never the same, so that
    /// sixty devices do not come back in one instant.
    fn lost(&mut self, why: String) -> News {
        self.device.lost();
        let longest = WAIT_LEAST.saturating_mul(1 << self.failures.min(10)).min(WAIT_MOST);
        self.failures = self.failures.saturating_add(1);
        let wait = longest.mul_f64(self.chance.between(0.5, 1.0));
        self.wait(wait);
        News::Lost(why)
    }

    fn wait(&mut self, wait: Duration) {
        self.link = Link::Waiting;
        self.timer.as_mut().reset(Instant::now() + wait);
    }
}

/// Sends all that the device has to say; pending while the socket has no room.
fn poll_send(
    device: &mut Device,
    socket: &mut Socket,
    cx: &mut Context<'_>,
) -> Poll<Result<(), SocketError>> {
    let mut socket = Pin::new(socket);
    loop {
        ready!(socket.as_mut().poll_ready(cx))?;
        let Some(message) = device.next_message() else {
            break;
        };
        let text = serde_json::to_string(&message).expect("messages are plain data");
        socket.as_mut().start_send(Message::text(text))?;
    }
    socket.poll_flush(cx)
}

async fn connect(address: Address, request: Request) -> Result<Socket, SocketError> {
    let stream = TcpStream::connect(address.authority()).await?;
    stream.set_nodelay(true)?;
    let config = WebSocketConfig::default()
        .read_buffer_size(READ_BUFFER_BYTES)
        .max_message_size(Some(MESSAGE_BYTES_MAX));
    let (socket, _) =
        tokio_tungstenite::client_async_with_config(request, stream, Some(config)).await?;
    Ok(socket)
}

fn request(address: &Address, token: &str, role: As) -> Request {
    let url = format!("ws://{}/api/follow?as={}", address.authority(), role.word());
    let mut request = url.into_client_request().expect("an address was checked when it was read");
    let bearer = HeaderValue::from_str(&format!("Bearer {token}"));
    let headers = request.headers_mut();
    // A token that no header can hold is no token; the house then turns the device away.
    headers.insert(header::AUTHORIZATION, bearer.unwrap_or(HeaderValue::from_static("Bearer")));
    headers.insert(header::SEC_WEBSOCKET_PROTOCOL, HeaderValue::from_static(SUBPROTOCOL));
    request
}
