//! What follows a class from Rust: the terminal wall, simulated athletes, a simulated coach, a load
//! for measurements, and what they stand on.
//!
//! [`device`] is one device without its network: what it knows of the class, its taps on their way,
//! house time. [`follow`] keeps it connected. [`api`] asks what is asked over plain HTTP. [`showing`]
//! works out what the class clock shows, and [`terminal`] makes pictures of it.
//!
//! Programs come in with a bearer token and without an `Origin`; cookies are for browsers.

pub mod api;
pub mod athletes;
mod chance;
mod clock;
pub mod coach;
pub mod cues;
pub mod device;
pub mod follow;
pub mod showing;
pub mod terminal;
#[cfg(test)]
mod testing;
pub mod words;

pub use chance::{Chance, id as random_id};
pub use clock::now;
