//! Slows down who guesses passphrases or codes.
//!
//! Each address may try ten times at once and then once every 30 s. Every try is charged before it
//! is checked, so that many at once gain nothing, and a right one wipes the address clean: a whole
//! class that scans the code is never held up. One instant per address holds all of it: the one at
//! which its tries will all have been paid off.

use std::collections::HashMap;
use std::net::{IpAddr, Ipv6Addr};

use floorbell_core::time::{HouseTime, Span};

/// What one try costs: who keeps guessing has one in 30 s, 2,880 a day.
const COST: Span = Span::from_secs(30);

/// Tries in a row: enough for a person who mistypes (NIST SP 800-63B rev 3, 5.2.2 allows 100).
const TRIES_IN_A_ROW: u32 = 10;

/// Addresses remembered at most, some 50 kB: far more than the devices of a full house.
const ADDRESSES_MAX: usize = 1024;

/// Remembers who has been guessing. One limiter guards one kind of secret: were it shared, a
/// right class code would pay for guesses at the passphrase.
#[derive(Debug, Default)]
pub struct GuessLimiter {
    paid_off: HashMap<IpAddr, HouseTime>,
}

impl GuessLimiter {
    /// Charges one try to an address.
    ///
    /// # Errors
    /// How long this address has to wait before it may try again; the try is then not charged.
    pub fn charge(&mut self, address: IpAddr, now: HouseTime) -> Result<(), Span> {
        let address = network(address);
        let paid_off = self.paid_off.get(&address).map_or(now, |at| now.max(*at)) + COST;
        let wait = paid_off - now - COST.times(TRIES_IN_A_ROW);
        if wait > Span::ZERO {
            return Err(wait);
        }
        if self.paid_off.len() >= ADDRESSES_MAX && !self.paid_off.contains_key(&address) {
            self.make_room(now);
        }
        self.paid_off.insert(address, paid_off);
        Ok(())
    }

    /// Wipes an address clean, because its try was right.
    pub fn forgive(&mut self, address: IpAddr) {
        self.paid_off.remove(&network(address));
    }

    /// Drops who has paid off, or else who is nearest to it: with the book full, the most
    /// persistent are the ones to remember, and nobody new is shut out.
    fn make_room(&mut self, now: HouseTime) {
        self.paid_off.retain(|_, at| *at > now);
        if self.paid_off.len() >= ADDRESSES_MAX {
            let nearest = self.paid_off.iter().min_by_key(|(_, at)| **at).map(|(who, _)| *who);
            nearest.map(|who| self.paid_off.remove(&who));
        }
    }
}

/// What counts as one address. One IPv6 machine has a whole /64 network to itself; an IPv4 address
/// may come in IPv6 clothes.
fn network(address: IpAddr) -> IpAddr {
    match address.to_canonical() {
        IpAddr::V6(v6) => IpAddr::V6(Ipv6Addr::from_bits(v6.to_bits() & (u128::MAX << 64))),
        v4 @ IpAddr::V4(_) => v4,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(secs: i64) -> HouseTime {
        HouseTime::from_micros(secs * 1_000_000)
    }

    fn address(text: &str) -> IpAddr {
        text.parse().unwrap()
    }

    /// A limiter that has let `who` try ten times at 100 s.
    fn tried_ten_times(who: IpAddr) -> GuessLimiter {
        let mut limiter = GuessLimiter::default();
        for _ in 0..TRIES_IN_A_ROW {
            assert_eq!(limiter.charge(who, at(100)), Ok(()));
        }
        limiter
    }

    #[test]
    fn ten_tries_then_one_every_half_minute() {
        let who = address("10.0.0.7");
        let mut limiter = tried_ten_times(who);
        assert_eq!(limiter.charge(who, at(100)), Err(Span::from_secs(30)));
        assert_eq!(limiter.charge(who, at(129)), Err(Span::from_secs(1)));
        assert_eq!(limiter.charge(who, at(130)), Ok(()));
        assert_eq!(limiter.charge(who, at(130)), Err(Span::from_secs(30)));
        assert_eq!(limiter.charge(address("10.0.0.8"), at(130)), Ok(()), "others are not held up");
        for _ in 0..TRIES_IN_A_ROW {
            assert_eq!(limiter.charge(who, at(1_000)), Ok(()), "patience pays everything off");
        }
    }

    #[test]
    fn a_right_try_wipes_clean() {
        let who = address("10.0.0.7");
        let mut limiter = tried_ten_times(who);
        limiter.forgive(who);
        assert_eq!(limiter.charge(who, at(100)), Ok(()));
    }

    #[test]
    fn one_machine_is_one_address() {
        let mut limiter = tried_ten_times(address("fd00::1"));
        assert!(limiter.charge(address("fd00::2:1"), at(100)).is_err());
        assert!(limiter.charge(address("fd00:0:0:1::1"), at(100)).is_ok());
        let mut limiter = tried_ten_times(address("10.0.0.7"));
        assert!(limiter.charge(address("::ffff:10.0.0.7"), at(100)).is_err());
    }

    #[test]
    fn the_book_is_bounded_and_keeps_the_persistent() {
        let who = address("10.9.9.9");
        let mut limiter = tried_ten_times(who);
        for number in 0..5_000_u32 {
            assert_eq!(limiter.charge(IpAddr::V4(number.into()), at(101)), Ok(()));
            assert!(limiter.paid_off.len() <= ADDRESSES_MAX);
        }
        assert!(limiter.charge(who, at(101)).is_err());
    }
}
