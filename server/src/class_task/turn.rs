//! One turn of a class task: several errands decided and applied one after the other on the working
//! state, whose events and records then go to disk together. Answers wait in the turn for that.

use std::collections::BTreeSet;

use floorbell_core::class::command::{Actor, Choice, Command};
use floorbell_core::class::event::Event;
use floorbell_core::class::refusal::Refusal;
use floorbell_core::class::{Athlete, Class};
use floorbell_core::ids::{AthleteId, RequestId};
use floorbell_core::name::Name;
use floorbell_core::time::HouseTime;

use super::errand::{Answer, Deed, Errand, No, Reply, Yes};
use super::journal::{Writing, entry};
use super::people::People;
use crate::access::{Holder, Token, random_id};
use crate::clock::WallTime;
use crate::house::Newcomer;
use crate::store::{self, Grant, Record};

/// The state of a class, ahead of the disk while a turn is being written.
#[derive(Debug)]
pub(crate) struct Working {
    pub(crate) class: Class,
    pub(crate) people: People,
    /// What the list of classes says of it.
    pub(crate) record: store::Class,
}

/// When a turn takes place.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Moment {
    pub(crate) house: HouseTime,
    pub(crate) wall: WallTime,
}

/// What a turn has gathered.
#[derive(Debug, Default)]
pub(crate) struct Turn {
    pub(crate) writing: Writing,
    pub(crate) answers: Vec<Answer>,
    pub(crate) touched: Touched,
    /// How many unsaved stops and holds it holds; theirs are the first answers.
    pub(crate) urgent: usize,
}

/// Whose views a turn changes.
#[derive(Debug, Default)]
pub(crate) struct Touched {
    /// Everyone's: the clock or the plan has changed.
    all: bool,
    /// These people's.
    athletes: BTreeSet<AthleteId>,
}

impl Touched {
    pub(crate) fn everyone() -> Self {
        Self { all: true, ..Self::default() }
    }

    pub(crate) fn is_nobody(&self) -> bool {
        !self.all && self.athletes.is_empty()
    }

    pub(crate) fn is_everyone(&self) -> bool {
        self.all
    }

    pub(crate) fn touches(&self, athlete: AthleteId) -> bool {
        self.all || self.athletes.contains(&athlete)
    }

    /// Whose views an event changes in a class that has taken it over.
    fn by(&mut self, event: &Event, class: &Class) {
        match event {
            Event::Tapped { tap, .. } => self.with_fellows(tap.athlete, class),
            Event::Undone { athlete, .. }
            | Event::ExtraEntered { athlete, .. }
            | Event::TallySet { athlete, .. }
            | Event::Joined { athlete, .. }
            | Event::Settled { athlete, .. }
            | Event::Chose { athlete, .. } => self.with_fellows(*athlete, class),
            // Who counted until now is no longer known.
            Event::CounterSet { .. }
            | Event::Removed { .. }
            | Event::Teamed { .. }
            | Event::Assigned { .. }
            | Event::Opened { .. }
            | Event::Called { .. }
            | Event::TakenBack { .. }
            | Event::Rang { .. }
            | Event::Trimmed { .. }
            | Event::Swapped { .. }
            | Event::Closed => self.all = true,
        }
    }

    /// An athlete's own views, their team's, and those of who counts for them.
    fn with_fellows(&mut self, athlete: AthleteId, class: &Class) {
        self.athletes.insert(athlete);
        self.athletes.extend(class.team_of(athlete).into_iter().flat_map(|(_, team)| team));
        self.athletes.extend(class.athlete(athlete).and_then(Athlete::counter));
    }
}

impl Turn {
    /// Whether there is nothing to write and nobody to answer.
    pub(crate) fn is_empty(&self) -> bool {
        self.writing.is_empty() && self.answers.is_empty()
    }

    /// What was answered to a request in this very turn.
    pub(crate) fn answered(&self, request: RequestId) -> Option<&Result<Yes, No>> {
        self.answers
            .iter()
            .find(|answer| matches!(answer.reply, Reply::Device(_, id) if id == request))
            .map(|answer| &answer.result)
    }
}

impl Working {
    /// Does an errand and keeps its answer in the turn.
    pub(crate) fn perform(&mut self, now: Moment, errand: Errand, turn: &mut Turn) {
        let Errand { by, deed, reply } = errand;
        let result = self.deed(now, by, deed, turn);
        turn.answers.push(Answer { reply, result });
    }

    fn deed(&mut self, now: Moment, by: Actor, deed: Deed, turn: &mut Turn) -> Result<Yes, No> {
        match deed {
            Deed::Command(command) => self.command(now, by, command, turn),
            Deed::ComeIn { who, choice, at_home } => {
                self.come_in(now, by, (who, choice, at_home), turn)
            }
            Deed::ComeByLink(athlete) => {
                let person = self.people.get(athlete).ok_or_else(No::nobody)?;
                let at_home = person.at_home;
                self.command(now, by, Command::Join { athlete, at_home }, turn)?;
                Ok(Yes::Came(athlete))
            }
            Deed::Add { name, at_home, here } => self.add(now, by, (name, at_home, here), turn),
            Deed::Remove(athlete) => self.remove(now, by, athlete, turn),
            Deed::ShowName { athlete, shown } => {
                self.own_only(by, athlete)?;
                self.change(athlete, turn, |person| person.shown = shown)
            }
            Deed::Note { athlete, first_class, told_me } => self.change(athlete, turn, |person| {
                person.first_class = first_class;
                person.told_me = told_me;
            }),
            Deed::Question(text) => {
                let Actor::Athlete { athlete, .. } = by else {
                    return Err(No::new("athlete-only", "Questions are for the coach."));
                };
                self.own_only(by, athlete)?;
                turn.writing.before.push(self.people.ask(athlete, &text)?);
                turn.touched.athletes.insert(athlete);
                Ok(Yes::Done)
            }
            Deed::Answered(number) => {
                let (athlete, record) = self.people.answered(number)?;
                turn.writing.before.push(record);
                turn.touched.athletes.insert(athlete);
                Ok(Yes::Done)
            }
        }
    }

    /// Lets the class decide.
    pub(crate) fn command(
        &mut self,
        now: Moment,
        by: Actor,
        command: Command,
        turn: &mut Turn,
    ) -> Result<Yes, No> {
        for event in self.class.decide(now.house, by, command)? {
            self.happened(now, event, turn);
        }
        Ok(Yes::Done)
    }

    /// Stamps, takes over and keeps for the disk what happened.
    pub(crate) fn happened(&mut self, now: Moment, event: Event, turn: &mut Turn) {
        let stamped = self.class.stamp(now.house, event);
        self.class.apply(&stamped);
        turn.touched.by(&stamped.event, &self.class);
        turn.writing.entries.push(entry(&stamped));
        if stamped.event == Event::Closed {
            self.record.closed = Some(stamped.at);
            turn.writing.after.push(Record::Class(self.record.clone()));
        }
    }

    fn come_in(
        &mut self,
        now: Moment,
        by: Actor,
        (who, choice, at_home): (Newcomer, Option<Choice>, bool),
        turn: &mut Turn,
    ) -> Result<Yes, No> {
        let (athlete, at_home, name) = match who {
            Newcomer::Named(name) => (AthleteId(random_id()), at_home, Some(name)),
            Newcomer::Expected(athlete) => {
                let person = self.people.get(athlete).ok_or_else(No::nobody)?;
                if self.class.athlete(athlete).is_some() {
                    return Err(No::new(
                        "here-already",
                        "Somebody has come in under that name: type yours instead.",
                    ));
                }
                (athlete, at_home || person.at_home, None)
            }
        };
        // Joining and choosing are one deed: neither is recorded unless both can be.
        let by = match by {
            Actor::Athlete { device, .. } => Actor::Athlete { athlete, device },
            other @ (Actor::Coach { .. } | Actor::Tablet { .. }) => other,
        };
        let mut class = self.class.clone();
        let mut events = Vec::new();
        let join = Command::Join { athlete, at_home };
        let choose = choice.map(|choice| Command::Choose { athlete, choice });
        for command in std::iter::once(join).chain(choose) {
            for event in class.decide(now.house, by, command)? {
                class.apply(&class.stamp(now.house, event.clone()));
                events.push(event);
            }
        }
        if let Some(name) = name {
            turn.writing.before.push(self.people.add(athlete, name, at_home)?);
        }
        for event in events {
            self.happened(now, event, turn);
        }
        Ok(Yes::Came(athlete))
    }

    fn add(
        &mut self,
        now: Moment,
        by: Actor,
        (name, at_home, here): (Name, bool, bool),
        turn: &mut Turn,
    ) -> Result<Yes, No> {
        if self.class.closed() {
            return Err(Refusal::Closed.into());
        }
        let athlete = AthleteId(random_id());
        let join = Command::Join { athlete, at_home };
        let events = if here { self.class.decide(now.house, by, join)? } else { Vec::new() };
        turn.writing.before.push(self.people.add(athlete, name, at_home)?);
        turn.touched.athletes.insert(athlete);
        for event in events {
            self.happened(now, event, turn);
        }
        if !at_home {
            return Ok(Yes::Done);
        }
        let token = Token::random();
        turn.writing.before.push(Record::Grant(Grant {
            token: token.hash(),
            holder: Holder::Athlete { class: self.record.id, athlete },
            created: now.wall,
            last_seen: now.wall,
        }));
        Ok(Yes::Link(format!("/#me={token}")))
    }

    fn remove(
        &mut self,
        now: Moment,
        by: Actor,
        athlete: AthleteId,
        turn: &mut Turn,
    ) -> Result<Yes, No> {
        if self.class.athlete(athlete).is_some() {
            self.command(now, by, Command::Remove { athlete }, turn)?;
        } else if self.people.get(athlete).is_none() {
            return Err(No::nobody());
        }
        turn.writing.after.push(self.people.erase(athlete));
        turn.touched.athletes.insert(athlete);
        Ok(Yes::Done)
    }

    fn change(
        &mut self,
        athlete: AthleteId,
        turn: &mut Turn,
        change: impl FnOnce(&mut store::Person),
    ) -> Result<Yes, No> {
        turn.writing.before.push(self.people.change(athlete, change)?);
        turn.touched.athletes.insert(athlete);
        Ok(Yes::Done)
    }

    /// A phone acts for its own athlete, as long as they are in the class.
    fn own_only(&self, by: Actor, whose: AthleteId) -> Result<(), No> {
        match by {
            Actor::Athlete { athlete, .. } if athlete != whose => Err(Refusal::NotYours.into()),
            Actor::Athlete { .. } if self.class.athlete(whose).is_none() => Err(No::nobody()),
            Actor::Tablet { .. } => Err(Refusal::CoachOnly.into()),
            Actor::Athlete { .. } | Actor::Coach { .. } => Ok(()),
        }
    }
}
