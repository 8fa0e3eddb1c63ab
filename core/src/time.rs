//! Points and lengths of time. Everything is whole microseconds, so it is exact, cheap to
//! compare, and safe as a JSON number (2^53 µs is 285 years).
//!
//! Arithmetic saturates: a device may send any number as a time, and one that lies beyond all
//! clocks is to stay there, never to wrap round into one that could be true.
//!
//! [`HouseTime`] is the server's steady line, [`DeviceTime`] a device's own; they are different
//! types because mixing them up is the one mistake that no test would find on a desk where both
//! clocks agree:
//!
//! ```compile_fail
//! use floorbell_core::time::{DeviceTime, HouseTime};
//! let length = HouseTime::from_micros(2) - DeviceTime::from_micros(1);
//! ```

use core::fmt;
use core::ops::{Add, AddAssign, Neg, Sub};

use serde::{Deserialize, Serialize};

/// A length of time, or the difference between two points on the same line. May be negative.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(transparent)]
pub struct Span(#[cfg_attr(feature = "typescript", ts(type = "number"))] i64);

impl Span {
    /// No time at all.
    pub const ZERO: Self = Self(0);

    /// A span of whole microseconds.
    pub const fn from_micros(micros: i64) -> Self {
        Self(micros)
    }

    /// A span of whole milliseconds.
    pub const fn from_millis(millis: i64) -> Self {
        Self(millis.saturating_mul(1_000))
    }

    /// A span of whole seconds.
    pub const fn from_secs(secs: i64) -> Self {
        Self(secs.saturating_mul(1_000_000))
    }

    /// A span of whole minutes.
    pub const fn from_mins(mins: i64) -> Self {
        Self::from_secs(mins.saturating_mul(60))
    }

    /// The span in microseconds.
    pub const fn as_micros(self) -> i64 {
        self.0
    }

    /// The span in seconds, with its fraction.
    pub fn as_secs_f64(self) -> f64 {
        self.0 as f64 / 1e6
    }

    /// Nothing where the span is negative, the span itself elsewhere.
    #[must_use]
    pub fn at_least_zero(self) -> Self {
        Self(self.0.max(0))
    }

    /// The span taken `times` over.
    #[must_use]
    pub const fn times(self, times: u32) -> Self {
        Self(self.0.saturating_mul(times as i64))
    }
}

impl Add for Span {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl AddAssign for Span {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Sub for Span {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl Neg for Span {
    type Output = Self;
    fn neg(self) -> Self {
        Self(self.0.saturating_neg())
    }
}

impl core::iter::Sum for Span {
    fn sum<I: Iterator<Item = Self>>(spans: I) -> Self {
        spans.fold(Self::ZERO, Add::add)
    }
}

/// Minutes and seconds, `4:05`, with hours where there are any, `1:02:09`; rounded down to the
/// second, a minus before what is negative.
impl fmt::Display for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let secs = self.0.unsigned_abs() / 1_000_000;
        let (hours, mins, secs) = (secs / 3600, secs / 60 % 60, secs % 60);
        if self.0 < 0 {
            f.write_str("-")?;
        }
        if hours > 0 {
            write!(f, "{hours}:{mins:02}:{secs:02}")
        } else {
            write!(f, "{mins}:{secs:02}")
        }
    }
}

macro_rules! time_line {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(
            Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
        )]
        #[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
        #[serde(transparent)]
        pub struct $name(#[cfg_attr(feature = "typescript", ts(type = "number"))] i64);

        impl $name {
            /// The point that lies `micros` microseconds after the line's zero.
            pub const fn from_micros(micros: i64) -> Self {
                Self(micros)
            }

            /// Microseconds since the line's zero.
            pub const fn as_micros(self) -> i64 {
                self.0
            }
        }

        impl Add<Span> for $name {
            type Output = Self;
            fn add(self, span: Span) -> Self {
                Self(self.0.saturating_add(span.0))
            }
        }

        impl Sub<Span> for $name {
            type Output = Self;
            fn sub(self, span: Span) -> Self {
                Self(self.0.saturating_sub(span.0))
            }
        }

        impl Sub for $name {
            type Output = Span;
            fn sub(self, earlier: Self) -> Span {
                Span(self.0.saturating_sub(earlier.0))
            }
        }
    };
}

time_line! {
    /// A point on the house's own steady time line: microseconds since the house's first start.
    HouseTime
}
time_line! {
    /// A point on one device's own time line, of unknown zero and slightly wrong rate.
    DeviceTime
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_read_as_minutes_and_seconds() {
        for (span, text) in [
            (Span::from_secs(245), "4:05"),
            (Span::from_secs(3729), "1:02:09"),
            (Span::from_millis(-1_500), "-0:01"),
            (Span::ZERO, "0:00"),
        ] {
            assert_eq!(span.to_string(), text);
        }
    }

    #[test]
    fn what_lies_beyond_all_clocks_stays_there() {
        let (least, most) = (Span::from_micros(i64::MIN), Span::from_micros(i64::MAX));
        assert_eq!(most + most, most);
        assert_eq!(least - most, least);
        assert_eq!(-least, most);
        assert_eq!(most.times(2), most);
        assert_eq!(Span::from_mins(i64::MAX), most);
        assert_eq!([least, least].into_iter().sum::<Span>(), least);
        assert_eq!(least.to_string(), "-2562047788:00:54");
        let end = HouseTime::from_micros(i64::MAX);
        assert_eq!(end + most, end);
        assert_eq!(end - HouseTime::from_micros(i64::MIN), most);
        assert_eq!(HouseTime::from_micros(i64::MIN) - most, HouseTime::from_micros(i64::MIN));
    }
}
