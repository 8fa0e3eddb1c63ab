//! How many connections there may be, and how they end with the server.

use std::time::Duration;

use floorbell_core::wire::{SUBPROTOCOL, ToDevice};
use futures_util::{SinkExt, StreamExt};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio_tungstenite::tungstenite::Message;
use tokio_tungstenite::tungstenite::client::IntoClientRequest;
use tokio_tungstenite::tungstenite::protocol::frame::coding::CloseCode;
use tokio_tungstenite::{MaybeTlsStream, WebSocketStream, connect_async};

use super::*;

type Socket = WebSocketStream<MaybeTlsStream<TcpStream>>;

/// A coach device that has been welcomed.
async fn follow(open: &Open) -> Socket {
    let address = format!("ws://{}/api/follow?as=coach", open.address);
    let mut request = address.into_client_request().unwrap();
    let bearer = format!("Bearer {}", open.coach().await);
    request.headers_mut().insert("authorization", bearer.parse().unwrap());
    request.headers_mut().insert("sec-websocket-protocol", SUBPROTOCOL.parse().unwrap());
    let (mut socket, _) = connect_async(request).await.unwrap();
    let hello = r#"{"type":"hello","device":"00000000-0000-4000-8000-000000000000"}"#;
    socket.send(Message::text(hello)).await.unwrap();
    let welcome = socket.next().await.unwrap().unwrap();
    let welcome = serde_json::from_str(welcome.to_text().unwrap()).unwrap();
    assert!(matches!(welcome, ToDevice::Welcome { .. }), "{welcome:?}");
    socket
}

#[tokio::test]
async fn a_full_house_says_so_and_takes_the_next_one_in_once_there_is_room() {
    let open = Open::with_room_for(2).await;
    // One place for each kind of connection.
    let follower = follow(&open).await;
    let mut idle = TcpStream::connect(open.address).await.unwrap();
    idle.write_all(b"GET /api/house HTTP/1.1\r\nhost: localhost\r\n\r\n").await.unwrap();
    let mut first = [0; 15];
    idle.read_exact(&mut first).await.unwrap();
    assert_eq!(&first, b"HTTP/1.1 200 OK");

    let mut turned_away = TcpStream::connect(open.address).await.unwrap();
    let mut answer = String::new();
    turned_away.read_to_string(&mut answer).await.unwrap();
    let (head, body) = answer.split_once("\r\n\r\n").unwrap();
    assert!(head.starts_with("HTTP/1.1 503 "), "{head}");
    assert!(head.contains(&format!("content-length: {}", body.len())), "{head}");
    let problem: serde_json::Value = serde_json::from_str(body).unwrap();
    assert_eq!(
        (&problem["status"], &problem["title"]),
        (&503.into(), &"Service Unavailable".into())
    );
    assert!(problem["detail"].as_str().unwrap().contains("no room"));

    // A place is free again once the server has seen a connection go, which takes it a moment.
    drop(follower);
    while !is_let_in(&open).await {
        tokio::task::yield_now().await;
    }
    open.stop().await;
}

/// Whether a new connection is answered as usual.
async fn is_let_in(open: &Open) -> bool {
    open.program("GET", "/api/house").send().await.status == 200
}

#[tokio::test]
async fn devices_are_told_that_the_server_goes_and_nothing_holds_it_up() {
    let open = Open::set_up().await;
    let mut follower = follow(&open).await;
    // A browser keeps connections open that nothing is asked on, and some stop in mid-request.
    let idle = TcpStream::connect(open.address).await.unwrap();
    let mut halfway = TcpStream::connect(open.address).await.unwrap();
    halfway.write_all(b"POST /api/sign-in HTTP/1.1\r\nhost: localhost\r\n").await.unwrap();
    let stopped = tokio::spawn(open.stop());
    let close = loop {
        match follower.next().await.unwrap().unwrap() {
            Message::Close(frame) => break frame.unwrap(),
            Message::Text(_) | Message::Ping(_) => {}
            other => panic!("{other:?}"),
        }
    };
    assert_eq!(close.code, CloseCode::Away);
    assert!(!close.reason.is_empty());
    tokio::time::timeout(Duration::from_secs(5), stopped).await.unwrap().unwrap();
    drop((idle, halfway));
}
