//! Connections: accepted one by one, bounded in number and in what they may send, and told to end
//! when the server does.

use std::io;
use std::net::{IpAddr, SocketAddr};
use std::pin::{Pin, pin};
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;

use axum::Router;
use axum::http::Request;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::{Service as _, service_fn};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::io::{AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore, watch};
use tokio::task::JoinSet;

/// Connections at once: a hundred phones with the six that a browser opens at most while it loads a
/// page, and as many as that again in walls and coach devices. It stays under the 1024 open files
/// that a process is commonly given.
pub(super) const CONNECTIONS_MAX: u32 = 720;

/// Headers in bytes: cookies of all three roles and what browsers add come to under 4 KiB.
const HEADER_BYTES_MAX: usize = 16 * 1024;

/// Read buffer of a connection, which also holds the start of a body.
const BUFFER_BYTES_MAX: usize = 32 * 1024;

/// Number of headers: browsers send about twenty.
const HEADERS_MAX: usize = 64;

/// How long a connection may take over its headers, or idle between two requests.
const HEADERS_WITHIN: Duration = Duration::from_secs(30);

/// How long to wait when the system refuses to accept (it is out of open files, say); without a
/// pause the loop would spin.
const REFUSED_PAUSE: Duration = Duration::from_millis(50);

/// How long requests under way have to end, and devices to hear why they lose the server and to hang
/// up, so that the whole server stops within a second.
const ENDING_WITHIN: Duration = Duration::from_millis(500);

/// Connections that are told at once that there is no room; any more are just closed.
const TURNED_AWAY_MAX: usize = 32;

/// How long telling one of them may take.
const TURNED_AWAY_WITHIN: Duration = Duration::from_secs(1);

/// What a connection is answered that there is no room for.
const NO_ROOM: &str = r#"{"type":"about:blank","title":"Service Unavailable","status":503,"detail":"The house has no room for another connection. Close pages that nobody looks at, and try again."}"#;

/// The address at the other end of a connection.
#[derive(Clone, Copy, Debug)]
pub(super) struct Peer(pub(super) IpAddr);

/// Serves up to `connections_max` connections at once until `shutdown`, then lets requests under way
/// end, and the devices that are told to go.
pub(super) async fn serve(
    listener: TcpListener,
    router: Router,
    connections_max: u32,
    shutdown: impl Future<Output = ()>,
) {
    let places = Arc::new(Semaphore::new(connections_max as usize));
    let door = Arc::new(Semaphore::new(TURNED_AWAY_MAX));
    let (ending, _) = watch::channel(());
    let mut connections = JoinSet::new();
    let mut shutdown = pin!(shutdown);
    loop {
        let accepted = tokio::select! {
            () = &mut shutdown => break,
            accepted = listener.accept() => accepted,
            Some(_) = connections.join_next() => continue,
        };
        match accepted {
            Ok((stream, peer)) => match Arc::clone(&places).try_acquire_owned() {
                Ok(place) => {
                    let stream = Placed { stream, _place: place };
                    connections.spawn(connection(stream, peer, router.clone(), ending.subscribe()));
                }
                Err(_) => {
                    if let Ok(place) = Arc::clone(&door).try_acquire_owned() {
                        connections.spawn(turn_away(stream, place));
                    }
                }
            },
            Err(error) => {
                tracing::warn!(%error, "a connection could not be accepted");
                tokio::time::sleep(REFUSED_PAUSE).await;
            }
        }
    }
    drop((listener, ending));
    let all_ended = async {
        while connections.join_next().await.is_some() {}
        // A WebSocket is no longer among the connections, but it has its place until it is closed.
        drop(places.acquire_many(connections_max).await);
    };
    if tokio::time::timeout(ENDING_WITHIN, all_ended).await.is_err() {
        tracing::warn!("some connections were cut off");
    }
}

/// One connection, to its end or to its upgrade to a WebSocket.
async fn connection(
    stream: Placed,
    peer: SocketAddr,
    router: Router,
    mut ending: watch::Receiver<()>,
) {
    // Without it the kernel holds small frames back to fill a packet, up to 40 ms.
    if let Err(error) = stream.stream.set_nodelay(true) {
        tracing::debug!(%error, "no TCP_NODELAY");
    }
    let router = TowerToHyperService::new(router);
    let service = service_fn(move |mut request: Request<Incoming>| {
        request.extensions_mut().insert(Peer(peer.ip().to_canonical()));
        router.call(request)
    });
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEADERS_WITHIN)
        .max_headers(HEADERS_MAX)
        .max_header_size(HEADER_BYTES_MAX)
        .max_buf_size(BUFFER_BYTES_MAX)
        .serve_connection(TokioIo::new(stream), service)
        .with_upgrades();
    let mut connection = pin!(connection);
    let ended = tokio::select! {
        ended = connection.as_mut() => ended,
        _ = ending.changed() => {
            connection.as_mut().graceful_shutdown();
            connection.await
        }
    };
    if let Err(error) = ended {
        tracing::debug!(%error, "a connection broke");
    }
}

/// Says that there is no room.
async fn turn_away(mut stream: TcpStream, _place: OwnedSemaphorePermit) {
    let answer = format!(
        "HTTP/1.1 503 Service Unavailable\r\ncontent-type: application/problem+json\r\n\
         retry-after: 2\r\nconnection: close\r\ncontent-length: {}\r\n\r\n{NO_ROOM}",
        NO_ROOM.len()
    );
    let telling = async {
        stream.write_all(answer.as_bytes()).await?;
        stream.shutdown().await?;
        // Were the request left unread, closing would take the answer back (TCP resets).
        let mut request = stream.take(HEADER_BYTES_MAX as u64);
        tokio::io::copy(&mut request, &mut tokio::io::sink()).await
    };
    if !matches!(tokio::time::timeout(TURNED_AWAY_WITHIN, telling).await, Ok(Ok(_))) {
        tracing::debug!("a connection went before it was turned away");
    }
}

/// A connection that takes one of the places until it is dropped: by hyper, or by the WebSocket
/// that it was handed to.
struct Placed {
    stream: TcpStream,
    _place: OwnedSemaphorePermit,
}

impl AsyncRead for Placed {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_read(context, buffer)
    }
}

impl AsyncWrite for Placed {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        Pin::new(&mut self.stream).poll_write(context, bytes)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        Pin::new(&mut self.stream).poll_write_vectored(context, bytes)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(context)
    }
}
