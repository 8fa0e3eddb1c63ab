//! What goes wrong in real classes, on the real program: phones that die, clocks that jump, people who
//! come late or leave, a coach who changes the class under taps that are on their way. Those in which
//! minutes have to pass stand in the server's own tests, on a clock that they drive.

use std::collections::BTreeSet;
use std::time::{Duration, Instant};

use floorbell_client::device::outbox::{Entry, Write};
use floorbell_client::device::{Device, TapFate};
use floorbell_client::follow::News;
use floorbell_client::random_id;
use floorbell_core::class::clock::Phase;
use floorbell_core::class::command::{Call, Counts};
use floorbell_core::ids::{DeviceId, SegmentIndex, TapId};
use floorbell_core::score::{Mark, Standing, Tally, WhyNot};
use floorbell_core::time::Span;
use floorbell_core::wire::{Ask, Outcome, ToDevice};
use floorbell_tests::house::House;
use floorbell_tests::people::{Coach, Phone, let_pass, until};
use floorbell_tests::soon;

/// Segments: 0 lead-in, 1 work, 2 rest.
const SHEET: &str =
    "# Awkward\n\n## Tide: AMRAP 10 min\n\n- 5 squat\n- 4 push-up\n\n## Rest 5 min\n";
const WORK: SegmentIndex = SegmentIndex(1);

const DONE: Outcome = Outcome::Done { link: None };

fn rounds(rounds: u32) -> Tally {
    Tally::Rounds { rounds, extra: 0 }
}

/// A class in its work, with one phone in it.
async fn working() -> (House, Coach, Phone) {
    let house = House::start().await;
    let class = house.open(SHEET).await;
    let mut coach = house.coach().await;
    let mut phone = house.phone(&class, "Ansa").await;
    coach.go_to(WORK).await;
    phone.sees_work(WORK).await;
    (house, coach, phone)
}

async fn kept(phone: &mut Phone, tap: TapId) -> Standing {
    match phone.fate(tap).await {
        TapFate::Kept(standing) => standing,
        refused @ TapFate::Refused { .. } => panic!("the tap was not kept: {refused:?}"),
    }
}

fn counts(standing: &Standing) -> bool {
    matches!(standing, Standing::Counted { .. })
}

#[tokio::test]
async fn a_phone_that_dies_in_mid_round_comes_up_with_its_taps() {
    let (house, _coach, first) = working().await;
    let device = DeviceId(random_id());
    let mut phone = first.come_up(house.address(), device, Vec::new()).await;
    phone.follower.cut();
    let (written, lost) = (phone.tap(WORK, Counts::Round), phone.tap(WORK, Counts::RoundBefore));
    // It dies once the first is on its disk.
    let disk: Vec<Entry> = match phone.follower.device_mut().next_write() {
        Some(Write::Put(entry)) => vec![*entry],
        other => panic!("the tap is to be written, not {other:?}"),
    };
    drop(phone);
    let mut phone = first.come_up(house.address(), device, disk).await;
    assert!(counts(&kept(&mut phone, written).await));
    phone.sees_tally(WORK, rounds(1)).await;
    assert_eq!(phone.follower.device().tap_fate(lost), None);
}

#[tokio::test]
async fn one_person_on_two_phones_has_one_tally() {
    let (house, _coach, mut phone) = working().await;
    let mut other = phone.another(house.address()).await;
    let one = phone.tap_kept(WORK, Counts::Round).await;
    let two = other.tap(WORK, Counts::RoundBefore);
    assert!(counts(&one) && counts(&kept(&mut other, two).await));
    for phone in [&mut phone, &mut other] {
        phone.sees_tally(WORK, rounds(2)).await;
    }
    // What one has tapped, the other takes back.
    phone.undo(two).await;
    for phone in [&mut phone, &mut other] {
        phone.sees_tally(WORK, rounds(1)).await;
    }
}

#[tokio::test]
async fn a_clock_that_jumps_an_hour_loses_no_tap_and_misleads_nobody() {
    let (_house, mut coach, mut phone) = working().await;
    let hour = Span::from_mins(60);
    let ahead = phone.tap_off_by(WORK, hour);
    assert!(matches!(
        kept(&mut phone, ahead).await,
        Standing::Counted { mark: Some(Mark::AheadOfTime), .. }
    ));
    let behind = phone.tap_off_by(WORK, -hour);
    assert!(matches!(
        kept(&mut phone, behind).await,
        Standing::NotCounted { why: WhyNot::NotWork, .. }
    ));
    // Set right, it counts as if nothing had been.
    let right = phone.tap_kept(WORK, Counts::RoundBefore).await;
    assert!(matches!(right, Standing::Counted { mark: None, .. }), "{right:?}");
    phone.sees_tally(WORK, rounds(2)).await;
    let athlete = phone.athlete;
    until(&mut coach.follower, "the coach sees the mark", |device| {
        device.row(athlete)?.scores[0].marked.then_some(())
    })
    .await;
}

#[tokio::test]
async fn a_hold_a_restart_and_its_undo_while_taps_are_on_their_way() {
    let (_house, mut coach, mut phone) = working().await;
    phone.follower.cut();
    let before_hold = phone.tap(WORK, Counts::Round);
    let made = phone.time();
    let_pass(&mut coach.follower, made.time + made.bound).await;
    coach.must(Call::Hold).await;
    coach.must(Call::Resume).await;
    let restart = coach.send(Call::Restart);
    assert_eq!(coach.outcome(restart).await, DONE);
    phone.follower.mend();
    let repeated = Standing::NotCounted { why: WhyNot::Repeated, marked: false };
    assert_eq!(kept(&mut phone, before_hold).await, repeated);

    coach.take_back(restart).await;
    phone.sees_tally(WORK, rounds(1)).await;
}

#[tokio::test]
async fn who_comes_late_counts_and_who_leaves_keeps_the_count() {
    let (house, mut coach, mut leaving) = working().await;
    let mut wall = house.wall(&mut coach).await;
    leaving.rounds(WORK, 3).await;
    let code = coach.follower.device().state().and_then(|state| state.join.clone());
    let code = code.expect("the coach has the code").code;
    let mut late = Phone::join(house.address(), &code, "Birk", false).await;
    late.sees_work(WORK).await;
    late.rounds(WORK, 2).await;
    wall.sees_row(late.athlete, "the wall shows who came late", |row| {
        (row.scores[0].tally, row.scores[0].place) == (Some(rounds(2)), Some(2))
    })
    .await;

    // Gone with their phone, they keep their place; taken out by the coach, they leave it.
    leaving.follower.cut();
    let athlete = leaving.athlete;
    until(&mut coach.follower, "the coach sees that a phone is gone", |device| {
        device.coach()?.devices.iter().any(|line| !line.connected).then_some(())
    })
    .await;
    let row = coach.follower.device().row(athlete).expect("they are still on the board");
    assert_eq!((row.scores[0].tally, row.scores[0].place), (Some(rounds(3)), Some(1)));
    assert_eq!(coach.ask(Ask::RemoveAthlete { athlete }).await, DONE);
    wall.sees_row(late.athlete, "who stays moves up", |row| row.scores[0].place == Some(1)).await;
    assert!(wall.follower.device().row(athlete).is_none());
}

#[tokio::test]
async fn the_coach_corrects_a_tally_while_the_athlete_taps() {
    let (_house, mut coach, mut phone) = working().await;
    let athlete = phone.athlete;
    phone.rounds(WORK, 2).await;
    phone.follower.cut();
    let on_its_way = phone.tap(WORK, Counts::RoundBefore);
    let made = phone.time();
    let_pass(&mut coach.follower, made.time + made.bound).await;
    let tally = rounds(7);
    assert_eq!(coach.ask(Ask::SetTally { athlete, segment: WORK, tally }).await, DONE);
    phone.follower.mend();
    let covered = kept(&mut phone, on_its_way).await;
    assert!(matches!(covered, Standing::NotCounted { why: WhyNot::SetSince, .. }), "{covered:?}");
    phone.sees_tally(WORK, rounds(7)).await;
    assert!(counts(&phone.tap_kept(WORK, Counts::RoundBefore).await));
    phone.sees_tally(WORK, rounds(8)).await;
}

#[tokio::test]
async fn a_class_that_is_over_takes_the_five_taps_that_a_phone_still_has() {
    let (_house, mut coach, mut phone) = working().await;
    phone.follower.cut();
    let mut taps = vec![phone.tap(WORK, Counts::Round)];
    taps.extend((0..4).map(|_| phone.tap(WORK, Counts::RoundBefore)));
    let made = phone.time();
    let_pass(&mut coach.follower, made.time + made.bound).await;
    coach.must(Call::Finish).await;
    assert_eq!(coach.ask(Ask::Close).await, DONE);
    assert_eq!(phone.follower.device().taps_waiting(), 5);
    phone.follower.mend();
    for tap in taps {
        let standing = kept(&mut phone, tap).await;
        assert!(counts(&standing), "{standing:?}");
    }
    phone.sees_tally(WORK, rounds(5)).await;
    assert_eq!(phone.follower.device().taps_waiting(), 0);
    assert!(phone.follower.device().state().is_some_and(|state| state.now.closed));
}

/// Taps of a script in one go: whoever sends far more before reading the answers is asked to come back.
const LOT: usize = 100;

/// What a device may send in a row, and how long one more then takes (see the protocol page).
const IN_A_ROW: usize = 256;
const ONE_MORE: Duration = Duration::from_millis(50);

/// Sends lot after lot without a pause, and gives how many taps were kept in all, and how many were too
/// much.
async fn flood(phone: &mut Phone, lots: usize) -> (usize, usize) {
    let (mut kept, mut told) = (0, 0);
    for _ in 0..lots {
        let mut unanswered: BTreeSet<TapId> =
            (0..LOT).map(|_| phone.tap(WORK, Counts::RoundBefore)).collect();
        while !unanswered.is_empty() {
            match soon("each tap is answered", phone.follower.next()).await {
                News::Heard(ToDevice::Kept { tap, .. }) => {
                    unanswered.remove(&tap);
                    kept += 1;
                }
                News::Heard(ToDevice::NotKept { tap, code, text, again, .. }) => {
                    assert_eq!((code.as_str(), again), ("too-much", true), "{text}");
                    unanswered.remove(&tap);
                    told += 1;
                }
                News::Lost(why) => panic!("the device is slowed, not thrown out: {why}"),
                _ => {}
            }
        }
    }
    (kept, told)
}

#[tokio::test]
async fn a_device_that_taps_like_a_script_is_slowed_and_told_and_nobody_else_notices() {
    let (house, coach, mut script) = working().await;
    let code = coach.follower.device().state().and_then(|state| state.join.clone());
    let code = code.expect("the coach has the code").code;
    let mut other = Phone::join(house.address(), &code, "Birk", false).await;
    other.sees_work(WORK).await;
    let began = Instant::now();
    let ((kept, told), ()) = tokio::join!(flood(&mut script, 4), other.rounds(WORK, 20));
    let since = began.elapsed().div_duration_f64(ONE_MORE) as usize + 1;
    assert!((200..=IN_A_ROW + since).contains(&kept), "{kept} kept, {since} since");
    assert!((1..=since).contains(&told), "told {told} times, read no further {since} times");
    other.sees_tally(WORK, rounds(20)).await;
    let tally = |device: &Device, athlete| device.row(athlete)?.scores[0].tally;
    until(&mut other.follower, "the board shows what was kept of it", |device| {
        let Tally::Rounds { rounds, .. } = tally(device, script.athlete)? else { return None };
        (rounds as usize >= kept).then_some(())
    })
    .await;
    assert!(script.follower.device().taps_waiting() > 0, "the rest waits on it");
    assert!(matches!(
        coach.follower.device().clock().map(|clock| clock.phase),
        Some(Phase::Running { segment: WORK, .. })
    ));
}
