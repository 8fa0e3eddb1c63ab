//! What the whole-system tests stand on: a real server process on a data folder of its own, and
//! devices that follow it.
//!
//! Nothing here sleeps: whoever waits does so for a message, and gives up after [`PATIENCE`].

#![allow(clippy::missing_panics_doc, reason = "a test fails by panicking")]

pub mod house;
pub mod people;

use core::time::Duration;

/// How long anything may take before a test gives up; a busy machine has its moments.
pub const PATIENCE: Duration = Duration::from_secs(30);

/// Awaits what is to happen.
pub async fn soon<T>(what: &str, happens: impl Future<Output = T>) -> T {
    let Ok(value) = tokio::time::timeout(PATIENCE, happens).await else {
        panic!("{} s have passed, and still not: {what}", PATIENCE.as_secs());
    };
    value
}
