//! The whole path: real sockets, the web routes, the class task, the disk.

mod rate;
mod rules;
mod server;
mod tablets;

use floorbell_core::class::clock::Phase;
use floorbell_core::ids::RequestId;
use floorbell_core::name::Name;
use floorbell_core::score::Tally;
use floorbell_core::time::{DeviceTime, Span};
use floorbell_core::wire::{Ask, CoachView, FromDevice, NameShown, Outcome, Role, Row, ToDevice};

use self::server::{Client, DONE, Server, WORK, tap_now};
use crate::access::{Holder, random_id};
use crate::class_task::Pace;
use crate::clock::Start;
use crate::house::Settings;

fn rows(message: &ToDevice) -> Option<Vec<Row>> {
    match message {
        ToDevice::Frame(frame) if !frame.rows.is_empty() => Some(frame.rows.clone()),
        _ => None,
    }
}

fn coach_view(message: &ToDevice) -> Option<CoachView> {
    match message {
        ToDevice::Coach(view) => Some(CoachView::clone(view)),
        _ => None,
    }
}

#[tokio::test]
async fn a_tap_comes_to_the_wall_and_to_its_phone() {
    let server = Server::start().await;
    let (mut coach, mut wall) = (server.coach().await, server.wall().await);
    assert!(matches!(coach.next().await, ToDevice::Welcome { role: Role::Coach, .. }));
    assert!(matches!(coach.next().await, ToDevice::NoClass { .. }));
    let open = server.open_class().await;
    let state = wall.state().await;
    assert_eq!((state.class, state.now.closed), (open.class, false));
    assert_eq!(state.join.unwrap().address, open.address);

    let (athlete, mut phone) = server.phone(&open, "Ann").await;
    phone.state().await;
    wall.until(|message| (rows(message)?[0].name == "Ann").then_some(())).await;
    coach.go_to_work(&server).await;
    let tap = tap_now(&server, athlete);
    phone.send(&FromDevice::Tap { tap: tap.clone() }).await;
    phone
        .until(|message| {
            matches!(message, ToDevice::Kept { tap: id, .. } if *id == tap.id).then_some(())
        })
        .await;
    phone
        .until(|message| match message {
            ToDevice::Own(own) => own.windows.first()?.last_tap.filter(|last| *last == tap.id),
            _ => None,
        })
        .await;
    wall.until(|message| {
        let tally = rows(message)?[0].scores[0].tally?;
        (tally == Tally::Rounds { rounds: 1, extra: 0 }).then_some(())
    })
    .await;
}

#[tokio::test]
async fn only_coaches_see_cues_and_names_in_full() {
    let server = Server::start().await;
    let open = server.open_class().await;
    let mut coach = server.coach().await;
    assert_eq!(coach.state().await.session.blocks[1].cues, ["smooth"]);
    let (athlete, mut phone) = server.phone(&open, "Ann").await;
    assert!(phone.state().await.session.blocks.iter().all(|block| block.cues.is_empty()));
    assert_eq!(phone.ask(Ask::ShowName { athlete, shown: NameShown::Nothing }).await, DONE);
    let mut wall = server.wall().await;
    let state = wall.state().await;
    assert!(state.session.blocks.iter().all(|block| block.cues.is_empty()));
    if state.now.rows.first().is_none_or(|row| !row.name.is_empty()) {
        // The frame that hides the name was still to come.
        wall.until(|message| rows(message)?[0].name.is_empty().then_some(())).await;
    }
    coach.until(|message| (coach_view(message)?.people.first()?.name == "Ann").then_some(())).await;
}

#[tokio::test]
async fn a_wall_is_let_in_on_the_connection_that_it_waits_on() {
    let server = Server::start().await;
    let open = server.open_class().await;
    let mut coach = server.coach().await;
    let (number, mut wall) = server.waiting_wall().await;
    let waits = Role::Wall { accepted: false, number };
    assert!(matches!(wall.next().await, ToDevice::Welcome { role, .. } if role == waits));
    coach.until(|message| coach_view(message)?.walls_waiting.contains(&number).then_some(())).await;
    assert_eq!(coach.ask(Ask::Wall { number, accept: true }).await, DONE);
    let accepted = Role::Wall { accepted: true, number };
    // Nothing has come in between.
    assert!(matches!(wall.next().await, ToDevice::Welcome { role, .. } if role == accepted));
    assert!(matches!(wall.next().await, ToDevice::State(state) if state.class == open.class));
    coach
        .until(|message| {
            coach_view(message)?.devices.iter().find(|it| it.role == accepted).cloned()
        })
        .await;

    let (number, mut other) = server.waiting_wall().await;
    assert_eq!(coach.ask(Ask::Wall { number, accept: false }).await, DONE);
    assert_eq!(other.end().await.0, 1008);
    assert_eq!(coach.ask(Ask::Wall { number: 1, accept: false }).await, DONE);
    assert_eq!(wall.end().await.0, 1008);
    let outcome = coach.ask(Ask::Wall { number: 77, accept: true }).await;
    assert!(matches!(outcome, Outcome::Refused { code, .. } if code == "no-such-wall"));
}

#[tokio::test]
async fn stop_reaches_every_screen_and_the_coach_sees_who_has_shown_it() {
    let server = Server::start().await;
    let open = server.open_class().await;
    let (mut coach, mut wall) = (server.coach().await, server.wall().await);
    let (_, mut phone) = server.phone(&open, "Ann").await;
    phone.state().await;
    wall.state().await;
    coach.go_to_work(&server).await;
    let before = server.clock.now();
    coach.stop(&server).await;
    for device in [&mut wall, &mut phone] {
        for _ in 0..3 {
            let clock = device
                .until(|message| match message {
                    ToDevice::Stop { clock, .. } => Some(clock.clone()),
                    _ => None,
                })
                .await;
            assert!(clock.stopped && matches!(clock.phase, Phase::Held { segment: WORK, .. }));
        }
    }
    assert!(server.clock.now() - before < Span::from_secs(5));
    let class = server.house.lobby().borrow().open().cloned().unwrap();
    let revision = class.feed.snapshot().now.clock.revision;
    wall.send(&FromDevice::StopSeen { revision }).await;
    let device = wall.device;
    coach
        .until(|message| {
            let view = coach_view(message)?;
            let seen = |device| {
                let line = view.devices.iter().find(|line| line.device == device);
                line.map(|line| line.stop_seen)
            };
            (seen(device) == Some(true) && seen(phone.device) == Some(false)).then_some(())
        })
        .await;
}

#[tokio::test]
async fn after_a_restart_everything_is_there() {
    let server = Server::start().await;
    let open = server.open_class().await;
    let mut coach = server.coach().await;
    let (athlete, mut phone) = server.phone(&open, "Ann").await;
    coach.go_to_work(&server).await;
    let tap = tap_now(&server, athlete);
    phone.send(&FromDevice::Tap { tap: tap.clone() }).await;
    phone.until(|message| matches!(message, ToDevice::Kept { .. }).then_some(())).await;
    let class = server.house.class_of(&crate::house::Identity::of(
        Holder::Athlete { class: open.class, athlete },
        crate::access::Token::random().hash(),
    ));
    let clock = class.unwrap().feed.snapshot().now.clock.clone();
    drop(coach);
    let (folder, house_time) = server.stop().await;
    assert_eq!(phone.end().await.0, 1001);

    let server = Server::start_on(folder, house_time, Start::Continued).await;
    let again = server.house.current().unwrap();
    assert_eq!((again.class, again.code), (open.class, open.code));
    let token = server.token(Holder::Athlete { class: open.class, athlete }).await;
    let mut phone = Client::connect(&server, "athlete", &token).await;
    let state = phone.state().await;
    assert_eq!(state.now.clock, clock);
    assert_eq!(state.now.rows[0].name, "Ann");
    assert_eq!(state.now.rows[0].scores[0].tally, Some(Tally::Rounds { rounds: 1, extra: 0 }));
    let mut coach = server.coach().await;
    let ask = Ask::AddAthlete { name: "Bo".into(), at_home: false, here: true };
    assert_eq!(coach.ask(ask).await, DONE);
    coach.until(|message| (coach_view(message)?.people.len() == 2).then_some(())).await;
    // The phone was not sure whether its tap was kept.
    phone.send(&FromDevice::Tap { tap }).await;
    phone.until(|message| matches!(message, ToDevice::Kept { .. }).then_some(())).await;
    let class = server.house.lobby().borrow().open().cloned().unwrap();
    let tally = class.feed.snapshot().now.rows[0].scores[0].tally;
    assert_eq!(tally, Some(Tally::Rounds { rounds: 1, extra: 0 }));
}

#[tokio::test]
async fn a_class_that_ran_while_nobody_knows_how_long_comes_back_held() {
    let server = Server::start().await;
    server.open_class().await;
    let mut coach = server.coach().await;
    coach.go_to_work(&server).await;
    drop(coach);
    let (folder, clock) = server.stop().await;
    let how = Start::WallRanBackwards { by: Span::from_mins(3) };
    let server = Server::start_on(folder, clock, how).await;
    let mut coach = server.coach().await;
    let state = coach.state().await;
    assert!(matches!(state.now.clock.phase, Phase::Held { segment: WORK, .. }));
    let warning = coach.until(|message| coach_view(message)?.warnings.first().cloned()).await;
    assert!(warning.contains("3:00"), "{warning}");
}

#[tokio::test]
async fn a_slow_screen_gets_the_newest_state_and_no_backlog() {
    let server = Server::start().await;
    let open = server.open_class().await;
    let mut coach = server.coach().await;
    for number in 0..40 {
        let name = Name::new(&format!("Ann {number}")).unwrap();
        let ask = Ask::AddAthlete { name: name.to_string(), at_home: false, here: true };
        assert_eq!(coach.ask(ask).await, DONE);
    }
    coach.go_to_work(&server).await;
    let mut slow = server.wall().await;
    slow.state().await;
    let class = server.house.lobby().borrow().open().cloned().unwrap();
    assert_eq!(class.id, open.class);
    let before = class.feed.snapshot();
    // Each of these moves nearly every row, so a frame has some 10 KiB. The wall reads none.
    for (rounds, row) in (0..).zip(before.now.rows.iter().cycle().take(120)) {
        let tally = Tally::Rounds { rounds, extra: 0 };
        let ask = Ask::SetTally { athlete: row.athlete, segment: WORK, tally };
        assert_eq!(coach.ask(ask).await, DONE);
        let mut frames = class.feed.frames(Pace::Quick);
        while class.feed.snapshot().now.rows.iter().all(|row| row.scores[0].tally != Some(tally)) {
            frames.recv().await.unwrap();
        }
    }
    let newest = class.feed.snapshot();
    let frames_sent = newest.number - before.number;
    assert!(frames_sent >= 100, "{frames_sent}");
    let (mut number, mut states, mut frames) = (before.number, 0, 0);
    let mut shown = before.now.rows.clone();
    while number < newest.number {
        match slow.next().await {
            ToDevice::State(state) => {
                (number, states) = (state.number, states + 1);
                shown = state.now.rows;
            }
            ToDevice::Frame(frame) => {
                assert_eq!(frame.number, number + 1, "frames follow each other");
                (number, frames) = (frame.number, frames + 1);
                for row in frame.rows {
                    let old = shown.iter_mut().find(|old| old.athlete == row.athlete);
                    *old.unwrap() = row;
                }
            }
            _ => {}
        }
    }
    assert_eq!(shown, newest.now.rows);
    assert!(states >= 1 && frames < frames_sent / 2, "{states} states, {frames} frames");
}

#[tokio::test]
async fn house_time_is_told_between_receiving_and_sending() {
    let server = Server::start().await;
    let mut coach = server.coach().await;
    let before = server.clock.now();
    coach.send(&FromDevice::Sync { t0: DeviceTime::from_micros(77) }).await;
    let (t0, t1, t2) = coach
        .until(|message| match message {
            ToDevice::Sync { t0, t1, t2 } => Some((*t0, *t1, *t2)),
            _ => None,
        })
        .await;
    assert_eq!(t0, DeviceTime::from_micros(77));
    assert!(before <= t1 && t1 <= t2 && t2 <= server.clock.now());
}

#[tokio::test]
async fn new_settings_come_to_who_follows_already() {
    let server = Server::start().await;
    let mut coach = server.coach().await;
    let house = Name::new("Quayside Hall").unwrap();
    let emergency = "Call 112. First aid: by the door.".to_owned();
    server.house.set_settings(Settings { house, emergency, places: true }).await.unwrap();
    coach
        .until(|message| match message {
            ToDevice::Welcome { house, emergency, .. } => {
                (house == "Quayside Hall" && emergency.starts_with("Call 112")).then_some(())
            }
            _ => None,
        })
        .await;
}

#[tokio::test]
async fn a_closed_class_stays_with_those_who_counted_in_it() {
    let server = Server::start().await;
    let open = server.open_class().await;
    let (mut coach, mut wall) = (server.coach().await, server.wall().await);
    let (athlete, mut phone) = server.phone(&open, "Ann").await;
    phone.state().await;
    wall.state().await;
    coach.go_to_work(&server).await;
    let late = tap_now(&server, athlete);
    assert!(server.house.open_class("other", crate::testing::session()).await.is_err());
    assert_eq!(coach.ask(Ask::Close).await, DONE);
    assert_eq!(server.house.current(), None);
    assert!(server.house.look(&open.code).is_err());
    let closed = |message: &ToDevice| {
        matches!(message, ToDevice::Frame(frame) if frame.closed == Some(true)).then_some(())
    };
    phone.until(closed).await;
    let no_class = |message: &ToDevice| matches!(message, ToDevice::NoClass { .. }).then_some(());
    for device in [&mut coach, &mut wall] {
        device.until(no_class).await;
    }

    let next = server.open_class().await;
    for device in [&mut coach, &mut wall] {
        assert_eq!(device.state().await.class, next.class);
    }
    // Who counted in the class before still brings in what was made there.
    phone.send(&FromDevice::Tap { tap: late.clone() }).await;
    let kept = |message: &ToDevice| {
        matches!(message, ToDevice::Kept { tap, .. } if *tap == late.id).then_some(())
    };
    phone.until(kept).await;
}

#[tokio::test]
async fn who_is_taken_out_is_told() {
    let server = Server::start().await;
    let open = server.open_class().await;
    let mut coach = server.coach().await;
    let (athlete, mut phone) = server.phone(&open, "Ann").await;
    phone.state().await;
    assert_eq!(coach.ask(Ask::RemoveAthlete { athlete }).await, DONE);
    phone.until(|message| matches!(message, ToDevice::NoClass { .. }).then_some(())).await;
    let id = RequestId(random_id());
    phone.send(&FromDevice::Ask { id, ask: Ask::Question { text: "Why?".into() } }).await;
    assert!(
        matches!(phone.answer(id).await, Outcome::Refused { code, .. } if code == "no-such-athlete")
    );
}
