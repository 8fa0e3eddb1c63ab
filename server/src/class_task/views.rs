//! What single people are shown of a class: each athlete their own view, a tally tablet those
//! whom it counts for, coaches everyone's.

use std::collections::BTreeMap;
use std::sync::Arc;

use floorbell_core::class::clock::Clock;
use floorbell_core::ids::AthleteId;
use floorbell_core::time::HouseTime;
use floorbell_core::wire::Person;

use super::feed::{CoachPart, Feed};
use super::turn::{Touched, Working};

/// The views as they were last shown, so that a tap renews those of its athlete alone.
#[derive(Debug, Default)]
pub(super) struct Views {
    people: BTreeMap<AthleteId, Arc<Person>>,
    coach: CoachPart,
}

impl Views {
    /// Shows those whom a turn has touched, and coaches, how things stand now.
    pub(super) fn renew(
        &mut self,
        working: &Working,
        touched: &Touched,
        now: HouseTime,
        feed: &Feed,
    ) {
        let Working { class, people, .. } = working;
        let order = people.order(class);
        self.people.retain(|athlete, _| order.contains(athlete));
        feed.keep_own(|athlete| class.athlete(athlete).is_some());
        for &athlete in &order {
            if self.people.contains_key(&athlete) && !touched.touches(athlete) {
                continue;
            }
            let person = people.person(class, athlete);
            if person.here {
                feed.publish_own(people.own(class, &person));
            }
            self.people.insert(athlete, Arc::new(person));
        }
        self.coach.tablets = class.tablets().collect();
        for (&tablet, athletes) in &self.coach.tablets {
            if touched.is_everyone() || athletes.iter().any(|&it| touched.touches(it)) {
                feed.publish_tablet(tablet, people.tablet(class, athletes));
            }
        }
        self.coach.people = order.iter().map(|athlete| Arc::clone(&self.people[athlete])).collect();
        self.coach.expected = people.expected(class);
        self.coach.readings = class.readings();
        self.coach.questions = people.questions();
        self.coach.closed = class.closed();
        self.coach.take_back = class.take_back(now);
        self.note_stop(&class.clock());
        feed.publish_coach(self.coach.clone());
    }

    /// Tells coaches what is wrong with the disk, or that nothing is any longer.
    pub(super) fn warn(&mut self, warning: Option<String>, feed: &Feed) {
        if self.coach.warning != warning {
            self.coach.warning = warning;
            feed.publish_coach(self.coach.clone());
        }
    }

    /// Notes that the stop notice is shown although it is not on disk.
    pub(super) fn stop_shown(&mut self, clock: &Clock, feed: &Feed) {
        self.note_stop(clock);
        feed.publish_coach(self.coach.clone());
    }

    fn note_stop(&mut self, clock: &Clock) {
        self.coach.stop = clock.stopped.then(|| self.coach.stop.unwrap_or(clock.revision));
    }
}
