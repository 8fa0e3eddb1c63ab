//! The network between phones and server: it loses, repeats, reorders and delays single messages,
//! which is worse than what a WebSocket does to anybody.

use floorbell_client::Chance;
use floorbell_core::time::Span;

/// How bad the network is, for a whole seed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Network {
    /// How often a message is lost.
    loses: f64,
    /// How often it comes twice.
    repeats: f64,
    /// How often it takes seconds and not milliseconds.
    dawdles: f64,
    /// The most that it takes otherwise, in seconds.
    slow_secs: f64,
}

/// What a message takes at least, in seconds.
const QUICK_SECS: f64 = 0.001;

impl Network {
    /// Anything from a quiet hall to one in which every third message is lost.
    pub(crate) fn draw(chance: &mut Chance) -> Self {
        let bad = chance.share();
        Self {
            loses: 0.35 * bad * bad,
            repeats: 0.2 * chance.share(),
            dawdles: 0.1 * chance.share(),
            slow_secs: chance.between(0.02, 0.6),
        }
    }

    /// A network on which every message comes once and in order.
    pub(crate) fn healthy() -> Self {
        Self { loses: 0.0, repeats: 0.0, dawdles: 0.0, slow_secs: QUICK_SECS }
    }

    /// After how long a message arrives, each time that it does.
    pub(crate) fn deliveries(self, chance: &mut Chance) -> Vec<Span> {
        let times = if chance.happens(self.loses) {
            0
        } else if chance.happens(self.repeats) {
            2
        } else {
            1
        };
        (0..times).map(|_| self.delay(chance)).collect()
    }

    fn delay(self, chance: &mut Chance) -> Span {
        let most = if chance.happens(self.dawdles) { 20.0 } else { self.slow_secs };
        secs(chance.between(QUICK_SECS, most))
    }
}

/// A span of seconds with their fraction.
pub(crate) fn secs(secs: f64) -> Span {
    Span::from_micros((secs * 1e6) as i64)
}
