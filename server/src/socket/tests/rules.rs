//! What a connection may not do, and how it ends.

use floorbell_core::class::command::{Call, Seen, Tap};
use floorbell_core::ids::{AthleteId, ClassId, DeviceId, RequestId, Revision};
use floorbell_core::score::Tally;
use floorbell_core::time::DeviceTime;
use floorbell_core::wire::{Ask, FromDevice, MESSAGE_BYTES_MAX, Outcome, ToDevice};
use tokio_tungstenite::tungstenite::protocol::frame::Frame;
use tokio_tungstenite::tungstenite::protocol::frame::coding::{Data, OpCode};
use tokio_tungstenite::tungstenite::{Bytes, Error, Message};

use super::server::{Client, DONE, Server, WORK, request, tap_now};
use crate::access::{Holder, Token, random_id};

fn refused(code: &str) -> impl Fn(&Outcome) -> bool + '_ {
    move |outcome| matches!(outcome, Outcome::Refused { code: it, text } if it == code && !text.is_empty())
}

/// Every message that only a coach may send, as text with an id of its own.
fn coach_messages() -> Vec<FromDevice> {
    let id = || RequestId(random_id());
    let seen = Seen { segment: None, revision: Revision(0) };
    let calls = [Call::Start, Call::Hold, Call::Stop, Call::Next, Call::Jump { to: WORK }];
    let calls = calls.map(|call| FromDevice::Call { id: id(), call, seen });
    let asks = [
        Ask::AddAthlete { name: "Bo".into(), at_home: false, here: true },
        Ask::Wall { number: 1, accept: true },
        Ask::Answered { question: 1 },
        Ask::Close,
    ];
    let asks = asks.map(|ask| FromDevice::Ask { id: id(), ask });
    let take_back = FromDevice::TakeBack { id: id(), of: id() };
    calls.into_iter().chain(asks).chain([take_back]).collect()
}

fn id_of(message: &FromDevice) -> RequestId {
    match message {
        FromDevice::Call { id, .. }
        | FromDevice::TakeBack { id, .. }
        | FromDevice::Undo { id, .. }
        | FromDevice::Ask { id, .. } => *id,
        other => panic!("{other:?}"),
    }
}

#[tokio::test]
async fn a_phone_and_a_wall_can_ask_for_nothing_that_is_the_coachs() {
    let server = Server::start().await;
    let open = server.open_class().await;
    let (_, phone) = server.phone(&open, "Ann").await;
    for mut device in [phone, server.wall().await] {
        for message in coach_messages() {
            device.send(&message).await;
            let outcome = device.answer(id_of(&message)).await;
            assert!(refused("coach-only")(&outcome), "{message:?}: {outcome:?}");
        }
    }
    let class = server.house.lobby().borrow().open().cloned().unwrap();
    let snapshot = class.feed.snapshot();
    assert_eq!(snapshot.now.clock.revision, Revision(0));
    assert_eq!((class.feed.coach().borrow().people.len(), snapshot.now.closed), (1, false));
}

#[tokio::test]
async fn a_wall_counts_for_nobody_and_a_phone_for_its_own_alone() {
    let server = Server::start().await;
    let open = server.open_class().await;
    let mut coach = server.coach().await;
    let (ann, mut phone) = server.phone(&open, "Ann").await;
    let (bo, _phone) = server.phone(&open, "Bo").await;
    let mut wall = server.wall().await;
    coach.go_to_work(&server).await;
    for (device, athlete, expected) in
        [(&mut wall, ann, "coach-only"), (&mut phone, bo, "not-yours")]
    {
        let tap = tap_now(&server, athlete);
        device.send(&FromDevice::Tap { tap: tap.clone() }).await;
        let (code, again) = device
            .until(|message| match message {
                ToDevice::NotKept { tap: id, code, again, .. } if *id == tap.id => {
                    Some((code.clone(), *again))
                }
                _ => None,
            })
            .await;
        assert_eq!((code.as_str(), again), (expected, false));
    }
    let class = server.house.lobby().borrow().open().cloned().unwrap();
    assert!(class.feed.snapshot().now.rows.iter().all(|row| row.scores[0].tally.is_none()));
}

/// Whether a tap was kept, or else with what code it was refused and whether it may be sent again.
async fn sent(device: &mut Client, tap: Tap) -> Result<(), (String, bool)> {
    let of = tap.id;
    device.send(&FromDevice::Tap { tap }).await;
    device
        .until(|message| match message {
            ToDevice::Kept { tap, .. } if *tap == of => Some(Ok(())),
            ToDevice::NotKept { tap, code, again, .. } if *tap == of => {
                Some(Err((code.clone(), *again)))
            }
            _ => None,
        })
        .await
}

#[tokio::test]
async fn a_tap_that_no_class_has_looked_at_stays_on_its_device() {
    let server = Server::start().await;
    let open = server.open_class().await;
    let mut coach = server.coach().await;
    let (ann, _phone) = server.phone(&open, "Ann").await;
    let (class, gone) = (ClassId(random_id()), AthleteId(random_id()));
    let token = server.token(Holder::Athlete { class, athlete: gone }).await;
    let mut long_over = Client::connect(&server, "athlete", &token).await;
    let not_yet = Err(("no-class".to_owned(), true));
    assert_eq!(sent(&mut long_over, tap_now(&server, gone)).await, not_yet);
    // It may be of a class that is not followed now: the open one would refuse it for good.
    assert_eq!(sent(&mut coach, tap_now(&server, gone)).await, not_yet);
    let tally = Tally::Rounds { rounds: 1, extra: 0 };
    let set = Ask::SetTally { athlete: gone, segment: WORK, tally };
    assert!(refused("no-such-athlete")(&coach.ask(set).await));

    // What a coach counted arrives after the class is closed, and after the next has opened.
    coach.go_to_work(&server).await;
    let [first, second] = [(); 2].map(|()| tap_now(&server, ann));
    assert_eq!(coach.ask(Ask::Close).await, DONE);
    assert_eq!(sent(&mut coach, first).await, Ok(()));
    server.open_class().await;
    assert_eq!(sent(&mut coach, second).await, Ok(()));
}

#[tokio::test]
async fn what_is_not_understood_is_said_and_the_connection_stays() {
    let server = Server::start().await;
    let mut coach = server.coach().await;
    for text in [r#"{"type":"dance"}"#, r#"{"type":"sync"}"#] {
        coach.send_raw(Message::text(text)).await;
        let code = coach
            .until(|message| match message {
                ToDevice::Error { code, .. } => Some(code.clone()),
                _ => None,
            })
            .await;
        assert_eq!(code, "not-understood");
    }
    server.open_class().await;
    coach.state().await;
}

#[tokio::test]
async fn what_is_no_message_ends_the_connection_with_its_code() {
    let server = Server::start().await;
    let raw = |data: &'static [u8]| {
        let payload = Bytes::from_static(data);
        Message::Frame(Frame::message(payload, OpCode::Data(Data::Text), true))
    };
    let long = |bytes| Message::text(format!(r#"{{"type":"{}"}}"#, "x".repeat(bytes)));
    for (message, code) in [
        (Message::binary(vec![1, 2, 3]), 1003),
        (Message::text("hello"), 1008),
        (Message::text("[1]"), 1008),
        (raw(b"\xff\xfe"), 1007),
        (long(MESSAGE_BYTES_MAX), 1009),
        (long(20 * MESSAGE_BYTES_MAX), 1009),
    ] {
        let mut coach = server.coach().await;
        let what = format!("{message:?}").chars().take(80).collect::<String>();
        coach.send_raw(message).await;
        let (found, reason) = coach.end().await;
        assert_eq!(found, code, "{what}: {reason}");
        assert!(!reason.is_empty(), "{what}");
    }
}

#[tokio::test]
async fn hello_comes_first_and_once() {
    let server = Server::start().await;
    let token = server.token(Holder::Coach).await;
    let mut silent = Client::connect_silently(&server, "coach", &token).await.unwrap();
    silent.send(&FromDevice::StopSeen { revision: Revision(1) }).await;
    assert_eq!(silent.end().await.0, 1008);
    let mut coach = server.coach().await;
    coach.send(&FromDevice::Hello { device: DeviceId(random_id()) }).await;
    coach
        .until(|message| {
            matches!(message, ToDevice::Error { code, .. } if code == "said-hello").then_some(())
        })
        .await;
}

#[tokio::test]
async fn who_is_not_let_in_or_speaks_another_version_gets_no_connection() {
    let server = Server::start().await;
    let status = |result: Result<Client, Box<Error>>| match result.err().map(|error| *error) {
        Some(Error::Http(response)) => response.status().as_u16(),
        other => panic!("{other:?}"),
    };
    let token = server.token(Holder::Coach).await;
    let other = request(&server, "coach", &token, "floorbell.v0");
    assert_eq!(status(Client::request(&server, other).await), 400);
    assert_eq!(status(Client::connect_silently(&server, "athlete", &token).await), 403);
    assert_eq!(status(Client::connect_silently(&server, "coach", &Token::random()).await), 401);
}

#[tokio::test]
async fn signing_out_ends_the_connections_of_that_sign_in() {
    let server = Server::start().await;
    let token = server.token(Holder::Coach).await;
    let mut one = Client::connect(&server, "coach", &token).await;
    let mut other = server.coach().await;
    one.next().await;
    server.house.signed_out(&token.hash());
    assert_eq!(one.end().await.0, 1008);
    server.open_class().await;
    assert_eq!(other.ask(Ask::Close).await, DONE);
}

#[tokio::test]
async fn a_device_that_sends_too_much_is_told_and_stop_gets_through() {
    let server = Server::start().await;
    let open = server.open_class().await;
    let mut coach = server.coach().await;
    let (athlete, mut phone) = server.phone(&open, "Ann").await;
    coach.go_to_work(&server).await;
    // On a slow machine some of the allowance comes back meanwhile: sent on until it is used up.
    let mut turned_away = false;
    while !turned_away {
        for _ in 0..100 {
            phone.send(&FromDevice::Tap { tap: tap_now(&server, athlete) }).await;
        }
        let mut answers = 0;
        while answers < 100 && !turned_away {
            match phone.next().await {
                ToDevice::Kept { .. } => answers += 1,
                ToDevice::NotKept { code, again, .. } => {
                    assert!(again && ["too-much", "busy"].contains(&code.as_str()), "{code}");
                    answers += 1;
                    turned_away = code == "too-much";
                }
                _ => {}
            }
        }
    }
    for number in 0..300 {
        coach.send(&FromDevice::StopSeen { revision: Revision(number) }).await;
    }
    coach.stop(&server).await;
}

#[tokio::test]
async fn a_flood_of_exchanges_is_limited_and_the_device_stays() {
    let server = Server::start().await;
    let mut coach = server.coach().await;
    // What a device says of its own clock is its own affair: it comes back as it was said.
    for micros in [i64::MAX, -1, 0, 0, 7] {
        let t0 = DeviceTime::from_micros(micros);
        coach.send(&FromDevice::Sync { t0 }).await;
        let (said, t1, t2) = coach
            .until(|message| match *message {
                ToDevice::Sync { t0, t1, t2 } => Some((t0, t1, t2)),
                _ => None,
            })
            .await;
        assert!(said == t0 && t1 <= t2, "{t0:?}");
    }
    // On a slow machine some of the allowance comes back meanwhile: sent on until it is used up.
    let mut turned_away = false;
    while !turned_away {
        for number in 0..100 {
            coach.send(&FromDevice::Sync { t0: DeviceTime::from_micros(number) }).await;
        }
        for _ in 0..100 {
            turned_away |= coach
                .until(|message| match message {
                    ToDevice::Sync { .. } => Some(false),
                    ToDevice::Error { code, .. } => Some(code == "too-much"),
                    _ => None,
                })
                .await;
        }
    }
    server.open_class().await;
    coach.state().await;
}
