//! What every connection has to know of the house.

use std::collections::BTreeMap;
use std::sync::Arc;

use floorbell_core::ids::AthleteId;

use super::{Identity, Settings};
use crate::access::Paired;
use crate::class_task::ClassHandle;

/// Classes that are followed at once: the latest, and those before it whose phones may still bring
/// taps that they made out of reach.
pub(super) const CLASSES_MAX: usize = 3;

/// What every connection has to know of the house.
#[derive(Clone, Debug)]
pub(crate) struct Lobby {
    pub(crate) settings: Settings,
    /// Walls and tally tablets that were let in, with their numbers.
    pub(crate) paired: BTreeMap<Paired, u32>,
    /// In the order in which they were opened; all but the last are closed.
    classes: Vec<Arc<ClassHandle>>,
}

impl Lobby {
    pub(super) fn new(settings: Settings, paired: BTreeMap<Paired, u32>) -> Self {
        Self { settings, paired, classes: Vec::new() }
    }

    /// Adds a class and lets go of one that is long over.
    pub(super) fn opened(&mut self, class: Arc<ClassHandle>) {
        if self.classes.len() >= CLASSES_MAX {
            self.classes.remove(0);
        }
        self.classes.push(class);
    }

    /// The class that is open.
    pub(crate) fn open(&self) -> Option<&Arc<ClassHandle>> {
        self.classes.last().filter(|class| class.is_open())
    }

    /// The class that a device follows: an athlete the one that they came into, for as long as it
    /// is followed at all; everyone else the one that is open. Nothing for a wall or tally tablet that waits.
    pub(crate) fn class_of(&self, identity: &Identity) -> Option<&Arc<ClassHandle>> {
        match identity {
            Identity::Coach { .. } => self.open(),
            Identity::Paired { paired, .. } => {
                self.open().filter(|_| self.paired.contains_key(paired))
            }
            Identity::Athlete { class, .. } => self.classes.iter().find(|it| it.id == *class),
        }
    }

    /// The class that an athlete is in: a closed one still takes what was counted in it.
    pub(crate) fn class_with(&self, athlete: AthleteId) -> Option<&Arc<ClassHandle>> {
        self.classes.iter().find(|class| class.feed.own(athlete).is_some())
    }
}
