//! Chance: seeded where a simulation is to be repeatable, the system's where an id is made.

use uuid::Uuid;

/// `SplitMix64` (Steele, Lea and Flood, 2014): small, and the same from the same seed everywhere.
#[derive(Clone, Debug)]
pub struct Chance(u64);

impl Chance {
    /// The line of numbers that a seed gives.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From 0 up to 1, 1 left out.
    pub fn share(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// From `least` up to `most`, which is left out.
    pub fn between(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * self.share()
    }

    /// Whether something happens that happens so often, from 0 never to 1 always.
    pub fn happens(&mut self, often: f64) -> bool {
        self.share() < often
    }

    /// One of `0..of`; 0 where there is none.
    pub fn index(&mut self, of: usize) -> usize {
        (self.share() * of as f64) as usize
    }
}

/// A random id (version 4), from the system's own random source.
///
/// # Panics
/// Where the system has no random source, without which nothing can be secret or unique.
pub fn id() -> Uuid {
    let mut bytes = [0; 16];
    getrandom::fill(&mut bytes).expect("the system has a random source");
    uuid::Builder::from_random_bytes(bytes).into_uuid()
}
