//! The server is killed in the middle of work and comes back: the clock is where it would have been,
//! and nothing that was acknowledged is lost.

use floorbell_client::device::Device;
use floorbell_client::follow::{As, Follower};
use floorbell_core::class::clock::Phase;
use floorbell_core::class::command::{Call, Counts};
use floorbell_core::ids::SegmentIndex;
use floorbell_core::score::Tally;
use floorbell_core::time::{HouseTime, Span};
use floorbell_tests::house::House;
use floorbell_tests::people::{back_again, until};

/// Segments: 0 lead-in, 1 work.
const SHEET: &str = "# Restart\n\n## Tide: AMRAP 20 min\n\n- 5 squat\n";
const WORK: SegmentIndex = SegmentIndex(1);

/// House time when the machine's boot-time clock stood at zero, and how far off that may be.
async fn house_at_boot(follower: &mut Follower) -> (HouseTime, Span) {
    until(follower, "the device is sure of the time to 2 ms", |device| {
        let now = floorbell_client::now();
        let reading = device.sync().estimate(now)?;
        let at_boot = HouseTime::from_micros(reading.time.as_micros() - now.as_micros());
        (reading.bound <= Span::from_millis(2)).then_some((at_boot, reading.bound))
    })
    .await
}

fn phase(device: &Device) -> Option<Phase> {
    device.clock().map(|clock| clock.phase)
}

#[tokio::test]
async fn after_a_kill_in_mid_work_all_is_where_it_would_have_been() {
    let mut house = House::start().await;
    let class = house.open(SHEET).await;
    let mut coach = house.coach().await;
    let mut wall = house.wall(&mut coach).await;
    let mut phones = Vec::new();
    for name in ["Ansa", "Birk", "Caro"] {
        phones.push(house.phone(&class, name).await);
    }
    coach.go_to(WORK).await;
    coach.must(Call::AddTime { span: Span::from_secs(30) }).await;
    for (phone, rounds) in phones.iter_mut().zip(1..) {
        phone.sees_work(WORK).await;
        phone.rounds(WORK, rounds).await;
    }
    let clock_before = phase(coach.follower.device());
    assert!(matches!(clock_before, Some(Phase::Running { segment: WORK, .. })));
    let (before, unsure_before) = house_at_boot(&mut wall.follower).await;

    house.kill_and_restart().await;

    // Measured by a device that knows nothing of before.
    let mut fresh = Follower::new(house.address().clone(), wall.token.clone(), As::Wall);
    let (after, unsure_after) = house_at_boot(&mut fresh).await;
    let apart = Span::from_micros((after - before).as_micros().abs());
    assert!(
        apart + unsure_before + unsure_after <= Span::from_millis(5),
        "house time is off by {apart:?} after the restart, unsure by {unsure_before:?} and {unsure_after:?}",
    );

    // Every screen comes back by itself, to the clock as it was and all that was acknowledged.
    for (phone, rounds) in phones.iter_mut().zip(1..) {
        let athlete = phone.athlete;
        let tally = Tally::Rounds { rounds, extra: 0 };
        back_again(&mut phone.follower).await;
        assert_eq!(phase(phone.follower.device()), clock_before);
        let row = phone.follower.device().row(athlete).expect("the row is there");
        assert_eq!(row.scores[0].tally, Some(tally));
        phone.sees_tally(WORK, tally).await;
    }
    assert_eq!(phase(fresh.device()), clock_before);
    back_again(&mut coach.follower).await;
    // And the class goes on.
    let [ansa, ..] = phones.as_mut_slice() else { panic!("there are phones") };
    ansa.tap_kept(WORK, Counts::RoundBefore).await;
    ansa.sees_tally(WORK, Tally::Rounds { rounds: 2, extra: 0 }).await;
    coach.must(Call::Hold).await;
}
