//! Following house time (rules 2.1 to 2.3). Pure: the device's time is an argument.
//!
//! In an exchange the device sends at `t0`, the server receives at `t1` and answers at `t2`, and the
//! answer is back at `t3`; `t0` and `t3` are device time, `t1` and `t2` house time. From these follow
//! (RFC 5905 §8)
//!
//! ```text
//! offset     θ = ((t1 − t0) + (t2 − t3)) / 2      house time minus device time
//! round trip δ = (t3 − t0) − (t2 − t1)
//! ```
//!
//! and the true offset lies within δ/2 of θ, however unlike the two ways are. On that stands all else:
//!
//! 1. **Filter** (RFC 5905 §10): the last eight exchanges are kept, and the one of least bound *now*
//!    is trusted. RFC 5905 takes the least delay and never an older exchange than the one before; we
//!    age each exchange by how unsure the device's rate is, so an old one of little delay loses to a
//!    newer one by itself and may win again when newer ones turn out worse.
//! 2. **Bound**: δ/2, plus the clock's resolution, plus how unsure the rate is times the age.
//!    That is RFC 5905's synchronisation distance with one server. The rate is taken to be wrong by
//!    up to 100 ppm until it has been measured, and never to be surer than 15 ppm: RFC 5905 takes
//!    15 ppm (its PHI) from the start, but the crystals of cheap devices are worse than that.
//! 3. **Rate**: two trusted offsets with time between them measure it, to within the sum of their
//!    bounds over that time. A measurement is taken when it is at least as sure as the one that stands. RFC 5905
//!    disciplines a clock that it can steer; ours cannot be steered, only read and corrected.
//! 4. **Contradiction**: an exchange whose interval is apart from the trusted one's means that the
//!    device's clock jumped, or that the server's did. What was held before is dropped.
//! 5. **Slew**: what is *shown* meets the estimate at no more than 5 % faster or slower, so no
//!    shown second is skipped or repeated. It steps at the first exchange, and when it is more than
//!    250 ms off. Taps are dated by the estimate, which does not wait for the slew.
//!
//! `display-client/web/src/shared/sync.ts` does the same for browsers. The cases in
//! `display-client/cases/sync.json` hold the two together.

use std::collections::VecDeque;

use crate::time::{DeviceTime, HouseTime, Span};

/// Exchanges that are kept: the stages of RFC 5905's filter.
const KEPT: usize = 8;
/// How wrong the rate of a device's clock may be before it has been measured, as a fraction.
const RATE_UNKNOWN: f64 = 100e-6;
/// How unsure a measured rate stays: RFC 5905's PHI, for a crystal drifts as it warms.
const RATE_FLOOR: f64 = 15e-6;
/// A measured rate beyond this is no crystal but a clock that somebody stepped.
const RATE_MAX: f64 = 500e-6;
/// How much faster or slower than the estimate shown time may run.
const SLEW: f64 = 0.05;
/// Shown time that is further off than this steps, in microseconds.
const STEP_OVER: f64 = 250_000.0;
/// An exchange that took longer says nothing of use about a class clock, in microseconds.
const EXCHANGE_MAX: f64 = 10_000_000.0;
/// The rate is measured from a start at most this old, for crystals drift; in microseconds.
const START_AGE_MAX: f64 = 15.0 * 60.0 * 1e6;
/// In its first seconds a surer exchange takes the start's place; in microseconds.
const START_SETTLES: f64 = 30_000_000.0;
/// House time's own resolution, and what rounding a reading to it may add, in microseconds.
const HOUSE_STEP: f64 = 1.0;

/// The four timestamps of one exchange.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Exchange {
    /// Sent by the device.
    pub t0: DeviceTime,
    /// Received by the server.
    pub t1: HouseTime,
    /// Answered by the server.
    pub t2: HouseTime,
    /// Back on the device.
    pub t3: DeviceTime,
}

/// What an exchange did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Taken {
    /// It cannot have happened so; it was counted and moved nothing.
    Refused,
    /// Shown time goes on without a step, and slews to the new estimate.
    Slewed,
    /// Shown time stepped to the new estimate: the first, or one more than 250 ms away.
    Stepped,
}

/// House time as a device has it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reading {
    /// House time.
    pub time: HouseTime,
    /// How far off it may be. The true error is never more while the device's rate is off by no
    /// more than 100 ppm and, once measured, moves by no more than 15.
    pub bound: Span,
}

/// An exchange that was taken, as it stood at `at`.
#[derive(Clone, Copy, Debug)]
struct Sample {
    /// House time minus device time, in microseconds.
    offset: f64,
    /// δ, in microseconds; not negative.
    round_trip: f64,
    /// How far off the offset may be at `at`, in microseconds.
    error: f64,
    /// When it was back, in device time.
    at: f64,
}

/// How far shown time was from the estimate at an instant of device time; in microseconds.
#[derive(Clone, Copy, Debug, Default)]
struct Residual {
    error: f64,
    at: f64,
}

/// Follows house time from exchanges. Times given to it must not run backwards by much: it works
/// with the newest exchange as its present.
#[derive(Clone, Debug)]
pub struct Sync {
    step: f64,
    samples: VecDeque<Sample>,
    trusted: Option<Sample>,
    /// From where the rate is measured.
    start: Option<Sample>,
    /// How much faster house time runs than the device's clock, as a fraction.
    rate: f64,
    rate_unsure: f64,
    residual: Residual,
    last: Option<Exchange>,
    refused: u32,
}

impl Sync {
    /// Knows nothing yet. `step` is the smallest step of the device's clock, at least 1 µs.
    pub fn new(step: Span) -> Self {
        Self {
            step: micros(step).max(1.0),
            samples: VecDeque::with_capacity(KEPT),
            trusted: None,
            start: None,
            rate: 0.0,
            rate_unsure: RATE_UNKNOWN,
            residual: Residual::default(),
            last: None,
            refused: 0,
        }
    }

    /// Takes in one exchange, whose `t3` is the present.
    ///
    /// Refused is what cannot be: an answer before its question, on either side; an answer that the
    /// server held for longer than the whole exchange took; one that took more than 10 s; one that
    /// is not newer than the last.
    pub fn take(&mut self, exchange: Exchange) -> Taken {
        if !self.possible(&exchange) {
            self.refused = self.refused.saturating_add(1);
            return Taken::Refused;
        }
        self.last = Some(exchange);
        let sample = self.sample(&exchange);
        let shown_before = self.trusted.map(|trusted| self.shown_from(&trusted, sample.at));

        if self.contradicts(&sample) {
            self.forget();
        }
        if self.samples.len() == KEPT {
            self.samples.pop_front();
        }
        self.samples.push_back(sample);
        let trusted = self.surest(sample.at).unwrap_or(sample);
        self.trusted = Some(trusted);
        self.measure_rate(trusted);

        let error = shown_before.map(|shown| shown - self.estimate_from(&trusted, sample.at));
        match error {
            Some(error) if error.abs() <= STEP_OVER => {
                self.residual = Residual { error, at: sample.at };
                Taken::Slewed
            }
            _ => {
                self.residual = Residual { error: 0.0, at: sample.at };
                Taken::Stepped
            }
        }
    }

    /// House time by the best estimate, to date a tap by; none before the first exchange.
    pub fn estimate(&self, now: DeviceTime) -> Option<Reading> {
        let (trusted, now) = (self.trusted?, point(now.as_micros()));
        Some(reading(self.estimate_from(&trusted, now), self.bound_from(&trusted, now)))
    }

    /// House time as it is to be shown, which meets the estimate without a visible step; its bound
    /// holds what is still to be slewed. None before the first exchange.
    pub fn shown(&self, now: DeviceTime) -> Option<Reading> {
        let (trusted, now) = (self.trusted?, point(now.as_micros()));
        let bound = self.bound_from(&trusted, now) + self.left_to_slew(now).abs();
        Some(reading(self.shown_from(&trusted, now), bound))
    }

    /// Round trip of the trusted exchange; none before the first.
    pub fn round_trip(&self) -> Option<Span> {
        self.trusted.map(|trusted| Span::from_micros(trusted.round_trip.round() as i64))
    }

    /// How many exchanges were refused.
    pub fn refused(&self) -> u32 {
        self.refused
    }

    fn possible(&self, &Exchange { t0, t1, t2, t3 }: &Exchange) -> bool {
        let (took, held) = (micros(t3 - t0), micros(t2 - t1));
        // A device whose clock runs slow or steps coarsely may count less than the server does.
        let slack = 2.0 * self.step + HOUSE_STEP + RATE_UNKNOWN * held;
        let newer = self.last.is_none_or(|last| t0 > last.t0 && t3 >= last.t3);
        newer && took >= 0.0 && held >= 0.0 && held <= took + slack && took <= EXCHANGE_MAX
    }

    fn sample(&self, &Exchange { t0, t1, t2, t3 }: &Exchange) -> Sample {
        let [t0, t1] = [t0.as_micros(), t1.as_micros()].map(point);
        let [t2, t3] = [t2.as_micros(), t3.as_micros()].map(point);
        let round_trip = ((t3 - t0) - (t2 - t1)).max(0.0);
        // One step of the clock for the timestamps and one for each later reading; and the exchange
        // itself was measured by a clock of unsure rate (as in RFC 5905, PHI · (T4 − T1)).
        let resolution = 2.0 * self.step + HOUSE_STEP;
        let error = round_trip / 2.0 + resolution + RATE_UNKNOWN * (t3 - t0);
        Sample { offset: f64::midpoint(t1 - t0, t2 - t3), round_trip, error, at: t3 }
    }

    /// The kept sample of least bound at `now`; of equal ones the newest.
    fn surest(&self, now: f64) -> Option<Sample> {
        let surer =
            |a: &Sample, b: &Sample| self.bound_from(a, now).total_cmp(&self.bound_from(b, now));
        self.samples.iter().rev().copied().min_by(surer)
    }

    fn estimate_from(&self, sample: &Sample, now: f64) -> f64 {
        now + sample.offset + self.rate * (now - sample.at)
    }

    fn shown_from(&self, sample: &Sample, now: f64) -> f64 {
        self.estimate_from(sample, now) + self.left_to_slew(now)
    }

    fn bound_from(&self, sample: &Sample, now: f64) -> f64 {
        sample.error + self.rate_unsure * (now - sample.at).max(0.0)
    }

    fn left_to_slew(&self, now: f64) -> f64 {
        let Residual { error, at } = self.residual;
        let slewed = SLEW * (now - at).max(0.0);
        (error.abs() - slewed).max(0.0).copysign(error)
    }

    fn contradicts(&self, sample: &Sample) -> bool {
        self.trusted.is_some_and(|trusted| {
            let apart = sample.offset + sample.at - self.estimate_from(&trusted, sample.at);
            apart.abs() > self.bound_from(&trusted, sample.at) + sample.error
        })
    }

    fn forget(&mut self) {
        self.samples.clear();
        self.start = None;
        self.rate = 0.0;
        self.rate_unsure = RATE_UNKNOWN;
    }

    fn measure_rate(&mut self, sample: Sample) {
        let Some(start) = self.start else {
            self.start = Some(sample);
            return;
        };
        let time = sample.at - start.at;
        if time > START_AGE_MAX || (time < START_SETTLES && sample.error < start.error) {
            self.start = Some(sample);
            return;
        }
        if time <= 0.0 {
            return;
        }
        let rate = (sample.offset - start.offset) / time;
        let unsure = (sample.error + start.error) / time;
        if unsure <= self.rate_unsure && rate.abs() <= RATE_MAX {
            self.rate = rate;
            self.rate_unsure = unsure.max(RATE_FLOOR);
        }
    }
}

/// A point of either line as a number; exact, for a line of 285 years has fewer than 2^53.
fn point(micros: i64) -> f64 {
    micros as f64
}

fn micros(span: Span) -> f64 {
    span.as_micros() as f64
}

fn reading(time: f64, bound: f64) -> Reading {
    Reading {
        time: HouseTime::from_micros(time.round() as i64),
        bound: Span::from_micros(bound.ceil() as i64),
    }
}
