//! The rounds of one window, as their taps come in order: which of them give a split, and which come
//! sooner than a round can be done. A round between whose taps one was forgotten gives no split: its
//! time belongs to two rounds.

use crate::review;
use crate::time::Span;

/// A round sooner than this share of the expected time is marked as quick. Our own choice: halved
/// times happen when somebody scales in mid-piece, a third of the time does not.
const QUICK_SHARE: f64 = 0.4;

/// Without anything to expect, no round is done in less *(cp)*.
const QUICK_LEAST: Span = Span::from_secs(5);

/// The rounds of one window.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Rounds {
    expected: Option<Span>,
    /// Times of the rounds that gave one.
    pub(super) splits: Vec<Span>,
    /// Class time of the last round's tap.
    last: Option<Span>,
    /// Whether the last round gave the last of the splits.
    last_gave: bool,
    /// The time since the last tap belongs to more rounds than one: the next gives no split.
    spoilt: bool,
}

impl Rounds {
    /// Rounds that should take so long. Where the tally was `set`, rounds have gone by that are not
    /// among the taps.
    pub(super) fn new(expected: Option<Span>, set: bool) -> Self {
        Self { expected, splits: Vec::new(), last: None, last_gave: false, spoilt: set }
    }

    /// A round was finished at this class time; tells whether that is sooner than it can be done.
    pub(super) fn finished(&mut self, at: Span) -> bool {
        let (split, quick) = self.since_last(at);
        self.last = Some(at);
        self.last_gave = !quick && !self.spoilt;
        if self.last_gave {
            self.splits.push(split);
        }
        self.spoilt = false;
        quick
    }

    /// A round that was finished earlier is told of at this class time.
    pub(super) fn caught_up(&mut self, at: Span) {
        let (_, quick) = self.since_last(at);
        self.spoilt |= !quick || self.last.is_none();
    }

    /// The time since the last round, and whether a round cannot be done in it: then the last one
    /// was tapped late, and gives no split either.
    fn since_last(&mut self, at: Span) -> (Span, bool) {
        let split = at - self.last.unwrap_or_default();
        let quick = split.as_secs_f64() < self.quick_below();
        if quick && std::mem::take(&mut self.last_gave) {
            self.splits.pop();
        }
        (split, quick)
    }

    fn quick_below(&self) -> f64 {
        let usual =
            if self.splits.len() < 2 { self.expected } else { review::median(&self.splits) };
        usual.map_or(QUICK_LEAST.as_secs_f64(), |usual| usual.as_secs_f64() * QUICK_SHARE)
    }
}
