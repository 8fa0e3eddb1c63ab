//! The server is killed in the middle of work and comes back: the clock is where it would have been,
//! and nothing that was acknowledged is lost.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};

use floorbell_client::device::Device;
use floorbell_client::follow::{As, Follower, News};
use floorbell_core::class::clock::Phase;
use floorbell_core::class::command::{Call, Counts};
use floorbell_core::ids::{AthleteId, SegmentIndex};
use floorbell_core::score::{Standing, Tally};
use floorbell_core::time::Span;
use floorbell_tests::house::House;
use floorbell_tests::people::{Phone, Wall, back_again, house_at_boot, until};
use floorbell_tests::soon;
use tokio::sync::mpsc;
use tokio::task::JoinSet;

/// Segments: 0 lead-in, 1 work.
const SHEET: &str = "# Restart\n\n## Tide: AMRAP 20 min\n\n- 5 squat\n- 4 push-up\n";
const WORK: SegmentIndex = SegmentIndex(1);

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

/// How often the server is killed while everyone taps.
const KILLS: u32 = 5;
const TAPPING: usize = 8;

/// What has been acknowledged to each athlete.
type Acknowledged = BTreeMap<AthleteId, Arc<AtomicU32>>;

/// Taps without a pause, one after the other as each is acknowledged, until told to stop. Says so
/// after each, and ends with the tally that all of them make.
async fn tap_on(
    mut phone: Phone,
    acknowledged: Arc<AtomicU32>,
    said: mpsc::UnboundedSender<()>,
    enough: Arc<AtomicBool>,
) -> (Phone, Tally) {
    phone.sees_work(WORK).await;
    while !enough.load(Ordering::Relaxed) {
        let standing = phone.tap_kept(WORK, Counts::RoundBefore).await;
        assert!(matches!(standing, Standing::Counted { .. }), "{standing:?}");
        acknowledged.fetch_add(1, Ordering::Relaxed);
        let _ = said.send(());
    }
    let rounds = acknowledged.load(Ordering::Relaxed);
    (phone, Tally::Rounds { rounds, extra: 0 })
}

fn rounds_shown(device: &Device, athlete: AthleteId) -> Option<u32> {
    match device.row(athlete)?.scores[0].tally? {
        Tally::Rounds { rounds, .. } => Some(rounds),
        other => panic!("not rounds: {other:?}"),
    }
}

/// Kills the server after so many more taps, and sees on a fresh device that none is missing.
async fn kill_after(
    taps: usize,
    house: &mut House,
    wall: &Wall,
    said: &mut mpsc::UnboundedReceiver<()>,
    acknowledged: &Acknowledged,
) {
    for _ in 0..taps {
        soon("somebody's tap is acknowledged", said.recv()).await.expect("they tap on");
    }
    house.kill().await;
    let least: Vec<_> =
        acknowledged.iter().map(|(who, count)| (*who, count.load(Ordering::Relaxed))).collect();
    house.start_again().await;
    let mut fresh = Follower::new(house.address().clone(), wall.token.clone(), As::Wall);
    until(&mut fresh, "a fresh device is told the class", |device| device.state().map(|_| ()))
        .await;
    for (athlete, least) in least {
        let shown = rounds_shown(fresh.device(), athlete).unwrap_or(0);
        assert!(shown >= least, "{shown} rounds of {least} that were acknowledged");
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn no_tap_is_lost_or_doubled_by_kills_while_everyone_taps() {
    let mut house = House::start().await;
    let class = house.open(SHEET).await;
    let mut coach = house.coach().await;
    let mut wall = house.wall(&mut coach).await;
    let (say, mut said) = mpsc::unbounded_channel();
    let enough = Arc::new(AtomicBool::new(false));
    let (mut acknowledged, mut phones) = (Acknowledged::new(), JoinSet::new());
    coach.go_to(WORK).await;
    let clock_before = phase(coach.follower.device());
    let (before, unsure_before) = house_at_boot(&mut wall.follower).await;
    for number in 0..TAPPING {
        let phone = house.phone(&class, &format!("Crew {number}")).await;
        let count = Arc::new(AtomicU32::new(0));
        acknowledged.insert(phone.athlete, Arc::clone(&count));
        phones.spawn(tap_on(phone, count, say.clone(), Arc::clone(&enough)));
    }

    for kill in 0..KILLS {
        // Another moment of the writing each time, by chance: all of them are to be survived.
        let chance = usize::from(floorbell_client::random_id().as_bytes()[0]) % 64;
        println!("kill {kill}: after {chance} taps more");
        kill_after(TAPPING + chance, &mut house, &wall, &mut said, &acknowledged).await;
    }
    enough.store(true, Ordering::Relaxed);

    let mut fresh = Follower::new(house.address().clone(), wall.token.clone(), As::Wall);
    let (after, unsure_after) = house_at_boot(&mut fresh).await;
    let apart = Span::from_micros((after - before).as_micros().abs());
    assert!(
        apart + unsure_before + unsure_after <= Span::from_millis(5),
        "house time is off by {apart:?}, unsure by {unsure_before:?} and {unsure_after:?}",
    );
    assert_eq!(phase(fresh.device()), clock_before);
    // Each tap that was ever made counts once.
    while let Some(done) = phones.join_next().await {
        let (mut phone, tally) = done.expect("a phone taps to the end");
        phone.sees_tally(WORK, tally).await;
    }
}

#[tokio::test]
async fn an_orderly_stop_tells_every_device_and_leaves_a_folder_that_is_whole() {
    let mut house = House::start().await;
    let class = house.open(SHEET).await;
    let mut coach = house.coach().await;
    let mut wall = house.wall(&mut coach).await;
    let mut phone = house.phone(&class, "Ansa").await;
    coach.go_to(WORK).await;
    phone.sees_work(WORK).await;
    phone.rounds(WORK, 2).await;

    let status = house.stop().await;
    assert!(status.success(), "{status}");
    for follower in [&mut coach.follower, &mut wall.follower, &mut phone.follower] {
        let why = soon("the device is told why", async {
            loop {
                match follower.next().await {
                    News::Lost(why) => return why,
                    News::Heard(_) | News::Connected => {}
                    News::TurnedAway(status) => panic!("turned away with {status}"),
                }
            }
        })
        .await;
        assert!(why.contains("1001") && why.contains("comes back by itself"), "{why}");
    }
    // All is in the database itself, which can be copied as it is.
    let log = std::fs::metadata(house.data().join("floorbell.db-wal"));
    assert_eq!(log.map_or(0, |log| log.len()), 0, "the log was taken in");

    house.start_again().await;
    back_again(&mut phone.follower).await;
    phone.sees_tally(WORK, Tally::Rounds { rounds: 2, extra: 0 }).await;
}
