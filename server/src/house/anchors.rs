//! Keeps readings of the clocks, from which house time is taken up again after a restart.

use std::time::Duration;

use super::House;
use crate::store::{Record, StoreError};

/// How often: after a reboot house time is rebuilt from the last anchor and the wall clock, so a
/// wrong wall clock that was set right in between costs at most this.
const EVERY: Duration = Duration::from_mins(1);

pub(super) async fn write(house: &House) -> Result<(), StoreError> {
    house.inner.store.write(vec![Record::Anchor(house.clock().anchor())]).await
}

pub(super) async fn run(house: House) {
    let mut stopping = house.inner.stopping.subscribe();
    loop {
        tokio::select! {
            _ = stopping.wait_for(|stopping| *stopping) => return,
            () = tokio::time::sleep(EVERY) => {}
        }
        if let Err(error) = write(&house).await {
            // The next one is as good.
            tracing::warn!(%error, "a reading of the clocks was not kept");
        }
    }
}
