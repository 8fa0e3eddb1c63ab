//! Where a class task stands with the disk.

use std::sync::Arc;
use std::time::Duration;

use floorbell_core::class::Class;
use tokio::time::Instant;

use super::Task;
use super::journal::{Under, rebuild};
use super::people::People;
use crate::store::StoreError;

/// How long nothing is written after the disk has refused.
const RETRY_AFTER: Duration = Duration::from_secs(1);

/// A write that takes longer than this is told to the coach.
const SLOW_AFTER: Duration = Duration::from_secs(1);

/// Where the task stands with the disk.
pub(super) enum Disk {
    /// The working state is on disk.
    Free,
    /// A turn is being written.
    Writing { done: Under<Result<(), StoreError>>, since: Instant },
    /// The working state is being rebuilt.
    Loading(Under<Result<Box<(Class, People)>, StoreError>>),
    /// The disk has refused; until then it is left alone.
    Refusing {
        until: Instant,
        /// A sentence for those who ask in the meantime.
        why: String,
        /// Whether the working state is what is on disk.
        rebuilt: bool,
    },
}

/// What the disk has come back with.
pub(super) enum Done {
    Written(Result<(), StoreError>),
    Loaded(Result<Box<(Class, People)>, StoreError>),
}

impl Disk {
    /// Resolves when the disk comes back; never while nothing is asked of it.
    pub(super) async fn done(&mut self) -> Done {
        match self {
            Self::Writing { done, .. } => Done::Written(done.await),
            Self::Loading(done) => Done::Loaded(done.await),
            Self::Free | Self::Refusing { .. } => std::future::pending().await,
        }
    }

    pub(super) fn refusing(why: String, rebuilt: bool) -> Self {
        Self::Refusing { until: Instant::now() + RETRY_AFTER, why, rebuilt }
    }

    /// Whether nothing is under way.
    pub(super) fn is_at_rest(&self) -> bool {
        matches!(self, Self::Free | Self::Refusing { .. })
    }

    /// Whether the working state is on disk, so that it may be shown.
    pub(super) fn has_working_state(&self) -> bool {
        matches!(self, Self::Free | Self::Refusing { rebuilt: true, .. })
    }

    /// When to look again.
    pub(super) fn due(&self) -> Option<Instant> {
        match self {
            Self::Free | Self::Loading(_) => None,
            // Once it is slow, there is nothing more to say about it.
            Self::Writing { since, .. } => {
                Some(*since + SLOW_AFTER).filter(|due| *due > Instant::now())
            }
            Self::Refusing { until, .. } => Some(*until),
        }
    }
}

impl Task {
    /// Does what has fallen due with the disk.
    pub(super) fn disk_on_time(&mut self) {
        let now = Instant::now();
        match self.disk {
            Disk::Writing { since, .. } if since + SLOW_AFTER <= now => {
                self.views.warn(Some(SLOW.to_owned()), &self.feed);
            }
            Disk::Refusing { until, rebuilt: true, .. } if until <= now => self.disk = Disk::Free,
            Disk::Refusing { until, rebuilt: false, .. } if until <= now => self.load(),
            _ => {}
        }
    }

    /// Begins to rebuild the state from what is on disk.
    pub(super) fn load(&mut self) {
        let journal = Arc::clone(&self.journal);
        let class = self.working.record.id;
        let loading = tokio::task::spawn_blocking(move || {
            journal.load(class).and_then(|on_disk| rebuild(class, on_disk)).map(Box::new)
        });
        // A thread that ended otherwise has panicked, or the server stops.
        self.disk =
            Disk::Loading(Box::pin(async { loading.await.unwrap_or(Err(StoreError::Stopped)) }));
    }
}

/// What the coach is told while a write takes long.
const SLOW: &str = "The disk is slow. The class clock goes on; taps wait on the phones. Stop and \
                    hold work.";

/// What the coach is told when the disk refuses.
pub(super) fn refuses(error: &StoreError) -> String {
    format!("{error} The class clock goes on; taps wait on the phones. Stop and hold work.")
}
