//! A house that is really served, on a port and a data folder of its own, and devices that follow
//! it over real sockets.

use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use floorbell_core::class::command::{Call, Counts, Seen, Tap};
use floorbell_core::ids::{AthleteId, DeviceId, RequestId, SegmentIndex, TapId};
use floorbell_core::name::Name;
use floorbell_core::time::Span;
use floorbell_core::wire::{Ask, FromDevice, Outcome, SUBPROTOCOL, State, ToDevice};
use futures_util::{SinkExt, StreamExt};
use tempfile::TempDir;
use tokio::net::{TcpListener, TcpSocket, TcpStream};
use tokio::sync::oneshot;
use tokio::task::JoinHandle;
use tokio::time::timeout;
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::client::IntoClientRequest;
use tokio_tungstenite::tungstenite::handshake::client::Request;
use tokio_tungstenite::tungstenite::{Error, Message};

use crate::access::{Holder, OwnNames, PairedKind, Token, random_id};
use crate::clock::{HouseClock, Start};
use crate::house::{House, Joined, Newcomer, OpenClass};
use crate::http::{App, run};
use crate::store::{Grant, Record, Store};
use crate::testing::{clock, session};

/// Nothing that a test waits for takes so long; when it does, the test fails instead of hanging.
const PATIENCE: Duration = Duration::from_secs(20);

/// The work of the test session.
pub(super) const WORK: SegmentIndex = SegmentIndex(2);

pub(super) const DONE: Outcome = Outcome::Done { link: None };

/// A house that is served.
pub(super) struct Server {
    pub(super) house: House,
    pub(super) clock: HouseClock,
    pub(super) address: SocketAddr,
    store: Arc<Store>,
    folder: TempDir,
    stop: oneshot::Sender<()>,
    served: JoinHandle<()>,
}

impl Server {
    pub(super) async fn start() -> Self {
        Self::start_on(TempDir::new().unwrap(), clock(), Start::First).await
    }

    pub(super) async fn start_on(folder: TempDir, clock: HouseClock, how: Start) -> Self {
        let socket = TcpSocket::new_v4().unwrap();
        // Little fits on the way to a device, so that a slow one is noticed soon.
        socket.set_send_buffer_size(4 * 1024).unwrap();
        socket.bind("127.0.0.1:0".parse().unwrap()).unwrap();
        let listener: TcpListener = socket.listen(64).unwrap();
        let address = listener.local_addr().unwrap();
        let store = Arc::new(Store::open(folder.path()).unwrap());
        let base = format!("http://{address}");
        let house = House::start(Arc::clone(&store), clock.clone(), how, &base).await.unwrap();
        let names = OwnNames::new(None, &[]);
        let app = App::new(house.clone(), Arc::clone(&store), clock.clone(), names);
        let (stop, stopped) = oneshot::channel();
        let served = tokio::spawn(run(listener, app, async move {
            let _ = stopped.await;
        }));
        Self { house, clock, address, store, folder, stop, served }
    }

    /// Stops the house and lets its folder go.
    pub(super) async fn stop(self) -> (TempDir, HouseClock) {
        let Self { house, store, folder, stop, served, clock, .. } = self;
        stop.send(()).unwrap();
        timeout(PATIENCE, served).await.expect("the server stops").unwrap();
        drop(house);
        // The last connections let go of the store on their own.
        let mut store = Some(store);
        timeout(PATIENCE, async {
            while let Some(kept) = store.take() {
                match Arc::try_unwrap(kept) {
                    Ok(store) => drop(store),
                    Err(kept) => {
                        store = Some(kept);
                        tokio::task::yield_now().await;
                    }
                }
            }
        })
        .await
        .expect("nobody keeps the store");
        (folder, clock)
    }

    pub(super) async fn open_class(&self) -> OpenClass {
        self.house.open_class("harbour-short", session()).await.unwrap()
    }

    pub(super) async fn token(&self, holder: Holder) -> Token {
        let (token, now) = (Token::random(), self.clock.wall());
        let grant = Grant { token: token.hash(), holder, created: now, last_seen: now };
        self.store.write(vec![Record::Grant(grant)]).await.unwrap();
        token
    }

    pub(super) async fn coach(&self) -> Client {
        let token = self.token(Holder::Coach).await;
        Client::connect(self, "coach", &token).await
    }

    /// Somebody comes in with their phone.
    pub(super) async fn phone(&self, open: &OpenClass, name: &str) -> (AthleteId, Client) {
        let who = Newcomer::Named(Name::new(name).unwrap());
        let joined = self.house.join(&open.code, who, None, false).await.unwrap();
        let Joined { class, athlete } = joined;
        let token = self.token(Holder::Athlete { class, athlete }).await;
        (athlete, Client::connect(self, "athlete", &token).await)
    }

    /// A wall that waits, with its number.
    pub(super) async fn waiting_wall(&self) -> (u32, Client) {
        let (number, token) = self.pair(PairedKind::Wall);
        (number, Client::connect(self, "wall", &token).await)
    }

    /// A wall that the coach has let in.
    pub(super) async fn wall(&self) -> Client {
        let (number, wall) = self.waiting_wall().await;
        assert_eq!(self.house.settle_pairing(number, true).await, DONE);
        wall
    }

    /// The number and token of a device that asks to be let in.
    pub(super) fn pair(&self, kind: PairedKind) -> (u32, Token) {
        let token = Token::random();
        (self.house.pair(kind, token.hash()).unwrap(), token)
    }
}

/// A device over a real socket.
pub(super) struct Client {
    socket: WebSocketStream<TcpStream>,
    pub(super) device: DeviceId,
}

impl Client {
    /// Connects and says hello.
    pub(super) async fn connect(server: &Server, role: &str, token: &Token) -> Self {
        let mut client = Self::connect_silently(server, role, token).await.unwrap();
        client.send(&FromDevice::Hello { device: client.device }).await;
        client
    }

    pub(super) async fn connect_silently(
        server: &Server,
        role: &str,
        token: &Token,
    ) -> Result<Self, Box<Error>> {
        Self::request(server, request(server, role, token, SUBPROTOCOL)).await
    }

    pub(super) async fn request(server: &Server, request: Request) -> Result<Self, Box<Error>> {
        let socket = TcpSocket::new_v4().unwrap();
        socket.set_recv_buffer_size(4 * 1024).unwrap();
        let stream = socket.connect(server.address).await.unwrap();
        let (socket, _) = tokio_tungstenite::client_async(request, stream).await?;
        Ok(Self { socket, device: DeviceId(random_id()) })
    }

    pub(super) async fn send(&mut self, message: &FromDevice) {
        let text = serde_json::to_string(message).unwrap();
        self.send_raw(Message::text(text)).await;
    }

    pub(super) async fn send_raw(&mut self, message: Message) {
        timeout(PATIENCE, self.socket.send(message)).await.expect("it is taken").unwrap();
    }

    /// The next message of the house.
    pub(super) async fn next(&mut self) -> ToDevice {
        match timeout(PATIENCE, self.heard()).await.expect("something comes") {
            Ok(message) => message,
            Err(end) => panic!("the connection ended: {end:?}"),
        }
    }

    /// The next message, or how the connection ended.
    async fn heard(&mut self) -> Result<ToDevice, Option<(u16, String)>> {
        loop {
            match self.socket.next().await {
                Some(Ok(Message::Text(text))) => return Ok(serde_json::from_str(&text).unwrap()),
                Some(Ok(Message::Close(Some(frame)))) => {
                    return Err(Some((frame.code.into(), frame.reason.to_string())));
                }
                Some(Ok(Message::Ping(_) | Message::Pong(_))) => {}
                other => return Err(other.map(|other| panic!("{other:?}"))),
            }
        }
    }

    /// The next message of a kind, past all others.
    pub(super) async fn until<T>(&mut self, wanted: impl Fn(&ToDevice) -> Option<T>) -> T {
        let found = async {
            loop {
                if let Some(found) = wanted(&self.next().await) {
                    return found;
                }
            }
        };
        timeout(PATIENCE, found).await.expect("it comes")
    }

    pub(super) async fn state(&mut self) -> State {
        self.until(|message| match message {
            ToDevice::State(state) => Some(State::clone(state)),
            _ => None,
        })
        .await
    }

    pub(super) async fn answer(&mut self, id: RequestId) -> Outcome {
        self.until(|message| match message {
            ToDevice::Answer { to, outcome } if *to == id => Some(outcome.clone()),
            _ => None,
        })
        .await
    }

    /// The close code and reason, past all messages.
    pub(super) async fn end(&mut self) -> (u16, String) {
        let end = async {
            loop {
                if let Err(end) = self.heard().await {
                    return end.expect("the server says why");
                }
            }
        };
        timeout(PATIENCE, end).await.expect("it ends")
    }

    pub(super) async fn call(&mut self, server: &Server, call: Call) -> Outcome {
        let class = server.house.lobby().borrow().open().cloned().unwrap();
        let clock = class.feed.snapshot().now.clock.clone();
        let seen = Seen { segment: clock.phase.segment(), revision: clock.revision };
        let id = RequestId(random_id());
        self.send(&FromDevice::Call { id, call, seen }).await;
        self.answer(id).await
    }

    /// Calls stop, on a disk that may be slow at this moment.
    pub(super) async fn stop(&mut self, server: &Server) {
        let outcome = self.call(server, Call::Stop).await;
        assert!([DONE, Outcome::NotYetSaved].contains(&outcome), "{outcome:?}");
    }

    pub(super) async fn ask(&mut self, ask: Ask) -> Outcome {
        let id = RequestId(random_id());
        self.send(&FromDevice::Ask { id, ask }).await;
        self.answer(id).await
    }

    /// Starts the class and goes on to its work.
    pub(super) async fn go_to_work(&mut self, server: &Server) {
        for call in [Call::Start, Call::Next, Call::Next] {
            assert_eq!(self.call(server, call).await, DONE);
        }
    }
}

pub(super) fn request(server: &Server, role: &str, token: &Token, protocol: &str) -> Request {
    let url = format!("ws://{}/api/follow?as={role}", server.address);
    let mut request = url.into_client_request().unwrap();
    let headers = request.headers_mut();
    headers.insert("authorization", format!("Bearer {token}").parse().unwrap());
    headers.insert("sec-websocket-protocol", protocol.parse().unwrap());
    request
}

pub(super) fn tap_now(server: &Server, athlete: AthleteId) -> Tap {
    let class = server.house.lobby().borrow().open().cloned().unwrap();
    Tap {
        id: TapId(random_id()),
        athlete,
        segment: WORK,
        counts: Counts::Round,
        made_at: server.clock.now(),
        bound: Span::from_millis(5),
        heard: class.feed.snapshot().now.clock.revision,
    }
}
