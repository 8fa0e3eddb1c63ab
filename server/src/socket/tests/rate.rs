//! How a device that sends too much is slowed: its reader alone, on a time that the test drives; and
//! over real sockets, that it gains nothing by coming back.

use std::time::Duration;

use axum::extract::ws::Message;
use floorbell_core::class::command::{Call, Seen};
use floorbell_core::ids::{AthleteId, ClassId, DeviceId, RequestId, Revision};
use floorbell_core::time::DeviceTime;
use floorbell_core::wire::{FromDevice, Role, ToDevice};
use futures_util::{StreamExt, stream};
use tokio::time::Instant;

use super::server::{Client, Server};
use crate::access::{Holder, Token, random_id};
use crate::house::Identity;
use crate::house::outlet::{Inlet, Must, Outlet};
use crate::house::rate::{BURST, EACH};
use crate::socket::read::Reader;

const EXCHANGE: FromDevice = FromDevice::Sync { t0: DeviceTime::from_micros(1) };

fn text(message: &FromDevice) -> String {
    serde_json::to_string(message).unwrap()
}

fn exchanges(number: usize) -> impl Iterator<Item = String> {
    std::iter::repeat_n(text(&EXCHANGE), number)
}

fn athlete() -> Identity {
    Identity::Athlete { class: ClassId(random_id()), athlete: AthleteId(random_id()) }
}

/// What the device is answered.
#[derive(Debug, Default, PartialEq, Eq)]
struct Answers {
    exchanges: u32,
    too_much: u32,
    other: u32,
}

fn answers(inlet: &mut Inlet) -> Answers {
    let mut answers = Answers::default();
    while let Ok(must) = inlet.musts.try_recv() {
        match must {
            Must::Sync { .. } => answers.exchanges += 1,
            Must::Text(text) if text.contains("too-much") => answers.too_much += 1,
            Must::Text(_) => answers.other += 1,
        }
    }
    answers
}

/// Has a device send all of this at once, and reads it for so long.
async fn read_for(
    server: &Server,
    identity: Identity,
    messages: impl IntoIterator<Item = String>,
    time: Duration,
) -> Answers {
    let texts: Vec<_> = messages.into_iter().map(|text| Ok(Message::text(text))).collect();
    let mut incoming = stream::iter(texts).chain(stream::pending());
    let (device, (outlet, mut inlet)) = (DeviceId(random_id()), Outlet::new());
    let (devices, now) = (server.house.devices(), server.clock.now());
    let seat = devices.connect(identity, device, Role::Coach, outlet.clone(), now).unwrap();
    let mut reader = Reader::new(&server.house, &mut incoming, &seat, (identity, device), outlet);
    let ended = tokio::time::timeout(time, reader.run()).await;
    assert!(ended.is_err(), "it reads on: {ended:?}");
    answers(&mut inlet)
}

#[tokio::test]
async fn who_sends_too_much_is_told_each_time_and_read_no_faster_than_that() {
    let server = Server::start().await;
    tokio::time::pause();
    let found = read_for(&server, athlete(), exchanges(500), 20 * EACH + EACH / 2).await;
    // After each message that was too much it is read on when the next one fits.
    assert_eq!(found, Answers { exchanges: BURST + 20, too_much: 21, other: 0 });
}

#[tokio::test]
async fn another_device_of_an_athlete_and_another_connection_get_no_more() {
    let server = Server::start().await;
    tokio::time::pause();
    let (one, other) = (athlete(), athlete());
    read_for(&server, one, exchanges(300), Duration::from_millis(1)).await;
    let again = read_for(&server, one, exchanges(300), Duration::from_millis(1)).await;
    assert_eq!(again, Answers { exchanges: 0, too_much: 1, other: 0 });
    let else_where = read_for(&server, other, exchanges(300), Duration::from_millis(1)).await;
    assert_eq!(else_where.exchanges, BURST);
}

#[tokio::test]
async fn a_stop_behind_a_flood_of_a_coach_device_is_read_at_once() {
    let server = Server::start().await;
    tokio::time::pause();
    let seen = Seen { segment: None, revision: Revision(0) };
    let stop = FromDevice::Call { id: RequestId(random_id()), call: Call::Stop, seen };
    let stop = text(&stop);
    let flood = exchanges(400).chain([stop.clone()]);
    let coach = Identity::Coach { session: Token::random().hash() };
    let found = read_for(&server, coach, flood, Duration::from_millis(1)).await;
    // No class is open, which the stop is told.
    assert_eq!(found, Answers { exchanges: BURST, too_much: 400 - BURST, other: 1 });

    // A phone may not call stop, and gains nothing by it.
    let flood = vec![stop; 400];
    let found = read_for(&server, athlete(), flood, Duration::from_millis(1)).await;
    assert_eq!(found, Answers { exchanges: 0, too_much: 1, other: BURST });
}

#[tokio::test]
async fn what_is_no_message_counts_too() {
    let server = Server::start().await;
    tokio::time::pause();
    let flood = vec![r#"{"type":"dance"}"#.to_owned(); 400];
    let found = read_for(&server, athlete(), flood, Duration::from_millis(1)).await;
    assert_eq!(found, Answers { exchanges: 0, too_much: 1, other: BURST });
}

/// Asks for so many exchanges at once; tells how many were made.
async fn let_through(device: &mut Client, number: u32) -> u32 {
    for _ in 0..number {
        device.send(&EXCHANGE).await;
    }
    let mut made = 0;
    for _ in 0..number {
        made += device
            .until(|message| match message {
                ToDevice::Sync { .. } => Some(1),
                ToDevice::Error { code, .. } if code == "too-much" => Some(0),
                _ => None,
            })
            .await;
    }
    made
}

#[tokio::test]
async fn coming_back_gives_no_fresh_burst() {
    let server = Server::start().await;
    let open = server.open_class().await;
    let (athlete, mut phone) = server.phone(&open, "Ann").await;
    let token = server.token(Holder::Athlete { class: open.class, athlete }).await;
    // On a slow machine some of it is paid off meanwhile: sent on until it is too much.
    let mut began = Instant::now();
    while let_through(&mut phone, 100).await == 100 {
        began = Instant::now();
    }
    drop(phone);
    let mut back = Client::connect(&server, "athlete", &token).await;
    let made = let_through(&mut back, 20).await;
    let paid_off = began.elapsed().div_duration_f64(EACH) as u32;
    assert!(made <= paid_off + 1, "{made} of {paid_off} that were paid off");
}
