//! Following house time: the recorded cases that the web client shares, and a simulation in which
//! true time is known, so that the bound can be held against it.

use floorbell_core::sync::{Exchange, Reading, Sync, Taken};
use floorbell_core::time::{DeviceTime, HouseTime, Span};
use serde::Deserialize;

#[derive(Deserialize)]
struct Cases {
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    name: String,
    steps: Vec<Step>,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum Step {
    Take { exchange: [i64; 4], taken: String },
    Read { now: i64, estimate: i64, bound: i64, shown: i64, shown_bound: i64, round_trip: i64 },
}

fn exchange([t0, t1, t2, t3]: [i64; 4]) -> Exchange {
    Exchange {
        t0: DeviceTime::from_micros(t0),
        t1: HouseTime::from_micros(t1),
        t2: HouseTime::from_micros(t2),
        t3: DeviceTime::from_micros(t3),
    }
}

#[test]
fn recorded_cases() {
    let cases: Cases =
        serde_json::from_str(include_str!("../../display-client/cases/sync.json")).unwrap();
    assert!(!cases.cases.is_empty());
    for case in cases.cases {
        let mut sync = Sync::new(Span::from_micros(1));
        let mut refused = 0;
        for (number, step) in case.steps.into_iter().enumerate() {
            let place = format!("{}: step {number}", case.name);
            match step {
                Step::Take { exchange: times, taken } => {
                    refused += u32::from(taken == "refused");
                    let word = match sync.take(exchange(times)) {
                        Taken::Refused => "refused",
                        Taken::Slewed => "slewed",
                        Taken::Stepped => "stepped",
                    };
                    assert_eq!(word, taken, "{place}");
                    assert_eq!(sync.refused(), refused, "{place}");
                }
                Step::Read { now, estimate, bound, shown, shown_bound, round_trip } => {
                    let now = DeviceTime::from_micros(now);
                    near(sync.estimate(now).unwrap(), estimate, bound, &place);
                    near(sync.shown(now).unwrap(), shown, shown_bound, &place);
                    assert_eq!(sync.round_trip(), Some(Span::from_micros(round_trip)), "{place}");
                }
            }
        }
    }
}

fn near(reading: Reading, time: i64, bound: i64, place: &str) {
    let got = (reading.time.as_micros(), reading.bound.as_micros());
    let apart = (got.0 - time).abs().max((got.1 - bound).abs());
    assert!(apart <= 1, "{place}: got {got:?}, expected {:?}", (time, bound));
}

#[test]
fn before_the_first_exchange_nothing_is_known() {
    let sync = Sync::new(Span::from_micros(1));
    let now = DeviceTime::from_micros(0);
    assert_eq!((sync.estimate(now), sync.shown(now), sync.round_trip()), (None, None, None));
}

/// `SplitMix64`: enough chance for a simulation, and the same from the same seed everywhere.
struct Chance(u64);

impl Chance {
    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From 0 up to 1.
    fn share(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * self.share()
    }
}

/// A device with a wrong rate and a coarse clock, on a path with its own delays. True time is house
/// time as a fraction of microseconds.
struct World {
    chance: Chance,
    rate: f64,
    zero: f64,
    step: i64,
    /// Least and typical delay of each way, in microseconds.
    ways: [(f64, f64); 2],
    now: f64,
    sync: Sync,
}

impl World {
    fn new(seed: u64) -> Self {
        let mut chance = Chance(seed);
        let rate = chance.between(-200e-6, 200e-6).clamp(-100e-6, 100e-6);
        let zero = chance.between(-1e12, 1e12).floor();
        let step = if chance.share() < 0.5 { 1 } else { 100 };
        let mut ways =
            [(); 2].map(|()| (chance.between(0.0, 40_000.0), chance.between(0.0, 30_000.0)));
        // The worst that can be: all of the delay on one way.
        if let Some(way) = ways.get_mut(chance.bits() as usize % 4) {
            *way = (0.0, 0.0);
        }
        let now = chance.between(0.0, 1e13).floor();
        Self { chance, rate, zero, step, ways, now, sync: Sync::new(Span::from_micros(step)) }
    }

    /// The device's clock at a true time.
    fn device(&self, at: f64) -> DeviceTime {
        let exact = self.zero + (at - 1e12) / (1.0 + self.rate);
        DeviceTime::from_micros((exact / self.step as f64).floor() as i64 * self.step)
    }

    /// One way's delay: heavy-tailed, so that now and then a packet is very late.
    fn delay(&mut self, way: usize) -> f64 {
        let (least, typical) = self.ways[way];
        least + typical * (self.chance.share().mul_add(-0.999, 1.0).powf(-0.7) - 1.0)
    }

    fn exchange(&mut self, seed: u64) {
        let sent = self.now;
        let received = sent + self.delay(0);
        let answered = received + self.chance.between(0.0, 500.0);
        let back = answered + self.delay(1);
        self.now = back;
        let now = self.device(back);
        let before = self.sync.shown(now);
        let taken = self.sync.take(Exchange {
            t0: self.device(sent),
            t1: HouseTime::from_micros(received as i64),
            t2: HouseTime::from_micros(answered as i64),
            t3: now,
        });
        match before {
            None => assert_eq!(taken, Taken::Stepped, "seed {seed}"),
            // A step later on needs two readings so unsure that they may lie that far apart.
            Some(before) if taken == Taken::Stepped => {
                let after = self.sync.shown(now).unwrap();
                assert!(before.bound + after.bound > Span::from_millis(250), "seed {seed}");
            }
            Some(_) => assert_eq!(taken, Taken::Slewed, "seed {seed}"),
        }
    }

    /// Holds what is read now against true time.
    fn check(&self, seed: u64) -> f64 {
        let now = self.device(self.now);
        let (estimate, shown) = (self.sync.estimate(now).unwrap(), self.sync.shown(now).unwrap());
        for (name, reading) in [("estimate", estimate), ("shown", shown)] {
            let error = reading.time.as_micros() as f64 - self.now;
            assert!(
                error.abs() <= reading.bound.as_micros() as f64,
                "seed {seed}: {name} is off by {error} µs, outside {reading:?} at {}",
                self.now,
            );
        }
        shown.time.as_micros() as f64
    }

    /// Lets time pass in small steps, in which shown time may run 10 % wrong at most.
    fn pass(&mut self, micros: f64, seed: u64) {
        let mut shown = (self.now, self.check(seed));
        for _ in 0..4 {
            self.now += micros / 4.0;
            let next = (self.now, self.check(seed));
            let (true_time, shown_time) = (next.0 - shown.0, next.1 - shown.1);
            let slack = 2.0 * self.step as f64 + 2.0;
            assert!(
                (shown_time - true_time).abs() <= 0.1 * true_time + slack,
                "seed {seed}: in {true_time} µs the shown time moved by {shown_time} µs",
            );
            shown = next;
        }
    }
}

#[test]
fn the_bound_always_holds_and_shown_time_never_jumps() {
    for seed in 0..2_000 {
        let mut world = World::new(seed);
        for number in 0..60 {
            let lost = number > 0 && world.chance.share() < 0.1;
            if !lost {
                world.exchange(seed);
            }
            let alone = number > 8 && world.chance.share() < 0.05;
            let gap = match number {
                0..8 => 60e3,
                _ if alone => 600e6,
                _ => world.chance.between(5e6, 10e6),
            };
            world.pass(gap, seed);
        }
    }
}
