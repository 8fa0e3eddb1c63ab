//! How much one sender may send, over all of its connections.
//!
//! A [`Rate`] is kept as the instant at which all that was sent is paid off. [`Rates`] finds it by
//! who sends: it is shared by their connections, and stands until it is paid off though they are
//! gone, so that nothing is gained by coming back.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use floorbell_core::ids::DeviceId;
use tokio::time::Instant;

use super::devices::Follower;

/// Messages in a row: everything that a phone may have gathered in a class out of reach, at a round
/// every few seconds.
pub(crate) const BURST: u32 = 256;

/// Lasting, one message in this time: an athlete taps up to three times a second, a tablet that
/// counts for several the same; some exchanges and reports come on top.
pub(crate) const EACH: Duration = Duration::from_millis(50);

/// Rates that are remembered: one for each of the connections that the house has room for, and three
/// times as many of senders that have gone. A rate is paid off after 12.8 s (`BURST` × `EACH`), so
/// only a house that so many send to and leave within that time has more; then who owes the least
/// is forgotten, and gains no more than that.
const RATES_MAX: usize = 1024;

/// Who shares a rate: an athlete and a tally tablet with all that shows their token, under whatever
/// device ids. Coaches share one sign-in, so theirs is each device's own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Sender {
    Coach(DeviceId),
    Of(Follower),
}

impl Sender {
    pub(crate) fn new(follower: Follower, device: DeviceId) -> Self {
        match follower {
            Follower::Coach => Self::Coach(device),
            Follower::Paired(_) | Follower::Athlete(..) => Self::Of(follower),
        }
    }
}

/// Keeps account of one sender.
#[derive(Debug)]
pub(crate) struct Rate {
    /// When all that was sent is paid off.
    paid_off: Mutex<Instant>,
}

impl Rate {
    fn new() -> Self {
        Self { paid_off: Mutex::new(Instant::now()) }
    }

    /// Lets one more message through, or says how long it is until that fits.
    pub(crate) fn take(&self) -> Result<(), Duration> {
        let mut paid_off = self.paid_off.lock().unwrap_or_else(PoisonError::into_inner);
        let now = Instant::now();
        let then = (*paid_off).max(now) + EACH;
        match (then - now).checked_sub(EACH * BURST) {
            None | Some(Duration::ZERO) => {
                *paid_off = then;
                Ok(())
            }
            Some(over) => Err(over),
        }
    }

    /// How long it takes until all is paid off.
    fn owed(&self) -> Duration {
        let paid_off = self.paid_off.lock().unwrap_or_else(PoisonError::into_inner);
        paid_off.saturating_duration_since(Instant::now())
    }
}

/// The rates of all who send, and of those who have gone and owe.
#[derive(Debug, Default)]
pub(crate) struct Rates(BTreeMap<Sender, Arc<Rate>>);

impl Rates {
    /// The rate of a sender. As long as somebody holds it, it is not forgotten.
    pub(crate) fn of(&mut self, sender: Sender) -> Arc<Rate> {
        if let Some(rate) = self.0.get(&sender) {
            return Arc::clone(rate);
        }
        self.0.retain(|_, rate| is_held(rate) || !rate.owed().is_zero());
        if self.0.len() >= RATES_MAX {
            let gone = self.0.iter().filter(|(_, rate)| !is_held(rate));
            let least = gone.min_by_key(|(_, rate)| rate.owed()).map(|(sender, _)| *sender);
            least.and_then(|sender| self.0.remove(&sender));
        }
        let rate = Arc::new(Rate::new());
        self.0.insert(sender, Arc::clone(&rate));
        rate
    }
}

fn is_held(rate: &Arc<Rate>) -> bool {
    Arc::strong_count(rate) > 1
}

#[cfg(test)]
mod tests {
    use floorbell_core::ids::{AthleteId, ClassId};
    use uuid::Uuid;

    use super::*;

    fn let_through(rate: &Rate, of: u32) -> u32 {
        (0..of).map(|_| u32::from(rate.take().is_ok())).sum()
    }

    fn athlete(number: u128) -> Follower {
        Follower::Athlete(ClassId(Uuid::nil()), AthleteId(Uuid::from_u128(number)))
    }

    fn sender(number: u128) -> Sender {
        Sender::new(athlete(number), DeviceId(Uuid::nil()))
    }

    #[tokio::test(start_paused = true)]
    async fn a_burst_and_then_one_at_a_time() {
        let rate = Rate::new();
        assert_eq!(let_through(&rate, 2 * BURST), BURST);
        assert_eq!(rate.take(), Err(EACH));
        tokio::time::advance(3 * EACH).await;
        assert_eq!(let_through(&rate, 10), 3);
        tokio::time::advance(EACH / 5).await;
        assert_eq!(rate.take(), Err(EACH * 4 / 5));
        tokio::time::advance(2 * EACH * BURST).await;
        assert_eq!(let_through(&rate, 2 * BURST), BURST);
    }

    #[tokio::test(start_paused = true)]
    async fn a_tap_every_100_ms_for_ten_minutes_is_never_too_much() {
        let rate = Rate::new();
        for tap in 0..6_000 {
            tokio::time::advance(Duration::from_millis(100)).await;
            assert_eq!(rate.take(), Ok(()), "tap {tap}");
        }
    }

    #[tokio::test(start_paused = true)]
    async fn who_comes_back_finds_what_they_owed_until_it_is_paid_off() {
        let mut rates = Rates::default();
        assert_eq!(let_through(&rates.of(sender(1)), 2 * BURST), BURST);
        for other in 2..20 {
            rates.of(sender(other));
        }
        tokio::time::advance(2 * EACH).await;
        assert_eq!(let_through(&rates.of(sender(1)), BURST), 2);
        assert_eq!(rates.0.len(), 2, "who went and owes nothing is forgotten");
        tokio::time::advance(EACH * BURST).await;
        assert_eq!(let_through(&rates.of(sender(1)), 2 * BURST), BURST);
    }

    #[tokio::test(start_paused = true)]
    async fn an_athlete_has_one_rate_on_all_devices_and_each_coach_device_its_own() {
        let mut rates = Rates::default();
        let device = |number| DeviceId(Uuid::from_u128(number));
        for (follower, shared) in [(athlete(1), true), (Follower::Coach, false)] {
            let [one, other] = [1, 2].map(|it| rates.of(Sender::new(follower, device(it))));
            assert_eq!(Arc::ptr_eq(&one, &other), shared, "{follower:?}");
        }
        assert!(!Arc::ptr_eq(&rates.of(sender(1)), &rates.of(sender(2))));
    }

    #[tokio::test(start_paused = true)]
    async fn when_there_is_no_room_who_owes_least_is_forgotten_and_who_is_here_never() {
        let mut rates = Rates::default();
        let here = rates.of(sender(0));
        let_through(&rates.of(sender(1)), BURST);
        for number in 2..RATES_MAX as u128 + 100 {
            let_through(&rates.of(sender(number)), 2);
        }
        assert_eq!(rates.0.len(), RATES_MAX);
        assert!(Arc::ptr_eq(&here, &rates.of(sender(0))));
        assert_eq!(let_through(&rates.of(sender(1)), BURST), 0);
    }
}
