//! Simulated athletes: real devices on real connections, each with a person who has their own pace,
//! tires, forgets to tap, touches twice, and whose network goes away now and then.
//!
//! They count as the class clock runs, each format in its own way; after the bell they enter their extra
//! reps. In pieces for teams they take turns.

mod athlete;
mod counting;
mod person;

use core::time::Duration;

use tokio::sync::watch;
use tokio::task::JoinSet;

use crate::api::{self, Address, ApiError, Look, Newcomer};
use crate::follow::{As, Follower};
use athlete::Athlete;
use person::Person;

/// A class of simulated athletes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crowd {
    /// How many.
    pub people: usize,
    /// What all chance follows from.
    pub seed: u64,
    /// How much faster than life they work, so that a short session has some rounds too; at least 1.
    pub hurry: f64,
}

/// Lets simulated athletes come in one by one by the class code, and do the class until `stop` says so.
///
/// # Errors
/// When the house cannot be reached or does not let them in. What befalls them later is part of the
/// simulation.
pub async fn run(
    address: &Address,
    code: &str,
    crowd: Crowd,
    mut stop: watch::Receiver<bool>,
) -> Result<(), ApiError> {
    let look = api::look(address, code).await?;
    let mut athletes = JoinSet::new();
    for number in 0..crowd.people {
        let athlete = come_in(address, code, &look, crowd, number).await?;
        athletes.spawn(athlete.take_part());
        let gap = Duration::from_millis(300).div_f64(crowd.hurry);
        if tokio::time::timeout(gap, stop.wait_for(|&stop| stop)).await.is_ok() {
            return Ok(());
        }
    }
    // Dropping the set ends them all.
    let _ = stop.wait_for(|&stop| stop).await;
    Ok(())
}

async fn come_in(
    address: &Address,
    code: &str,
    look: &Look,
    crowd: Crowd,
    number: usize,
) -> Result<Athlete, ApiError> {
    let hurry = crowd.hurry.max(1.0);
    let mut person = Person::new(crowd.seed, number, hurry);
    let choice = person.choice(&look.blocks);
    let who = Newcomer { name: person.name.clone(), choice, at_home: person.at_home };
    let joined = api::join(address, code, &who).await?;
    let follower = Follower::new(address.clone(), joined.token, As::Athlete);
    Ok(Athlete::new(person, follower, hurry))
}
