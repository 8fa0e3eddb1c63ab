//! How much one device may send.

use std::time::Duration;

use tokio::time::Instant;

/// Messages in a row: everything that a phone may have gathered in a class out of reach, at a round
/// every few seconds.
const BURST: u32 = 256;

/// Lasting, one message in this time: an athlete taps up to three times a second, a tablet that
/// counts for several the same; some exchanges and reports come on top.
const EACH: Duration = Duration::from_millis(50);

/// Keeps account of one connection: the instant at which all that it has sent is paid off.
#[derive(Debug)]
pub(super) struct Rate {
    paid_off: Instant,
}

impl Rate {
    pub(super) fn new() -> Self {
        Self { paid_off: Instant::now() }
    }

    /// Whether one more message is let through.
    pub(super) fn allows(&mut self) -> bool {
        let now = Instant::now();
        let paid_off = self.paid_off.max(now) + EACH;
        let fits = paid_off - now <= EACH * BURST;
        if fits {
            self.paid_off = paid_off;
        }
        fits
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test(start_paused = true)]
    async fn a_burst_and_then_one_at_a_time() {
        let mut rate = Rate::new();
        assert_eq!((0..2 * BURST).filter(|_| rate.allows()).count(), BURST as usize);
        tokio::time::advance(3 * EACH).await;
        assert_eq!((0..10).filter(|_| rate.allows()).count(), 3);
        tokio::time::advance(2 * EACH * BURST).await;
        assert_eq!((0..2 * BURST).filter(|_| rate.allows()).count(), BURST as usize);
    }

    #[tokio::test(start_paused = true)]
    async fn a_tap_every_100_ms_for_ten_minutes_is_never_too_much() {
        let mut rate = Rate::new();
        for tap in 0..6_000 {
            tokio::time::advance(Duration::from_millis(100)).await;
            assert!(rate.allows(), "tap {tap}");
        }
    }
}
