//! What the exchanges of the last quarter of an hour prove together, and the estimate in the middle
//! of it.
//!
//! An exchange proves two things of the offset, house time minus device time: when it was sent it was
//! at most t1 − t0, for the way there takes time; when it was back it was at least t2 − t3, for the way
//! back does. Carried to the present along a rate r (how much faster house time runs), each is a half
//! of the plane of (rate, offset now). The halves of all exchanges leave a convex polygon, in which the
//! truth lies. Its centroid is the estimate, its extent the error.
//!
//! A rate wanders as its crystal warms, so a proof is loosened by [`WANDER`] times its age.

use std::collections::VecDeque;

use super::{RATE_FLOOR, RATE_UNKNOWN};

/// Proofs older than this are dropped, in microseconds: long enough to measure a rate to a few ppm,
/// short enough for the rate to have stayed.
const AGE_MAX: f64 = 15.0 * 60.0 * 1e6;
/// Exchanges within so long of each other share one place, which keeps the closest of either way; in
/// microseconds. With `AGE_MAX` it bounds the places to 91.
const PLACE: f64 = 10.0 * 1e6;
/// How far the mean rate over the last quarter of an hour may be from the present one, as a fraction:
/// a crystal of the common cut moves by a few ppm from a cold pocket to a warm hand (from memory).
const WANDER: f64 = 5e-6;
/// Wider than any two exchanges can differ in offset, in microseconds: where the polygon begins.
const WIDE: f64 = 1e12;
/// A polygon smaller than this (microseconds of offset by ppm of rate) is taken for its corners.
const AREA_LEAST: f64 = 1e-9;

/// Something that an exchange proved: the offset at an instant of device time is at most, or at
/// least, this. In microseconds.
#[derive(Clone, Copy, Debug)]
pub(super) struct Proof {
    pub(super) at: f64,
    pub(super) offset: f64,
}

impl Proof {
    /// The offset at `now` along a rate.
    fn carried(self, now: f64, rate: f64) -> f64 {
        self.offset + rate * (now - self.at)
    }
}

/// What the exchanges of one stretch prove.
#[derive(Clone, Copy, Debug)]
struct Place {
    since: f64,
    most: Proof,
    least: Proof,
}

/// The estimate that the proofs allow at an instant of device time.
#[derive(Clone, Copy, Debug)]
pub(super) struct Fit {
    /// The instant.
    pub(super) at: f64,
    /// House time minus device time, in microseconds, and how far off it may be.
    pub(super) offset: f64,
    pub(super) error: f64,
    /// How much faster house time runs than the device's clock, as a fraction, and how far off that
    /// may be from now on.
    pub(super) rate: f64,
    pub(super) unsure: f64,
}

/// The proofs that stand.
#[derive(Clone, Debug)]
pub(super) struct Proofs {
    places: VecDeque<Place>,
    /// What the rate is known to lie between without them.
    rates: (f64, f64),
}

/// A corner of the polygon: the rate in ppm, and the offset in microseconds from a base.
type Corner = (f64, f64);

impl Proofs {
    /// None yet, for a device whose rate has not been measured.
    pub(super) fn new() -> Self {
        Self { places: VecDeque::new(), rates: (-RATE_UNKNOWN, RATE_UNKNOWN) }
    }

    /// None yet, for a device whose rate was measured before.
    pub(super) fn of_rate(fit: &Fit) -> Self {
        let rates = (fit.rate - fit.unsure, fit.rate + fit.unsure);
        Self { places: VecDeque::new(), rates }
    }

    /// Takes in what an exchange proved, and says what all say now: at `least.at`, when it was back.
    /// `rate` is the best that is known of it.
    ///
    /// Proofs that cannot all be true are no proofs: the clock jumped by a little, or its rate moved
    /// by more than it may. The oldest are dropped until the others agree.
    pub(super) fn take(&mut self, most: Proof, least: Proof, rate: f64) -> Fit {
        let now = least.at;
        match self.places.back_mut() {
            Some(place) if now - place.since < PLACE => {
                if most.offset <= place.most.carried(most.at, rate) {
                    place.most = most;
                }
                if least.offset >= place.least.carried(least.at, rate) {
                    place.least = least;
                }
            }
            _ => self.places.push_back(Place { since: now, most, least }),
        }
        while self.places.front().is_some_and(|place| place.since < now - AGE_MAX) {
            self.places.pop_front();
        }
        let base = f64::midpoint(most.offset, least.offset);
        loop {
            let polygon = self.polygon(now, base);
            if polygon.len() > 2 {
                return fit(&polygon, now, base);
            }
            if self.places.len() == 1 {
                // At odds with itself within one place, or with the rate that was known.
                *self = Self::new();
                self.places.push_back(Place { since: now, most, least });
                return alone(most, least);
            }
            self.places.pop_front();
        }
    }

    /// Every rate and offset at `now` that no proof rules out.
    fn polygon(&self, now: f64, base: f64) -> Vec<Corner> {
        let (slowest, fastest) = (self.rates.0 * 1e6, self.rates.1 * 1e6);
        let mut polygon =
            vec![(slowest, -WIDE), (fastest, -WIDE), (fastest, WIDE), (slowest, WIDE)];
        for Place { most, least, .. } in self.places.iter().rev() {
            for (side, proof) in [(1.0, most), (-1.0, least)] {
                let age = now - proof.at;
                let rest = side * (proof.offset - base) + WANDER * age;
                let outside = |(rate, offset): Corner| side * (offset - rate * 1e-6 * age) - rest;
                if polygon.iter().any(|&corner| outside(corner) > 0.0) {
                    polygon = clipped(&polygon, outside);
                }
            }
        }
        polygon
    }
}

/// The part of a convex polygon on which `outside` is not positive (Sutherland and Hodgman's clipping,
/// for one edge).
fn clipped(polygon: &[Corner], outside: impl Fn(Corner) -> f64) -> Vec<Corner> {
    let mut kept = Vec::with_capacity(polygon.len() + 1);
    let next = polygon.iter().cycle().skip(1);
    for (&here, &there) in polygon.iter().zip(next) {
        let (before, after) = (outside(here), outside(there));
        if before <= 0.0 {
            kept.push(here);
        }
        if (before < 0.0 && after > 0.0) || (before > 0.0 && after < 0.0) {
            let part = before / (before - after);
            kept.push((here.0 + part * (there.0 - here.0), here.1 + part * (there.1 - here.1)));
        }
    }
    kept
}

fn fit(polygon: &[Corner], at: f64, base: f64) -> Fit {
    let (rate, offset) = centroid(polygon);
    let (mut error, mut unsure) = (0.0_f64, 0.0_f64);
    for corner in polygon {
        error = error.max((corner.1 - offset).abs());
        unsure = unsure.max((corner.0 - rate).abs());
    }
    let rate = rate * 1e-6;
    // The rate may wander from here on, but no clock is worse than one of which nothing is known.
    let unsure = (unsure * 1e-6 + WANDER).min(RATE_UNKNOWN + rate.abs()).max(RATE_FLOOR);
    Fit { at, offset: base + offset, error, rate, unsure }
}

/// What one exchange says of a device of which nothing else is known.
fn alone(most: Proof, least: Proof) -> Fit {
    let half = (most.offset - least.offset).abs() / 2.0;
    Fit {
        at: least.at,
        offset: f64::midpoint(most.offset, least.offset),
        error: half + RATE_UNKNOWN * (least.at - most.at),
        rate: 0.0,
        unsure: RATE_UNKNOWN,
    }
}

/// The centre of area: the mean of all that is possible, each as likely as the other.
fn centroid(polygon: &[Corner]) -> Corner {
    let (x0, y0) = polygon[0];
    let (mut area, mut x, mut y) = (0.0, 0.0, 0.0);
    for pair in polygon[1..].windows(2) {
        let (x1, y1) = (pair[0].0 - x0, pair[0].1 - y0);
        let (x2, y2) = (pair[1].0 - x0, pair[1].1 - y0);
        let twice = x1 * y2 - x2 * y1;
        area += twice;
        x += twice * (x1 + x2) / 3.0;
        y += twice * (y1 + y2) / 3.0;
    }
    if area.abs() < AREA_LEAST {
        let count = polygon.len() as f64;
        let sum =
            polygon.iter().fold((0.0, 0.0), |sum, corner| (sum.0 + corner.0, sum.1 + corner.1));
        return (sum.0 / count, sum.1 / count);
    }
    (x0 + x / area, y0 + y / area)
}
