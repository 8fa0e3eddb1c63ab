//! How good the estimate is on paths like those of a gym, over thousands of seeded runs. The delays
//! are made up in the shape that measured ones have: a floor, and a heavy tail.

use std::collections::VecDeque;

use floorbell_core::time::Span;

use crate::world::{Way, Went, World};

const RUNS: u64 = 2_000;
/// Devices that are compared with each other, as the screens of one floor are.
const SCREENS: usize = 10;

struct Path {
    name: &'static str,
    way: Way,
    loss: f64,
}

/// A wired or idle network: a fraction of a millisecond each way.
fn lan() -> Path {
    Path { name: "LAN", way: Way::tailed(400.0, 300.0, 1.8), loss: 0.0 }
}

/// A full gym on one access point: milliseconds each way, now and then hundreds.
fn poor_wifi() -> Path {
    Path { name: "poor Wi-Fi", way: Way::tailed(1_500.0, 4_000.0, 1.3), loss: 0.05 }
}

/// 20 ms ± 15 ms each way and 2 % loss.
fn jittery() -> Path {
    Path { name: "20 ± 15 ms", way: Way::even(5e3, 35e3), loss: 0.02 }
}

/// Errors in milliseconds, of all runs.
#[derive(Default)]
struct Errors {
    after_10_s: Vec<f64>,
    /// While it follows, from one minute on; by run.
    following: Vec<Vec<f64>>,
    /// Alone for ten minutes, after five of following.
    alone: Vec<f64>,
    /// The same by the exchange of least delay among the last eight, as RFC 5905 §10 has it, with
    /// the rate known.
    least_delay: Vec<f64>,
}

fn run(path: &Path, seed: u64, errors: &mut Errors) {
    let mut world = World::new(seed, 1, |_| [path.way; 2]);
    let mut following = Vec::new();
    let mut eight: VecDeque<Went> = VecDeque::new();
    let began = world.now;
    for number in 0_u32.. {
        // The burst of eight takes under a second; loss delays, for the transport sends again.
        if number < 8 || world.chance.share() >= path.loss {
            eight.push_back(world.exchange());
            if eight.len() > 8 {
                eight.pop_front();
            }
        }
        let time = world.now - began;
        let gap = if number < 7 { 60e3 } else { world.chance.between(5e6, 8e6) };
        if time < 10e6 && time + gap >= 10e6 {
            world.now = began + 10e6;
            errors.after_10_s.push(error(&world));
            world.now = began + time;
        }
        if time > 60e6 {
            following.push(error(&world));
            let least = |a: &&Went, b: &&Went| a.round_trip.total_cmp(&b.round_trip);
            errors.least_delay.extend(eight.iter().min_by(least).map(|went| went.off / 1e3));
        }
        if time + gap > 300e6 {
            break;
        }
        world.now += gap;
    }
    errors.following.push(following);
    world.now += 600e6;
    errors.alone.push(error(&world));
}

/// The error in milliseconds, and inside the bound.
fn error(world: &World) -> f64 {
    let (estimate, _) = world.check().unwrap();
    world.error(estimate) / 1e3
}

/// The value that a share of all do not exceed.
fn percentile(values: impl IntoIterator<Item = f64>, share: f64) -> f64 {
    let mut values: Vec<f64> = values.into_iter().map(f64::abs).collect();
    values.sort_by(f64::total_cmp);
    values[((values.len() - 1) as f64 * share).round() as usize]
}

/// Greatest differences between any two of ten screens that follow at once.
fn spreads(following: &[Vec<f64>]) -> Vec<f64> {
    let mut spreads = Vec::new();
    for screens in following.chunks_exact(SCREENS) {
        let moments = screens.iter().map(Vec::len).min().unwrap();
        for moment in 0..moments {
            let errors = screens.iter().map(|errors| errors[moment]);
            let (least, most) = errors.fold((f64::MAX, f64::MIN), |(least, most), error| {
                (least.min(error), most.max(error))
            });
            spreads.push(most - least);
        }
    }
    spreads
}

/// What 99 % of all errors do not exceed, in milliseconds.
#[derive(Debug)]
struct Figures {
    after_10_s: f64,
    alone: f64,
    most: f64,
    least_delay: f64,
}

/// Runs a path, and says what came out.
fn figures(path: &Path) -> Figures {
    let mut errors = Errors::default();
    for seed in 0..RUNS {
        run(path, seed, &mut errors);
    }
    let after_10_s = percentile(errors.after_10_s, 0.99);
    let alone = percentile(errors.alone, 0.99);
    let spreads = spreads(&errors.following);
    let all = errors.following.concat();
    let [half, most] = [0.5, 0.99].map(|share| percentile(all.iter().copied(), share));
    let least_delay = percentile(errors.least_delay, 0.99);
    let [spread_half, spread] = [0.5, 0.99].map(|share| percentile(spreads.iter().copied(), share));
    println!(
        "{}: after 10 s p99 {after_10_s:.2} ms; following p50 {half:.2}, p99 {most:.2} ms (by least delay \
         {least_delay:.2}); ten screens apart p50 {spread_half:.2}, p99 {spread:.2} ms; alone for 10 min \
         p99 {alone:.2} ms",
        path.name
    );
    Figures { after_10_s, alone, most, least_delay }
}

#[test]
fn lan_is_within_2_ms_and_alone_within_10() {
    let figures = figures(&lan());
    assert!(figures.after_10_s <= 2.0 && figures.alone <= 10.0, "{figures:?}");
}

#[test]
fn poor_wifi_is_within_10_ms_and_alone_within_30() {
    for path in [poor_wifi(), jittery()] {
        let figures = figures(&path);
        assert!(figures.after_10_s <= 10.0 && figures.alone <= 30.0, "{}: {figures:?}", path.name);
        // Why the filter departs from the least delay of eight.
        assert!(figures.most < 0.8 * figures.least_delay, "{}: {figures:?}", path.name);
    }
}

/// A path of 40 ms out and 10 ms back is off by half the difference, which the bound covers: (40 − 10) / 2
/// = 15, inside δ/2 = 25 (RFC 5905 §8; Cristian 1989 gives the same for an unknown least way, from memory).
#[test]
fn an_unlike_path_is_off_by_half_the_difference() {
    for seed in 0..RUNS {
        let mut world = World::new(seed, 1, |_| [Way::even(40e3, 40e3), Way::even(10e3, 10e3)]);
        for _ in 0..8 {
            world.exchange();
            world.now += 60e3;
        }
        let (estimate, _) = world.check().unwrap();
        assert!((error(&world) - 15.0).abs() < 0.1, "seed {seed}");
        assert!(estimate.bound < Span::from_micros(25_100), "seed {seed}: {:?}", estimate.bound);
    }
}
