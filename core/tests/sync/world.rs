//! A device and its path to the house, in which true time is known.

use floorbell_core::sync::{Exchange, Reading, Sync, Taken};
use floorbell_core::time::{DeviceTime, HouseTime, Span};

/// `SplitMix64`: enough chance for a simulation, and the same from the same seed everywhere.
pub(crate) struct Chance(u64);

impl Chance {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub(crate) fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From 0 up to 1.
    pub(crate) fn share(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub(crate) fn between(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * self.share()
    }

    /// Pareto's distribution less one: mostly small, now and then very large, the more so the smaller
    /// `shape` is.
    fn tail(&mut self, shape: f64) -> f64 {
        self.share().mul_add(-0.9999, 1.0).powf(-1.0 / shape) - 1.0
    }
}

/// How long one way takes, in microseconds.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Way {
    least: f64,
    even: f64,
    scale: f64,
    shape: f64,
}

impl Way {
    /// At least `least`, with a heavy tail: typically `scale` more.
    pub(crate) fn tailed(least: f64, scale: f64, shape: f64) -> Self {
        Self { least, even: 0.0, scale, shape }
    }

    /// Anything between two values, each as likely.
    pub(crate) fn even(least: f64, most: f64) -> Self {
        Self { least, even: most - least, scale: 0.0, shape: 1.0 }
    }

    fn delay(self, chance: &mut Chance) -> f64 {
        self.least + self.even * chance.share() + self.scale * chance.tail(self.shape)
    }
}

/// A crystal: off by `rate`, and wandering by up to `swing` around that within `period`.
#[derive(Clone, Copy, Debug)]
struct Crystal {
    rate: f64,
    swing: f64,
    period: f64,
    start: f64,
}

impl Crystal {
    /// How much less than true time the device's clock has counted at a true time.
    fn behind(&self, at: f64) -> f64 {
        let turn = core::f64::consts::TAU / self.period;
        let phase = |at: f64| (turn * (at - self.start)).cos();
        self.rate * (at - self.start) + self.swing / turn * (phase(self.start) - phase(at))
    }
}

/// How an exchange went, in microseconds.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Went {
    /// Its δ.
    pub(crate) round_trip: f64,
    /// How far its θ is off.
    pub(crate) off: f64,
}

/// A device with a wrong rate and a coarse clock, on a path with its own delays. True time is house
/// time as a fraction of microseconds.
pub(crate) struct World {
    pub(crate) chance: Chance,
    crystal: Crystal,
    zero: f64,
    step: i64,
    ways: [Way; 2],
    pub(crate) now: f64,
    pub(crate) sync: Sync,
    /// Since when the device is what it is, in true time.
    pub(crate) began: f64,
    seed: u64,
}

impl World {
    /// A device whose rate is anywhere within 100 ppm, mostly near the edges of that.
    pub(crate) fn new(seed: u64, step: i64, ways: impl FnOnce(&mut Chance) -> [Way; 2]) -> Self {
        let mut chance = Chance::new(seed);
        let swing = chance.between(0.0, 2.5e-6);
        let most = 100e-6 - swing;
        let rate = chance.between(-150e-6, 150e-6).clamp(-most, most);
        let zero = chance.between(-1e12, 1e12).floor();
        let ways = ways(&mut chance);
        let now = chance.between(0.0, 1e13).floor();
        let crystal = Crystal { rate, swing, period: chance.between(300e6, 7200e6), start: now };
        let sync = Sync::new(Span::from_micros(step));
        Self { chance, crystal, zero, step, ways, now, sync, began: now, seed }
    }

    /// The device's clock at a true time.
    pub(crate) fn device(&self, at: f64) -> DeviceTime {
        let steps = (self.counted(at) / self.step as f64).floor();
        DeviceTime::from_micros(steps as i64 * self.step)
    }

    fn counted(&self, at: f64) -> f64 {
        self.zero + (at - self.began) - self.crystal.behind(at)
    }

    /// One exchange, after which it is later.
    pub(crate) fn exchange(&mut self) -> Went {
        let sent = self.now;
        let received = sent + self.ways[0].delay(&mut self.chance);
        let answered = received + self.chance.between(0.0, 500.0);
        let back = answered + self.ways[1].delay(&mut self.chance);
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
            None => assert_ne!(taken, Taken::Slewed, "seed {}", self.seed),
            // A step later on needs two readings so unsure that they may lie that far apart.
            Some(before) if taken == Taken::Stepped => {
                let after = self.sync.shown(now).unwrap();
                let apart = before.bound + after.bound;
                assert!(apart > Span::from_millis(250), "seed {}", self.seed);
            }
            // What takes over 10 s is refused.
            Some(_) if back - sent < 9e6 => assert_eq!(taken, Taken::Slewed, "seed {}", self.seed),
            Some(_) => {}
        }
        let (out, home) = (received - sent, back - answered);
        Went { round_trip: out + home, off: (out - home) / 2.0 }
    }

    /// What is read now, each held against true time: the estimate, and what is shown.
    pub(crate) fn check(&self) -> Option<(Reading, Reading)> {
        let now = self.device(self.now);
        let (estimate, shown) = (self.sync.estimate(now)?, self.sync.shown(now)?);
        for (name, reading) in [("estimate", estimate), ("shown", shown)] {
            let error = self.error(reading);
            assert!(
                error.abs() <= reading.bound.as_micros() as f64,
                "seed {}: {name} is off by {error} µs, outside {reading:?} at {}",
                self.seed,
                self.now,
            );
        }
        Some((estimate, shown))
    }

    /// How far a reading of now is off, in microseconds.
    pub(crate) fn error(&self, reading: Reading) -> f64 {
        reading.time.as_micros() as f64 - self.now
    }

    /// Lets time pass in small steps, in which shown time may run 10 % wrong at most.
    pub(crate) fn pass(&mut self, micros: f64) {
        let mut shown = (self.now, self.check());
        for _ in 0..4 {
            self.now += micros / 4.0;
            let next = (self.now, self.check());
            if let (Some((_, before)), Some((_, after))) = (shown.1, next.1) {
                let true_time = next.0 - shown.0;
                let shown_time = (after.time - before.time).as_micros() as f64;
                let slack = 2.0 * self.step as f64 + 2.0;
                assert!(
                    (shown_time - true_time).abs() <= 0.1 * true_time + slack,
                    "seed {}: in {true_time} µs the shown time moved by {shown_time} µs",
                    self.seed,
                );
            }
            shown = next;
        }
    }

    /// Sleeps, in which the device's clock stands still; on waking it guesses how long, to within a
    /// tenth and a second.
    pub(crate) fn sleep(&mut self, micros: f64) {
        let stood = self.counted(self.now);
        self.now += micros;
        self.zero -= self.counted(self.now) - stood;
        let doubt = 0.1 * micros + 1e6;
        let guess = micros + self.chance.between(-doubt, doubt);
        self.sync.woke(Span::from_micros(guess as i64), Span::from_micros(doubt.ceil() as i64 + 1));
    }
}
