//! The people of a class: what was sent for each, how they do it, who counts for whom, and who shares
//! a tally. Whatever changes any of it, what their taps are worth is worked out anew.

use std::collections::BTreeSet;

use super::Class;
use super::command::{Actor, Choice, Settlement};
use super::event::{Event, Stamped};
use crate::ids::{AthleteId, DeviceId};
use crate::score::count::{Counted, Party, at_instant, count, count_on};
use crate::score::sent::{Entered, Entry, Fact, Sent};
use crate::session::{BlockKind, Sharing};
use crate::time::HouseTime;

/// One person in the class.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Athlete {
    /// Whether they join from home.
    pub at_home: bool,
    /// How they do the class.
    pub choice: Choice,
    /// Since when they do it scaled, or as written again.
    pub(super) scaled: Vec<(HouseTime, bool)>,
    /// Since when somebody else counts for them, and who; or nobody again.
    pub(super) counters: Vec<(HouseTime, Option<AthleteId>)>,
    pub(super) sent: Sent,
    pub(super) counted: Counted,
}

/// For whom a tally tablet counts.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Tablet {
    /// Now, in the order in which they are shown.
    pub(super) now: Vec<AthleteId>,
    /// Now or before: what it counted for them then may still be on its way.
    pub(super) ever: BTreeSet<AthleteId>,
}

impl Athlete {
    /// Who counts for them, if it is somebody else.
    pub fn counter(&self) -> Option<AthleteId> {
        self.counters.last().and_then(|(_, counter)| *counter)
    }

    /// Whether somebody counts for them or ever did.
    pub(super) fn was_counted_by(&self, other: AthleteId) -> bool {
        self.counters.iter().any(|(_, counter)| *counter == Some(other))
    }
}

impl Class {
    /// The others with whom an athlete shares a tally, themselves included, in the order in which
    /// they take turns.
    pub fn team_of(&self, athlete: AthleteId) -> Option<(u32, &[AthleteId])> {
        let at = self.teams.iter().position(|team| team.contains(&athlete))?;
        Some((at as u32 + 1, &self.teams[at]))
    }

    /// For whom somebody counts beside themselves.
    pub fn counted_by(&self, counter: AthleteId) -> impl Iterator<Item = AthleteId> {
        self.people()
            .filter(move |(_, athlete)| athlete.counter() == Some(counter))
            .map(|(id, _)| id)
    }

    /// For whom each tally tablet counts now, of all that ever counted here.
    pub fn tablets(&self) -> impl Iterator<Item = (DeviceId, Vec<AthleteId>)> {
        let here = |athlete: &AthleteId| self.athlete(*athlete).is_some();
        self.tablets
            .iter()
            .map(move |(id, tablet)| (*id, tablet.now.iter().copied().filter(here).collect()))
    }

    pub(super) fn apply_to_people(&mut self, stamped: &Stamped) {
        let (seq, at) = (stamped.seq, stamped.at);
        match &stamped.event {
            Event::Joined { athlete, at_home } => self.come_in(*athlete, *at_home),
            Event::Removed { athlete } => {
                if let Some(place) = self.people.iter().position(|(id, _)| id == athlete) {
                    let (id, gone) = self.people.remove(place);
                    self.gone.insert(id, gone);
                }
            }
            Event::Teamed { teams } => {
                self.teams.clone_from(teams);
                self.count_all();
            }
            Event::Assigned { tablet, athletes } => {
                let tablet = self.tablets.entry(*tablet).or_default();
                tablet.now.clone_from(athletes);
                tablet.ever.extend(athletes);
            }
            Event::Tapped { tap, by, connected_since } => self.tapped(Fact {
                tap: tap.clone(),
                device: by.device(),
                by: by.athlete(),
                arrived: at,
                connected_since: *connected_since,
            }),
            Event::Undone { athlete, of, .. } => self.change(*athlete, |it| it.sent.undo(*of)),
            Event::ExtraEntered { athlete, segment, reps, of_round, .. } => {
                let entered = Entered::Extra { reps: *reps, of_round: *of_round };
                self.enter(*athlete, Entry { seq, at, segment: *segment, entered });
            }
            Event::TallySet { athlete, segment, from, to, by } => {
                let by_hand = matches!(by, Actor::Athlete { .. });
                let entered = Entered::Tally { to: *to, from: *from, by_hand };
                self.enter(*athlete, Entry { seq, at, segment: *segment, entered });
            }
            Event::Settled { athlete, segment, settlement, .. } => match *settlement {
                Settlement::Tap { tap, counts } => {
                    self.change(*athlete, |it| it.sent.settle(tap, counts));
                }
                Settlement::TallyStands => {
                    let entered = Entered::Stands;
                    self.enter(*athlete, Entry { seq, at, segment: *segment, entered });
                }
            },
            Event::Chose { athlete, choice } => self.change(*athlete, |athlete| {
                if choice.scaled != at_instant(&athlete.scaled, at) {
                    athlete.scaled.push((at, choice.scaled));
                }
                athlete.choice.clone_from(choice);
            }),
            Event::CounterSet { athlete, counter, .. } => {
                self.change(*athlete, |athlete| athlete.counters.push((at, *counter)));
            }
            _ => {}
        }
    }

    /// Somebody comes in. Who was taken out before has what they did.
    fn come_in(&mut self, athlete: AthleteId, at_home: bool) {
        if self.athlete(athlete).is_none() {
            let joined = self.gone.remove(&athlete).unwrap_or_default();
            self.people.push((athlete, Athlete { at_home, ..joined }));
            self.recount(athlete);
        }
    }

    fn enter(&mut self, athlete: AthleteId, entry: Entry) {
        self.change(athlete, |athlete| athlete.sent.enter(entry));
    }

    fn tapped(&mut self, fact: Fact) {
        let (athlete, tap) = (fact.tap.athlete, fact.tap.id);
        let Some(at) = self.people.iter().position(|(id, _)| *id == athlete) else { return };
        self.people[at].1.sent.receive(fact);
        let mut counted = std::mem::take(&mut self.people[at].1.counted);
        let counted_on =
            count_on(&mut counted, &self.party(athlete, &self.people[at].1), self, tap);
        self.people[at].1.counted = counted;
        if counted_on.is_none() {
            self.recount(athlete);
        }
    }

    /// Changes what is known of an athlete.
    fn change(&mut self, athlete: AthleteId, change: impl FnOnce(&mut Athlete)) {
        let Some((_, known)) = self.people.iter_mut().find(|(id, _)| *id == athlete) else {
            return;
        };
        change(known);
        self.recount(athlete);
    }

    /// Works out what an athlete's taps are worth, and those of their team.
    fn recount(&mut self, athlete: AthleteId) {
        let alone = [athlete];
        let team = self.team_of(athlete).filter(|_| self.has_shared_piece());
        for member in team.map_or(&alone[..], |(_, team)| team).to_vec() {
            self.count_one(member);
        }
    }

    /// What the clock did, the plan or the teams have changed, so any tap may be worth something
    /// else.
    pub(super) fn count_all(&mut self) {
        for at in 0..self.people.len() {
            self.count_one(self.people[at].0);
        }
    }

    fn count_one(&mut self, athlete: AthleteId) {
        let Some(at) = self.people.iter().position(|(id, _)| *id == athlete) else { return };
        self.people[at].1.counted = count(&self.party(athlete, &self.people[at].1), self);
    }

    /// An athlete with those whose taps count for them, too.
    fn party<'a>(&'a self, athlete: AthleteId, known: &'a Athlete) -> Party<'a> {
        let team = self.team_of(athlete).filter(|_| self.has_shared_piece());
        let others = team.map_or(&[][..], |(_, team)| team).iter().filter(|id| **id != athlete);
        let sent_of = |id: &AthleteId| {
            let known = self.athlete(*id).or_else(|| self.gone.get(id))?;
            Some((*id, &known.sent))
        };
        Party {
            athlete,
            sent: std::iter::once((athlete, &known.sent))
                .chain(others.filter_map(sent_of))
                .collect(),
            counters: &known.counters,
            scaled: &known.scaled,
        }
    }

    fn has_shared_piece(&self) -> bool {
        self.session.blocks.iter().any(|block| match &block.kind {
            BlockKind::Piece(piece) => piece.sharing != Sharing::Alone,
            _ => false,
        })
    }
}

impl Actor {
    /// The device that acts.
    pub const fn device(&self) -> DeviceId {
        match self {
            Self::Coach { device } | Self::Athlete { device, .. } | Self::Tablet { device, .. } => {
                *device
            }
        }
    }

    /// The athlete whose phone acts, if it is one.
    pub const fn athlete(&self) -> Option<AthleteId> {
        match self {
            Self::Athlete { athlete, .. } => Some(*athlete),
            Self::Coach { .. } | Self::Tablet { .. } => None,
        }
    }
}
