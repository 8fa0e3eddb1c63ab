//! The device's own clock: the machine's boot-time clock, which nobody can set and which goes on
//! through sleep, so following house time needs no care for either.

use floorbell_core::time::{DeviceTime, Span};
use rustix::time::{ClockId, clock_gettime};

/// The smallest step in which device time is written.
pub(crate) const STEP: Span = Span::from_micros(1);

/// Device time now.
pub fn now() -> DeviceTime {
    let time = clock_gettime(ClockId::Boottime);
    DeviceTime::from_micros(time.tv_sec * 1_000_000 + time.tv_nsec / 1_000)
}
