//! A disk that refuses while a class runs: the clock goes on, stop reaches every screen, taps wait on
//! the phones, the coach is told; and once the disk takes writes again, all of it is put right.

use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;

use floorbell_client::device::TapFate;
use floorbell_client::follow::News;
use floorbell_core::class::command::{Call, Counts};
use floorbell_core::ids::{SegmentIndex, TapId};
use floorbell_core::score::{Standing, Tally};
use floorbell_core::wire::{Outcome, ToDevice};
use floorbell_tests::house::House;
use floorbell_tests::people::{Coach, Phone, Wall, back_again, until};
use floorbell_tests::soon;
use rusqlite::Connection;
use tempfile::TempDir;

/// Segments: 0 lead-in, 1 work.
const SHEET: &str = "# Disk\n\n## Tide: AMRAP 20 min\n\n- 5 squat\n- 4 push-up\n";
const WORK: SegmentIndex = SegmentIndex(1);

/// A class in its work, with one round on disk.
struct Floor {
    house: House,
    coach: Coach,
    wall: Wall,
    phone: Phone,
}

impl Floor {
    async fn working(parent: &Path) -> Self {
        let house = House::start_in(parent).await;
        let class = house.open(SHEET).await;
        let mut coach = house.coach().await;
        let wall = house.wall(&mut coach).await;
        let mut phone = house.phone(&class, "Ansa").await;
        coach.go_to(WORK).await;
        phone.sees_work(WORK).await;
        phone.rounds(WORK, 1).await;
        Self { house, coach, wall, phone }
    }

    /// Taps until a tap is refused for now, and gives it with the number of those kept before.
    async fn tap_until_refused(&mut self) -> (TapId, u32) {
        // More than fit into the log of a disk that has no room for it to grow.
        for kept in 0..200 {
            let tap = self.phone.tap(WORK, Counts::RoundBefore);
            if waits(&mut self.phone, tap).await {
                return (tap, kept);
            }
        }
        panic!("the disk takes everything");
    }

    /// The disk refuses from now on, until `mend` is called.
    async fn goes_through_it(mut self, mend: impl FnOnce()) {
        let (waiting, kept) = self.tap_until_refused().await;
        let Self { house, coach, wall, phone } = &mut self;
        until(&mut coach.follower, "the coach is warned", |device| {
            device.coach()?.warnings.iter().any(|text| text.contains("taps wait")).then_some(())
        })
        .await;

        let stop = coach.send(Call::Stop);
        soon("the coach is told that it is not saved", async {
            loop {
                if let News::Heard(ToDevice::Answer { to, outcome }) = coach.follower.next().await
                    && to == stop
                {
                    return assert_eq!(outcome, Outcome::NotYetSaved);
                }
            }
        })
        .await;
        until(&mut wall.follower, "the wall shows the stop notice", |device| {
            device.clock()?.stopped.then_some(())
        })
        .await;
        until(&mut phone.follower, "the phone shows the stop notice", |device| {
            device.clock()?.stopped.then_some(())
        })
        .await;

        mend();
        until(&mut coach.follower, "the stop is on disk", |device| {
            device
                .outcome(stop)
                .filter(|outcome| **outcome == Outcome::Done { link: None })
                .map(|_| ())
        })
        .await;
        until(&mut coach.follower, "the warning is gone", |device| {
            device.coach()?.warnings.is_empty().then_some(())
        })
        .await;
        // What waits goes out with the next exchange of timestamps.
        phone.follower.device_mut().exchange(floorbell_client::now());
        let fate = phone.fate(waiting).await;
        assert!(matches!(fate, TapFate::Kept(Standing::Counted { .. })), "{fate:?}");
        let tally = Tally::Rounds { rounds: 1 + kept + 1, extra: 0 };
        phone.sees_tally(WORK, tally).await;

        // And it is there to stay.
        house.kill_and_restart().await;
        back_again(&mut phone.follower).await;
        phone.sees_tally(WORK, tally).await;
        assert!(phone.follower.device().clock().is_some_and(|clock| clock.stopped));
    }
}

/// Whether a tap is to wait on the phone, rather than being kept.
async fn waits(phone: &mut Phone, sent: TapId) -> bool {
    soon("the house answers a tap", async {
        loop {
            match phone.follower.next().await {
                News::Heard(ToDevice::NotKept { tap, code, again, .. }) if tap == sent => {
                    assert!(again && code == "disk", "{code}");
                    return true;
                }
                News::Heard(ToDevice::Kept { tap, .. }) if tap == sent => return false,
                News::Heard(_) => {}
                news => panic!("the connection stands: {news:?}"),
            }
        }
    })
    .await
}

#[tokio::test]
async fn another_program_that_holds_the_database() {
    let floor = Floor::working(&std::env::temp_dir()).await;
    let other = Connection::open(floor.house.data().join("floorbell.db")).expect("the database");
    other.execute_batch("BEGIN IMMEDIATE").expect("it is free between two writes");
    floor.goes_through_it(|| other.execute_batch("ROLLBACK").expect("it is let go of")).await;
}

/// A file system of its own, so small that it can be filled.
struct SmallDisk(TempDir);

impl SmallDisk {
    /// None where this user may not make one.
    fn new() -> Option<Self> {
        let folder = TempDir::new().expect("a folder");
        let mount = Command::new("mount")
            .args(["-t", "tmpfs", "-o", "size=2m", "floorbell-test"])
            .arg(folder.path())
            .output();
        mount.is_ok_and(|mount| mount.status.success()).then_some(Self(folder))
    }

    /// Takes all the room that is left. Gives the file that takes it.
    fn fill(&self) -> PathBuf {
        let path = self.0.path().join("filler");
        let mut filler = File::create(&path).expect("a file");
        while filler.write_all(&[0; 4096]).is_ok() {}
        path
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        // At once or as soon as nobody uses it; if neither, the machine keeps 2 MiB until it restarts.
        let _ = Command::new("umount").arg("--lazy").arg(self.0.path()).status();
    }
}

#[tokio::test]
async fn a_disk_that_is_full() {
    let Some(disk) = SmallDisk::new() else {
        return println!("skipped: only root may mount a disk that is small enough to fill");
    };
    let floor = Floor::working(disk.0.path()).await;
    let filler = disk.fill();
    floor.goes_through_it(|| fs::remove_file(filler).expect("there is room again")).await;
}
