//! Calls when several devices make them, and the stop that must reach every screen.

use floorbell_core::class::clock::Phase;
use floorbell_core::class::command::Call;
use floorbell_core::ids::SegmentIndex;
use floorbell_core::wire::Outcome;
use floorbell_tests::house::House;
use floorbell_tests::people::until;

/// Segments: 0 to 2 talk, 3 lead-in, 4 work.
const SHEET: &str = "\
# Calls

## Talk: one, 1 min

## Talk: two, 1 min

## Talk: three, 1 min

## Tide: AMRAP 4 min

- 5 squat
- 5 sit-up
";
const WORK: SegmentIndex = SegmentIndex(4);

fn refused_as(outcome: &Outcome) -> Option<&str> {
    match outcome {
        Outcome::Refused { code, .. } => Some(code),
        Outcome::Done { .. } | Outcome::NotYetSaved => None,
    }
}

/// Rule 1.3: two coach devices press next at once; the class moves one segment and the second
/// device is told why.
#[tokio::test]
async fn of_two_coaches_who_press_next_at_once_one_moves_the_class() {
    let house = House::start().await;
    house.open(SHEET).await;
    let mut one = house.coach().await;
    let mut other = house.coach().await;
    one.must(Call::Start).await;
    until(&mut other.follower, "the other coach device shows the start", |device| {
        device.phase(floorbell_client::now())?.segment()
    })
    .await;

    let (first, second) = (one.send(Call::Next), other.send(Call::Next));
    let (first, second) = tokio::join!(one.outcome(first), other.outcome(second));
    let mut refusals = [refused_as(&first), refused_as(&second)];
    refusals.sort_unstable();
    assert_eq!(refusals, [None, Some("stale")], "{first:?} {second:?}");
    for coach in [&mut one, &mut other] {
        until(&mut coach.follower, "the class is one segment on", |device| {
            (device.phase(floorbell_client::now())?.segment()? == SegmentIndex(1)).then_some(())
        })
        .await;
    }
}

#[tokio::test]
async fn a_call_that_comes_twice_is_carried_out_once() {
    let house = House::start().await;
    house.open(SHEET).await;
    let mut coach = house.coach().await;
    let mut other = house.coach().await;
    coach.must(Call::Start).await;
    let next = coach.send(Call::Next);
    assert_eq!(coach.outcome(next).await, Outcome::Done { link: None });
    other.send_as(next, Call::Next);
    assert_eq!(other.outcome(next).await, Outcome::Done { link: None }, "its first answer");
    coach.must(Call::Hold).await;
    assert_eq!(coach.segment(), Some(SegmentIndex(1)), "one segment on, not two");
}

/// Rule 1.8: every connected screen shows the notice, and the coach sees that each has.
#[tokio::test]
async fn stop_reaches_every_screen_and_each_confirms() {
    let house = House::start().await;
    let class = house.open(SHEET).await;
    let mut coach = house.coach().await;
    let mut wall = house.wall(&mut coach).await;
    let mut ansa = house.phone(&class, "Ansa").await;
    let mut birk = house.phone(&class, "Birk").await;
    coach.go_to(WORK).await;
    coach.must(Call::Stop).await;
    for follower in [&mut wall.follower, &mut ansa.follower, &mut birk.follower] {
        until(follower, "the screen shows the stop notice", |device| {
            let clock = device.clock()?;
            (clock.stopped && matches!(clock.phase, Phase::Held { segment: WORK, .. }))
                .then_some(())
        })
        .await;
    }
    let mut screens = [coach.follower, wall.follower, ansa.follower, birk.follower];
    let [coach, others @ ..] = &mut screens;
    let all_seen = until(coach, "the coach sees that all have confirmed", |device| {
        let devices = &device.coach()?.devices;
        let connected: Vec<_> = devices.iter().filter(|device| device.connected).collect();
        (connected.len() == 4 && connected.iter().all(|device| device.stop_seen)).then_some(())
    });
    // The others have their confirmations still to send.
    let [wall, ansa, birk] = others;
    tokio::select! {
        () = all_seen => {}
        () = go_on(wall) => {}
        () = go_on(ansa) => {}
        () = go_on(birk) => {}
    }
}

/// Follows for as long as it is let.
async fn go_on(follower: &mut floorbell_client::follow::Follower) {
    loop {
        follower.next().await;
    }
}
