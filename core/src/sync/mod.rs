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
//! 1. **Filter.** RFC 5905 §10 trusts the one exchange of least delay among the last eight. We keep what
//!    every exchange of the last quarter of an hour *proves* (see [`proofs`]) and take the middle of
//!    what all of them leave possible. That is never worse than the least delay, for the exchange of
//!    least delay is one of them. It is better because the luckiest way there and the luckiest way back
//!    seldom belong to one exchange, and because the rate is measured by the same means: on a path of
//!    20 ± 15 ms each way the error is about half as large. Of the last eight only the least
//!    round trip is kept, to be reported.
//! 2. **Bound.** How far the estimate may be from the end of what is possible: at most δ/2 of the best
//!    exchange, plus the clocks' resolution, plus how unsure the rate is times the age. That is RFC 5905's
//!    synchronisation distance with one server. The rate is taken to be wrong by up to 100 ppm until it
//!    has been measured, and never to be surer than 15 ppm: RFC 5905 takes 15 ppm (its PHI) from the
//!    start, but the crystals of cheap devices are worse than that.
//! 3. **Rate.** RFC 5905 disciplines a clock that it can steer; ours cannot be steered, only read and
//!    corrected, so its rate is estimated together with the offset.
//! 4. **Contradiction.** An exchange that cannot be true beside the bound means that the device's clock
//!    jumped, or that the server's did. What was held before is dropped.
//! 5. **Slew.** What is *shown* meets the estimate at no more than 5 % faster or slower, so no
//!    shown second is skipped or repeated. It steps at the first exchange, and when it is more than
//!    250 ms off. Taps are dated by the estimate, which does not wait for the slew.
//!
//! `display-client/web/src/shared/sync.ts` does the same for browsers. The cases in
//! `display-client/cases/sync.json` hold the two together.

mod proofs;

use std::collections::VecDeque;

use crate::time::{DeviceTime, HouseTime, Span};
use proofs::{Fit, Proof, Proofs};

/// Exchanges whose round trip is kept: the stages of RFC 5905's filter.
const KEPT: usize = 8;
/// How wrong the rate of a device's clock may be before it has been measured, as a fraction.
const RATE_UNKNOWN: f64 = 100e-6;
/// How unsure a measured rate stays: RFC 5905's PHI, for a crystal drifts as it warms.
const RATE_FLOOR: f64 = 15e-6;
/// How much faster or slower than the estimate shown time may run.
const SLEW: f64 = 0.05;
/// Shown time that is further off than this steps, in microseconds.
const STEP_OVER: f64 = 250_000.0;
/// An exchange that took longer says nothing of use about a class clock, in microseconds.
const EXCHANGE_MAX: f64 = 10_000_000.0;
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
    /// more than 100 ppm and moves by no more than 5 in a quarter of an hour.
    pub bound: Span,
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
    proofs: Proofs,
    fit: Option<Fit>,
    residual: Residual,
    last: Option<Exchange>,
    /// The last round trips, in microseconds.
    round_trips: VecDeque<f64>,
    refused: u32,
}

impl Sync {
    /// Knows nothing yet. `step` is the smallest step of the device's clock, at least 1 µs.
    pub fn new(step: Span) -> Self {
        Self {
            step: micros(step).max(1.0),
            proofs: Proofs::new(),
            fit: None,
            residual: Residual::default(),
            last: None,
            round_trips: VecDeque::with_capacity(KEPT),
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
        let (most, least) = self.proves(&exchange);
        let now = least.at;
        let shown_before = self.fit.map(|fit| self.shown_from(&fit, now));
        self.keep_round_trip(&exchange);

        if self.fit.is_some_and(|fit| contradict(&fit, most, least)) {
            self.proofs = Proofs::new();
        }
        let rate = self.fit.map_or(0.0, |fit| fit.rate);
        let fit = self.proofs.take(most, least, rate);
        self.fit = Some(fit);

        let error = shown_before.map(|shown| shown - estimate_from(&fit, now));
        match error {
            Some(error) if error.abs() <= STEP_OVER => {
                self.residual = Residual { error, at: now };
                Taken::Slewed
            }
            _ => {
                self.residual = Residual { error: 0.0, at: now };
                Taken::Stepped
            }
        }
    }

    /// The device's clock stood still for about `passed`, as that of many does in sleep. The estimate
    /// moves on by it, and its bound grows by `doubt` until the next exchange. The rate is remembered.
    pub fn woke(&mut self, passed: Span, doubt: Span) {
        if let Some(fit) = &mut self.fit {
            fit.offset += micros(passed);
            fit.error += micros(doubt);
            self.proofs = Proofs::of_rate(fit);
        }
    }

    /// House time by the best estimate, to date a tap by; none before the first exchange.
    pub fn estimate(&self, now: DeviceTime) -> Option<Reading> {
        let (fit, now) = (self.fit?, point(now.as_micros()));
        Some(reading(estimate_from(&fit, now), bound_from(&fit, now)))
    }

    /// House time as it is to be shown, which meets the estimate without a visible step; its bound
    /// holds what is still to be slewed. None before the first exchange.
    pub fn shown(&self, now: DeviceTime) -> Option<Reading> {
        let (fit, now) = (self.fit?, point(now.as_micros()));
        let bound = bound_from(&fit, now) + self.left_to_slew(now).abs();
        Some(reading(self.shown_from(&fit, now), bound))
    }

    /// The least round trip of the last eight exchanges; none before the first.
    pub fn round_trip(&self) -> Option<Span> {
        let least = self.round_trips.iter().copied().reduce(f64::min);
        least.map(|round_trip| Span::from_micros(round_trip.round() as i64))
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

    /// What an exchange proves: the offset when it was sent is at most, and when it was back at least.
    fn proves(&self, &Exchange { t0, t1, t2, t3 }: &Exchange) -> (Proof, Proof) {
        let [t0, t1] = [t0.as_micros(), t1.as_micros()].map(point);
        let [t2, t3] = [t2.as_micros(), t3.as_micros()].map(point);
        // One step of the clock for the timestamps and one for each later reading.
        let resolution = 2.0 * self.step + HOUSE_STEP;
        let most = Proof { at: t0, offset: t1 - t0 + resolution };
        let least = Proof { at: t3, offset: t2 - t3 - resolution };
        (most, least)
    }

    fn keep_round_trip(&mut self, &Exchange { t0, t1, t2, t3 }: &Exchange) {
        if self.round_trips.len() == KEPT {
            self.round_trips.pop_front();
        }
        self.round_trips.push_back((micros(t3 - t0) - micros(t2 - t1)).max(0.0));
    }

    fn shown_from(&self, fit: &Fit, now: f64) -> f64 {
        estimate_from(fit, now) + self.left_to_slew(now)
    }

    fn left_to_slew(&self, now: f64) -> f64 {
        let Residual { error, at } = self.residual;
        let slewed = SLEW * (now - at).max(0.0);
        (error.abs() - slewed).max(0.0).copysign(error)
    }
}

fn estimate_from(fit: &Fit, now: f64) -> f64 {
    now + fit.offset + fit.rate * (now - fit.at)
}

fn bound_from(fit: &Fit, now: f64) -> f64 {
    fit.error + fit.unsure * (now - fit.at).abs()
}

/// Whether a new exchange cannot be true beside what was held.
fn contradict(fit: &Fit, most: Proof, least: Proof) -> bool {
    let offset = |at: f64| estimate_from(fit, at) - at;
    let over = offset(most.at) - most.offset - bound_from(fit, most.at);
    let under = least.offset - offset(least.at) - bound_from(fit, least.at);
    over.max(under) > 0.0
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
