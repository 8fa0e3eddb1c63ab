//! `make bench`: figures of the built server on this machine, as JSON lines and then as a table.
//!
//! 1. From tap to wall: 40 phones tap 40 times a second in all, and two walls on loopback note when
//!    the frame with the round has come. Beside it stands what the same disk takes for 4 KiB and an
//!    fdatasync, measured right before and after in the data folder, for no tap is shown before it
//!    is on disk.
//! 2. What the server uses with 60 devices in a running class, at the tap rate of a real one. The
//!    server is started anew after the passphrase was set, so that its hashing is not in the memory.
//! 3. A script that has a million taps to send and does so without a pause, while 40 phones tap as in 1:
//!    how far it comes, what it is told, and whether anybody else notices. The same phones tap alone
//!    before, for as long.
//! 4. Far beyond a class: 200 phones count by ones, ten taps a second each, for a minute. What a wall
//!    has shown, frame by frame, is held against the sums of the journal: each board is that of some
//!    event, and they never go back.
//!
//! All devices run in this one process and share the processors with the server.
//! `floorbell-bench --short` runs a tenth of it, to see that it works; its figures say little.

mod journal;
mod load;
mod machine;
mod script;

use std::env;
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use floorbell_core::class::command::Counts;
use floorbell_core::ids::SegmentIndex;
use floorbell_tests::house::House;
use floorbell_tests::people::{Coach, Phone, Wall};
use serde_json::{Value, json};

use load::{Load, lock};

/// Segments: 0 lead-in, 1 work.
const ROUNDS: &str = "# Bench\n\n## Tide: AMRAP 30 min\n\n- 5 squat\n- 4 push-up\n";
/// The same, counted by ones.
const ONES: &str = "# Bench\n\n## Swell: max reps in 30 min\n\n- burpee\n";
const WORK: SegmentIndex = SegmentIndex(1);

#[tokio::main]
async fn main() -> io::Result<()> {
    let short = env::args().any(|argument| argument == "--short");
    let length = |secs| Duration::from_secs(if short { secs / 10 } else { secs });
    let parent = data_parent();
    let tap_to_wall = tap_to_wall(&parent, length(30)).await?;
    println!("{tap_to_wall}");
    let use_of_machine = use_of_machine(&parent, length(60)).await?;
    println!("{use_of_machine}");
    let flood = flood(&parent, length(60)).await?;
    println!("{flood}");
    let by_ones = by_ones(&parent, length(60)).await?;
    println!("{by_ones}");
    print!("\n{}", table(&[tap_to_wall, use_of_machine, flood, by_ones]));
    Ok(())
}

/// Where data folders are made: beside the built program, since /tmp may be in memory and then knows
/// no fdatasync. `FLOORBELL_BENCH_DATA` names another disk.
fn data_parent() -> PathBuf {
    let program = floorbell_tests::house::program();
    let beside = program.parent().map(Path::to_path_buf).unwrap_or_default();
    env::var_os("FLOORBELL_BENCH_DATA").map_or(beside, PathBuf::from)
}

/// A class in the middle of work, with so many walls and phones.
async fn running_class(
    house: &House,
    sheet: &str,
    walls: usize,
    phones: usize,
) -> (Coach, Vec<Wall>, Vec<Phone>) {
    let class = house.open(sheet).await;
    let mut coach = house.coach().await;
    let mut all_walls = Vec::new();
    for _ in 0..walls {
        all_walls.push(house.wall(&mut coach).await);
    }
    let mut all_phones = Vec::new();
    for number in 0..phones {
        all_phones.push(house.phone(&class, &format!("Crew {}", number + 1)).await);
    }
    coach.go_to(WORK).await;
    for phone in &mut all_phones {
        phone.sees_work(WORK).await;
    }
    (coach, all_walls, all_phones)
}

async fn tap_to_wall(parent: &Path, time: Duration) -> io::Result<Value> {
    let (walls, phones) = (2, 40);
    let house = House::start_in(parent).await;
    let (coach, wall_devices, phone_devices) = running_class(&house, ROUNDS, walls, phones).await;
    let mut syncs = machine::fdatasync(house.data())?;
    let load = Load::new(
        coach,
        wall_devices,
        phone_devices,
        (WORK, Counts::Round),
        Duration::from_secs(1),
    );
    load.tap_for(time).await;
    syncs.extend(machine::fdatasync(house.data())?);

    let (mut delays, missing) = load.delays();
    let taps = lock(&load.tapped).len();
    let fdatasync_p99 = percentile(&mut syncs, 0.99);
    Ok(json!({
        "bench": "from tap to wall",
        "phones": phones,
        "walls": walls,
        "taps": taps,
        "taps_per_second": taps as f64 / time.as_secs_f64(),
        "not_shown": missing,
        "p50_ms": millis(percentile(&mut delays, 0.5)),
        "p99_ms": millis(percentile(&mut delays, 0.99)),
        "max_ms": millis(percentile(&mut delays, 1.0)),
        "fdatasync_p50_ms": millis(percentile(&mut syncs, 0.5)),
        "fdatasync_p99_ms": millis(fdatasync_p99),
        "p50_goal_ms": 15.0,
        "p99_goal_ms": millis(Duration::from_millis(50).max(Duration::from_millis(10) + 3 * fdatasync_p99)),
    }))
}

async fn use_of_machine(parent: &Path, time: Duration) -> io::Result<Value> {
    let (walls, phones) = (2, 57);
    // A round in 45 s is what a real piece has.
    let every = Duration::from_secs(45);
    let mut house = House::start_in(parent).await;
    house.kill_and_restart().await;
    let (coach, wall_devices, phone_devices) = running_class(&house, ROUNDS, walls, phones).await;
    let load = Load::new(coach, wall_devices, phone_devices, (WORK, Counts::Round), every);
    let pid = house.pid().ok_or(io::ErrorKind::NotFound)?;
    let (before, began) = (machine::cpu_time(pid)?, Instant::now());
    load.tap_for(time).await;
    let used = machine::cpu_time(pid)?.saturating_sub(before);
    let percent = 100.0 * used.as_secs_f64() / began.elapsed().as_secs_f64();
    Ok(json!({
        "bench": "use of the machine",
        "devices": walls + phones + 1,
        "taps": lock(&load.tapped).len(),
        "seconds": began.elapsed().as_secs_f64(),
        "cpu_percent_of_one_core": (percent * 100.0).round() / 100.0,
        "resident_mib": (machine::resident_kib(pid)? as f64 / 102.4).round() / 10.0,
        "cpu_goal_percent": 2.0,
        "resident_goal_mib": 40.0,
    }))
}

/// Taps that the script has to send.
const SCRIPT_TAPS: usize = 1_000_000;

async fn flood(parent: &Path, time: Duration) -> io::Result<Value> {
    let house = House::start_in(parent).await;
    let pid = house.pid().ok_or(io::ErrorKind::NotFound)?;
    let (coach, wall_devices, mut phone_devices) = running_class(&house, ROUNDS, 2, 41).await;
    let phone = phone_devices.pop().ok_or(io::ErrorKind::NotFound)?;
    let authority = house.address().authority();
    let script = script::Script::new(authority, &phone, WORK, SCRIPT_TAPS);
    // Else it is a ninth connection of the athlete.
    drop(phone);
    let (counts, every) = ((WORK, Counts::Round), Duration::from_secs(1));
    let load = Load::new(coach, wall_devices, phone_devices, counts, every);
    let before = machine::cpu_time(pid)?;
    load.tap_for(time).await;
    let (mut alone, missing_alone) = load.delays();
    lock(&load.tapped).clear();
    let alone_used = machine::cpu_time(pid)?.saturating_sub(before);
    let outcome = load.tap_while(script.run_for(time)).await;
    let used = machine::cpu_time(pid)?.saturating_sub(before + alone_used);
    let (mut delays, missing) = load.delays();
    Ok(json!({
        "bench": "a script that taps without a pause",
        "seconds": time.as_secs_f64(),
        "script_sent": outcome.sent,
        "script_kept": outcome.kept,
        "script_told_too_much": outcome.told,
        "script_connections_ended": outcome.ended,
        "others_taps": lock(&load.tapped).len(),
        "alone_not_shown": missing_alone,
        "alone_p50_ms": millis(percentile(&mut alone, 0.5)),
        "alone_p99_ms": millis(percentile(&mut alone, 0.99)),
        "alone_cpu_seconds": alone_used.as_secs_f64(),
        "others_not_shown": missing,
        "others_p50_ms": millis(percentile(&mut delays, 0.5)),
        "others_p99_ms": millis(percentile(&mut delays, 0.99)),
        "with_script_cpu_seconds": used.as_secs_f64(),
    }))
}

async fn by_ones(parent: &Path, time: Duration) -> io::Result<Value> {
    let (walls, phones, every) = (1, 200, Duration::from_millis(100));
    let house = House::start_in(parent).await;
    let (coach, wall_devices, phone_devices) = running_class(&house, ONES, walls, phones).await;
    let pid = house.pid().ok_or(io::ErrorKind::NotFound)?;
    let counts = (WORK, Counts::Amount { amount: 1 });
    let load = Load::new(coach, wall_devices, phone_devices, counts, every);
    let (before, began) = (machine::cpu_time(pid)?, Instant::now());
    load.tap_for(time).await;
    let used = machine::cpu_time(pid)?.saturating_sub(before);
    let percent = 100.0 * used.as_secs_f64() / began.elapsed().as_secs_f64();
    let (mut delays, missing) = load.delays();
    let tapped = lock(&load.tapped).len();
    let mut kept = lock(&load.kept_after).clone();
    let boards = lock(&load.boards[0]);
    let recomputed = journal::Sums::of(house.data())?.hold_against(&boards);
    Ok(json!({
        "bench": "far beyond a class",
        "phones": phones,
        "taps": tapped,
        "taps_per_second": tapped as f64 / time.as_secs_f64(),
        "not_shown": missing,
        "in_journal": recomputed.taps,
        "boards": boards.len(),
        "boards_right": recomputed.right,
        "p50_ms": millis(percentile(&mut delays, 0.5)),
        "p99_ms": millis(percentile(&mut delays, 0.99)),
        "max_ms": millis(percentile(&mut delays, 1.0)),
        "kept_p99_ms": millis(percentile(&mut kept, 0.99)),
        "cpu_percent_of_one_core": (percent * 100.0).round() / 100.0,
        "p99_goal_ms": 100.0,
    }))
}

/// The value below which a share of all lies; nothing where there are none.
fn percentile(values: &mut [Duration], share: f64) -> Duration {
    values.sort_unstable();
    let rank = (share * values.len() as f64).ceil() as usize;
    values.get(rank.saturating_sub(1)).copied().unwrap_or_default()
}

fn millis(duration: Duration) -> f64 {
    (duration.as_secs_f64() * 1e5).round() / 100.0
}

/// The figures with their goals, for people.
fn table(results: &[Value]) -> String {
    let line =
        |what: &str, figure: String, goal: String| format!("{what:<44}{figure:>12}{goal:>20}\n");
    let mut lines = vec![line("", "this run".into(), "goal".into())];
    for result in results {
        lines.push(format!("{}\n", result["bench"].as_str().unwrap_or_default()));
        let figure = |name: &str| result[name].as_f64();
        for (what, name, unit, goal) in [
            ("tap to wall, p50", "p50_ms", "ms", "p50_goal_ms"),
            ("tap to wall, p99", "p99_ms", "ms", "p99_goal_ms"),
            ("tap to wall, slowest", "max_ms", "ms", ""),
            ("taps that no wall showed", "not_shown", "", ""),
            ("from tap to kept, p99", "kept_p99_ms", "ms", ""),
            ("taps made", "taps", "", ""),
            ("taps in the journal", "in_journal", "", ""),
            ("boards that a wall showed", "boards", "", ""),
            ("boards that were some event's", "boards_right", "", ""),
            ("4 KiB and fdatasync, p50", "fdatasync_p50_ms", "ms", ""),
            ("4 KiB and fdatasync, p99", "fdatasync_p99_ms", "ms", ""),
            ("server: of one core", "cpu_percent_of_one_core", "%", "cpu_goal_percent"),
            ("server: memory", "resident_mib", "MiB", "resident_goal_mib"),
            ("without a script: tap to wall, p99", "alone_p99_ms", "ms", ""),
            ("a script of a million taps: sent", "script_sent", "", ""),
            ("of which were kept", "script_kept", "", ""),
            ("of which it was told: too much", "script_told_too_much", "", ""),
            ("meanwhile, others: tap to wall, p99", "others_p99_ms", "ms", ""),
            ("meanwhile, others: not shown", "others_not_shown", "", ""),
        ] {
            if let Some(found) = figure(name) {
                let goal = figure(goal).map(|goal| format!("at most {goal} {unit}"));
                lines.push(line(what, format!("{found} {unit}"), goal.unwrap_or_default()));
            }
        }
    }
    lines.concat()
}
