//! Tally tablets: how they are let in, for whom they count, and that it stays so.

use floorbell_core::class::command::{Call, Choice, Seen, Tap};
use floorbell_core::ids::{AthleteId, RequestId};
use floorbell_core::score::Tally;
use floorbell_core::wire::{Ask, DeviceLine, FromDevice, Outcome, Role, TabletView, ToDevice};

use super::coach_view;
use super::server::{Client, DONE, Server, WORK, tap_now};
use crate::access::{PairedKind, random_id};
use crate::clock::Start;

/// A tally tablet that the coach has let in, with its number.
async fn tablet(server: &Server) -> (u32, Client) {
    let (number, token) = server.pair(PairedKind::Tablet);
    assert_eq!(server.house.settle_pairing(number, true).await, DONE);
    (number, Client::connect(server, "tablet", &token).await)
}

/// The next view that fits.
async fn view(tablet: &mut Client, fits: impl Fn(&TabletView) -> bool) -> TabletView {
    tablet
        .until(|message| match message {
            ToDevice::Tablet(view) if fits(view) => Some(TabletView::clone(view)),
            _ => None,
        })
        .await
}

fn rounds(view: &TabletView, athlete: AthleteId) -> Option<Tally> {
    let line = view.lines.iter().find(|line| line.who.athlete == athlete)?;
    line.windows.iter().find(|window| window.segment == WORK).map(|window| window.tally)
}

/// Whether somebody has so many rounds.
fn has(view: &TabletView, athlete: AthleteId, expected: u32) -> bool {
    rounds(view, athlete) == Some(Tally::Rounds { rounds: expected, extra: 0 })
}

/// Sends a tap, and says with what code it was refused, if it was.
async fn tap(server: &Server, device: &mut Client, athlete: AthleteId) -> Option<String> {
    send(device, tap_now(server, athlete)).await
}

async fn send(device: &mut Client, tap: Tap) -> Option<String> {
    device.send(&FromDevice::Tap { tap: tap.clone() }).await;
    device
        .until(|message| match message {
            ToDevice::Kept { tap: id, .. } if *id == tap.id => Some(None),
            ToDevice::NotKept { tap: id, code, again: false, .. } if *id == tap.id => {
                Some(Some(code.clone()))
            }
            _ => None,
        })
        .await
}

fn refused_as(outcome: &Outcome, expected: &str) -> bool {
    matches!(outcome, Outcome::Refused { code, text } if code == expected && !text.is_empty())
}

#[tokio::test]
async fn a_tablet_waits_is_let_in_counts_for_whom_it_is_told_and_is_turned_away() {
    let server = Server::start().await;
    let open = server.open_class().await;
    let mut coach = server.coach().await;
    let (ann, _phone) = server.phone(&open, "Ann").await;
    let (bo, _phone) = server.phone(&open, "Bo").await;
    let (wall, _) = server.waiting_wall().await;
    let (number, token) = server.pair(PairedKind::Tablet);
    assert_ne!(number, wall, "the coach tells them by number alone");
    let mut tablet = Client::connect(&server, "tablet", &token).await;
    let waits = Role::Tablet { accepted: false, number };
    assert!(matches!(tablet.next().await, ToDevice::Welcome { role, .. } if role == waits));
    let view_of_coach = coach
        .until(|message| coach_view(message).filter(|view| !view.tablets_waiting.is_empty()))
        .await;
    assert_eq!(
        (view_of_coach.tablets_waiting, view_of_coach.walls_waiting),
        (vec![number], vec![wall])
    );
    let assign =
        |number, athletes: &[AthleteId]| Ask::Assign { number, athletes: athletes.to_vec() };
    for wrong in [number, wall, 77] {
        let outcome = coach.ask(assign(wrong, &[ann])).await;
        assert!(refused_as(&outcome, "no-such-tablet"), "{wrong}: {outcome:?}");
    }

    assert_eq!(coach.ask(Ask::Wall { number, accept: true }).await, DONE);
    let accepted = Role::Tablet { accepted: true, number };
    // Nothing has come in between.
    assert!(matches!(tablet.next().await, ToDevice::Welcome { role, .. } if role == accepted));
    let state = tablet.state().await;
    assert_eq!(state.class, open.class);
    assert!(state.session.blocks.iter().all(|block| block.cues.is_empty()));
    assert_eq!(view(&mut tablet, |_| true).await.lines, []);
    assert_eq!(coach.ask(assign(number, &[bo, ann])).await, DONE);
    let lines = view(&mut tablet, |view| !view.lines.is_empty()).await.lines;
    let names: Vec<_> = lines.iter().map(|line| (line.who.athlete, &*line.who.name)).collect();
    assert_eq!(names, [(bo, "Bo"), (ann, "Ann")], "in the order that the coach chose");
    let line = |message: &ToDevice| -> Option<DeviceLine> {
        coach_view(message)?.devices.into_iter().find(|line| line.role == accepted)
    };
    let shown = coach.until(|message| line(message).filter(|it| !it.counts_for.is_empty())).await;
    assert_eq!((shown.device, shown.counts_for), (tablet.device, vec![bo, ann]));

    assert_eq!(coach.ask(Ask::Wall { number, accept: false }).await, DONE);
    assert_eq!(tablet.end().await.0, 1008);
    assert!(refused_as(&coach.ask(assign(number, &[ann])).await, "no-such-tablet"));
    coach.until(|message| line(message).is_none().then_some(())).await;
}

#[tokio::test]
async fn a_tablet_counts_for_those_alone_whom_it_was_told() {
    let server = Server::start().await;
    let open = server.open_class().await;
    let mut coach = server.coach().await;
    let (ann, _phone) = server.phone(&open, "Ann").await;
    let (bo, _phone) = server.phone(&open, "Bo").await;
    let (number, mut device) = tablet(&server).await;
    coach.go_to_work(&server).await;
    assert_eq!(tap(&server, &mut device, ann).await.as_deref(), Some("not-yours"));
    assert_eq!(coach.ask(Ask::Assign { number, athletes: vec![ann] }).await, DONE);
    assert_eq!(tap(&server, &mut device, ann).await, None);
    view(&mut device, |view| has(view, ann, 1)).await;
    assert_eq!(tap(&server, &mut device, bo).await.as_deref(), Some("not-yours"));

    // What it counted for somebody until now may still be on its way; results are for those now.
    assert_eq!(coach.ask(Ask::Assign { number, athletes: vec![bo] }).await, DONE);
    assert_eq!(tap(&server, &mut device, ann).await, None);
    assert_eq!(tap(&server, &mut device, bo).await, None);
    view(&mut device, |view| has(view, bo, 1)).await;
    let set = |athlete, rounds| Ask::SetTally {
        athlete,
        segment: WORK,
        tally: Tally::Rounds { rounds, extra: 0 },
    };
    assert!(refused_as(&device.ask(set(ann, 9)).await, "not-yours"));
    assert_eq!(device.ask(set(bo, 4)).await, DONE);
    view(&mut device, |view| has(view, bo, 4)).await;
}

#[tokio::test]
async fn a_tablet_takes_back_and_asks_for_nothing_else() {
    let server = Server::start().await;
    let open = server.open_class().await;
    let mut coach = server.coach().await;
    let (ann, _phone) = server.phone(&open, "Ann").await;
    let (number, mut device) = tablet(&server).await;
    assert_eq!(coach.ask(Ask::Assign { number, athletes: vec![ann] }).await, DONE);
    coach.go_to_work(&server).await;
    assert_eq!(tap(&server, &mut device, ann).await, None);
    let one = view(&mut device, |view| has(view, ann, 1)).await;
    let of = one.lines[0].windows.last().unwrap().last_tap.unwrap();
    let id = RequestId(random_id());
    device.send(&FromDevice::Undo { id, athlete: ann, of }).await;
    assert_eq!(device.answer(id).await, DONE);
    view(&mut device, |view| has(view, ann, 0)).await;

    for (ask, code) in [
        (Ask::Choose { athlete: ann, choice: Choice::default() }, "coach-only"),
        (Ask::LetCount { athlete: ann, counter: None }, "coach-only"),
        (Ask::Assign { number, athletes: Vec::new() }, "coach-only"),
        (Ask::Wall { number, accept: true }, "coach-only"),
        (Ask::Close, "coach-only"),
        (Ask::Question { text: "Why?".into() }, "athlete-only"),
    ] {
        let outcome = device.ask(ask.clone()).await;
        assert!(refused_as(&outcome, code), "{ask:?}: {outcome:?}");
    }
    let class = server.house.lobby().borrow().open().cloned().unwrap();
    let clock = class.feed.snapshot().now.clock.clone();
    let seen = Seen { segment: clock.phase.segment(), revision: clock.revision };
    for call in [Call::Stop, Call::Hold, Call::Next] {
        let id = RequestId(random_id());
        device.send(&FromDevice::Call { id, call, seen }).await;
        assert!(refused_as(&device.answer(id).await, "coach-only"), "{call:?}");
    }
    assert_eq!(class.feed.snapshot().now.clock, clock);
}

#[tokio::test]
async fn a_tablet_shows_the_stop_notice_and_is_named_until_it_has() {
    let server = Server::start().await;
    server.open_class().await;
    let mut coach = server.coach().await;
    let (_, mut device) = tablet(&server).await;
    device.state().await;
    coach.go_to_work(&server).await;
    coach.stop(&server).await;
    let revision = device
        .until(|message| match message {
            ToDevice::Stop { clock, .. } => Some(clock.revision),
            _ => None,
        })
        .await;
    let id = device.device;
    let seen = |message: &ToDevice, expected: bool| {
        let view = coach_view(message)?;
        let line = view.devices.iter().find(|line| line.device == id)?;
        (line.stop_seen == expected).then_some(())
    };
    coach.until(|message| seen(message, false)).await;
    device.send(&FromDevice::StopSeen { revision }).await;
    coach.until(|message| seen(message, true)).await;
}

#[tokio::test]
async fn after_a_restart_a_tablet_counts_for_the_same_people() {
    let server = Server::start().await;
    let open = server.open_class().await;
    let mut coach = server.coach().await;
    let (ann, _phone) = server.phone(&open, "Ann").await;
    let (number, token) = server.pair(PairedKind::Tablet);
    assert_eq!(server.house.settle_pairing(number, true).await, DONE);
    assert_eq!(coach.ask(Ask::Assign { number, athletes: vec![ann] }).await, DONE);
    coach.go_to_work(&server).await;
    drop(coach);
    let (folder, clock) = server.stop().await;

    let server = Server::start_on(folder, clock, Start::Continued).await;
    let mut device = Client::connect(&server, "tablet", &token).await;
    let accepted = Role::Tablet { accepted: true, number };
    assert!(matches!(device.next().await, ToDevice::Welcome { role, .. } if role == accepted));
    let again = view(&mut device, |view| !view.lines.is_empty()).await;
    assert_eq!((again.lines[0].who.athlete, &*again.lines[0].who.name), (ann, "Ann"));
    assert_eq!(tap(&server, &mut device, ann).await, None);
    view(&mut device, |view| has(view, ann, 1)).await;
}

#[tokio::test]
async fn what_a_tablet_counted_in_a_class_that_is_closed_still_counts() {
    let server = Server::start().await;
    let open = server.open_class().await;
    let mut coach = server.coach().await;
    let (ann, _phone) = server.phone(&open, "Ann").await;
    let (number, mut device) = tablet(&server).await;
    assert_eq!(coach.ask(Ask::Assign { number, athletes: vec![ann] }).await, DONE);
    coach.go_to_work(&server).await;
    let class = server.house.lobby().borrow().open().cloned().unwrap();
    let [first, second] = [(); 2].map(|()| tap_now(&server, ann));
    let id = first.id;
    assert_eq!(coach.ask(Ask::Close).await, DONE);
    device.until(|message| matches!(message, ToDevice::NoClass { .. }).then_some(())).await;
    assert_eq!(send(&mut device, first).await, None);
    let next = server.open_class().await;
    assert_eq!(device.state().await.class, next.class);
    assert_eq!(view(&mut device, |_| true).await.lines, [], "nobody was assigned in this one");
    assert_eq!(send(&mut device, second).await, None);
    let own = class.feed.own(ann).unwrap().borrow().to_string();
    assert!(own.contains(&format!(r#""last_tap":"{}""#, id.0)), "{own}");
}

#[tokio::test]
async fn a_tablet_is_told_only_of_changes_to_its_own_people() {
    let server = Server::start().await;
    let open = server.open_class().await;
    let mut coach = server.coach().await;
    let (ann, _phone) = server.phone(&open, "Ann").await;
    let (bo, mut phone) = server.phone(&open, "Bo").await;
    let (number, mut device) = tablet(&server).await;
    assert_eq!(coach.ask(Ask::Assign { number, athletes: vec![ann] }).await, DONE);
    coach.go_to_work(&server).await;
    view(&mut device, |view| has(view, ann, 0)).await;
    assert_eq!(tap(&server, &mut phone, bo).await, None);
    assert_eq!(tap(&server, &mut device, ann).await, None);
    // The first view that comes after Bo's tap is the one of Ann's.
    let next = view(&mut device, |_| true).await;
    assert!(has(&next, ann, 1), "{next:?}");
    // Who is taken out of the class is taken off the tablet.
    assert_eq!(coach.ask(Ask::RemoveAthlete { athlete: ann }).await, DONE);
    assert_eq!(view(&mut device, |_| true).await.lines, []);
}
