//! What comes of a command. Every bell that is due by `now` comes first, so that a late timer or a
//! call in the same instant changes no recorded or shown bell.

use std::collections::BTreeSet;

use super::clock::Phase;
use super::command::{Actor, Choice, Command, Reached, Settlement, Tap};
use super::event::Event;
use super::refusal::Refusal;
use super::{Athlete, Class, PEOPLE_MAX, SENT_MAX};
use crate::ids::{
    AthleteId, BlockIndex, DeviceId, MovementIndex, OptionIndex, SegmentIndex, TapId,
};
use crate::score::reps::{extra_reps, in_all};
use crate::score::scoring::check_tap;
use crate::score::{Scoring, Tally};
use crate::session::Movement;
use crate::time::HouseTime;

/// A tally tablet has room for so many, with targets of 120 px.
const ASSIGNED_MAX: usize = 12;

impl Class {
    /// The bells that are due by `now`, to be recorded when the shell's timer fires.
    pub fn due(&self, now: HouseTime) -> Vec<Event> {
        self.bells_due(self.phase(), now).1
    }

    /// Follows a phase through its bells up to `now`.
    pub(super) fn bells_due(&self, mut phase: Phase, now: HouseTime) -> (Phase, Vec<Event>) {
        let mut events = Vec::new();
        while let (Some(due), Some(segment)) = (self.plan.bell(&phase), phase.segment()) {
            if due > now {
                break;
            }
            phase = self.plan.past_bell(segment, due);
            events.push(Event::Rang { segment, due, phase });
        }
        (phase, events)
    }

    /// What comes of a command: events to record, none where it was carried out before, or a
    /// refusal. `now` is never before the last event.
    pub fn decide(
        &self,
        now: HouseTime,
        by: Actor,
        command: Command,
    ) -> Result<Vec<Event>, Refusal> {
        let now = now.max(self.last_at());
        let mut events = self.due(now);
        if events.is_empty() {
            return self.carry_out(now, by, command);
        }
        let mut rung = self.clone();
        for bell in &events {
            rung.apply(&rung.stamp(now, bell.clone()));
        }
        events.extend(rung.carry_out(now, by, command)?);
        Ok(events)
    }

    /// What comes of a command once every bell that is due has been taken over.
    fn carry_out(
        &self,
        now: HouseTime,
        by: Actor,
        command: Command,
    ) -> Result<Vec<Event>, Refusal> {
        self.allow(by, &command)?;
        Ok(match command {
            Command::Call { id, .. } | Command::TakeBack { id, .. } if self.knows_request(id) => {
                Vec::new()
            }
            Command::Call { id, call, seen } => self.call(now, by, (id, call, seen))?,
            Command::TakeBack { id, of } => self.take_back_call(now, by, id, of)?,
            Command::Tap { tap, connected_since } => {
                self.tap(by, tap, connected_since)?.into_iter().collect()
            }
            Command::Undo { athlete, of } => self.undo(by, athlete, of)?.into_iter().collect(),
            Command::EnterExtra { athlete, segment, reached } => {
                vec![self.enter_extra(by, athlete, segment, reached)?]
            }
            Command::SetTally { athlete, segment, tally } => {
                vec![self.set_tally(by, athlete, segment, tally)?]
            }
            Command::Join { athlete, .. } if self.athlete(athlete).is_some() => Vec::new(),
            Command::Join { .. } if self.people.len() >= PEOPLE_MAX => {
                return Err(Refusal::Full { most: PEOPLE_MAX });
            }
            Command::Join { athlete, at_home } => vec![Event::Joined { athlete, at_home }],
            Command::Remove { athlete } => {
                self.athlete(athlete).ok_or(Refusal::NoSuchAthlete)?;
                vec![Event::Removed { athlete }]
            }
            Command::LetCount { athlete, counter } => {
                self.let_count(by, athlete, counter)?.into_iter().collect()
            }
            Command::Team { teams } => vec![self.team(teams)?],
            Command::Assign { tablet, athletes } => vec![self.assign(tablet, athletes)?],
            Command::Settle { athlete, segment, settlement } => {
                self.settle(by, athlete, segment, settlement)?.into_iter().collect()
            }
            Command::Choose { athlete, choice } => vec![self.choose(athlete, choice)?],
            Command::Trim { segment, trim } => self.trim(segment, trim)?.into_iter().collect(),
            Command::Swap { block, movement, option } => {
                self.option_exists(block, movement, option)?;
                vec![Event::Swapped { block, movement, option }]
            }
            Command::Close => vec![Event::Closed],
        })
    }

    fn tap(
        &self,
        by: Actor,
        tap: Tap,
        connected_since: HouseTime,
    ) -> Result<Option<Event>, Refusal> {
        let known = self.athlete(tap.athlete).ok_or(Refusal::NoSuchAthlete)?;
        if !self.plan.is_work(tap.segment) {
            return Err(Refusal::NotInSheet("segment of work"));
        }
        check_tap(tap.counts)?;
        if known.sent.has(tap.id) {
            return Ok(None);
        }
        known.room()?;
        Ok(Some(Event::Tapped { tap, by, connected_since }))
    }

    /// A tap that has not come yet is taken back all the same.
    fn undo(&self, by: Actor, athlete: AthleteId, of: TapId) -> Result<Option<Event>, Refusal> {
        let known = self.athlete(athlete).ok_or(Refusal::NoSuchAthlete)?;
        if known.sent.has_undone(of) {
            return Ok(None);
        }
        known.room()?;
        Ok(Some(Event::Undone { athlete, of, by }))
    }

    /// Work that was begun; for phones, work whose bell has gone.
    fn for_result(
        &self,
        by: Actor,
        athlete: AthleteId,
        segment: SegmentIndex,
    ) -> Result<(), Refusal> {
        if !self.plan.is_work(segment) {
            return Err(Refusal::NotInSheet("segment of work"));
        }
        if self.timeline.live_since(segment).is_none() {
            return Err(Refusal::NotNow("This work has not begun."));
        }
        // The coach sets a tally at any time, and so does who counts with a tablet.
        if by.athlete().is_none() {
            return Ok(());
        }
        let phase = self.phase();
        if phase.segment() == Some(segment) && !matches!(phase, Phase::Waiting { .. }) {
            return Err(Refusal::NotNow("The work is still under way: enter it after the bell."));
        }
        self.athlete(athlete).ok_or(Refusal::NoSuchAthlete)?.room()
    }

    fn enter_extra(
        &self,
        by: Actor,
        athlete: AthleteId,
        segment: SegmentIndex,
        reached: Reached,
    ) -> Result<Event, Refusal> {
        self.for_result(by, athlete, segment)?;
        if !matches!(
            self.scoring_of(segment),
            Some(Scoring::Rounds | Scoring::Time { .. } | Scoring::Amount { .. })
        ) {
            return Err(Refusal::NotNow("This piece is scored in another way."));
        }
        let known = self.athlete(athlete).ok_or(Refusal::NoSuchAthlete)?;
        let rounds = known.counted.windows.get(&segment).map_or(0, |window| window.rounds);
        let movement_reps = self.round_reps(&known.choice, segment, rounds);
        let most = *movement_reps
            .get(reached.movement.0 as usize)
            .ok_or(Refusal::NotInSheet("movement in this piece"))?;
        let reps = extra_reps(&movement_reps, reached).ok_or(Refusal::OutOfRange {
            what: "Reps of this movement",
            least: 0,
            most: most.into(),
        })?;
        let of_round = in_all(movement_reps);
        Ok(Event::ExtraEntered { athlete, segment, reps, of_round, by })
    }

    fn set_tally(
        &self,
        by: Actor,
        athlete: AthleteId,
        segment: SegmentIndex,
        to: Tally,
    ) -> Result<Event, Refusal> {
        self.for_result(by, athlete, segment)?;
        self.scoring_of(segment).ok_or(Refusal::NotInSheet("piece"))?.check(to)?;
        Ok(Event::TallySet { athlete, segment, from: self.tally(athlete, segment), to, by })
    }

    /// Hands the count for an athlete over, to somebody else or back.
    fn let_count(
        &self,
        by: Actor,
        athlete: AthleteId,
        counter: Option<AthleteId>,
    ) -> Result<Option<Event>, Refusal> {
        let counter = counter.filter(|counter| *counter != athlete);
        if let Some(counter) = counter {
            self.athlete(counter).ok_or(Refusal::NoSuchAthlete)?;
        }
        let known = self.athlete(athlete).ok_or(Refusal::NoSuchAthlete)?;
        known.room()?;
        Ok((known.counter() != counter).then_some(Event::CounterSet { athlete, counter, by }))
    }

    fn team(&self, mut teams: Vec<Vec<AthleteId>>) -> Result<Event, Refusal> {
        teams.retain(|team| !team.is_empty());
        let mut seen = BTreeSet::new();
        for &member in teams.iter().flatten() {
            self.athlete(member).ok_or(Refusal::NoSuchAthlete)?;
            if !seen.insert(member) {
                return Err(Refusal::NotNow("Each person is in one team: take them out of one."));
            }
        }
        Ok(Event::Teamed { teams })
    }

    fn assign(&self, tablet: DeviceId, athletes: Vec<AthleteId>) -> Result<Event, Refusal> {
        if athletes.len() > ASSIGNED_MAX {
            return Err(Refusal::NotNow("A tally tablet counts for up to 12: take some off it."));
        }
        for &athlete in &athletes {
            self.athlete(athlete).ok_or(Refusal::NoSuchAthlete)?;
        }
        Ok(Event::Assigned { tablet, athletes })
    }

    fn settle(
        &self,
        by: Actor,
        athlete: AthleteId,
        segment: SegmentIndex,
        settlement: Settlement,
    ) -> Result<Option<Event>, Refusal> {
        self.athlete(athlete).ok_or(Refusal::NoSuchAthlete)?;
        if !self.plan.is_work(segment) {
            return Err(Refusal::NotInSheet("segment of work"));
        }
        let Settlement::Tap { tap, counts } = settlement else {
            return Ok(Some(Event::Settled { athlete, segment, settlement, by }));
        };
        // A mark of a shared tally stands with each of the team, whoever tapped.
        let team = self.team_of(athlete).map_or(&[][..], |(_, team)| team);
        let (athlete, sent) = std::iter::once(&athlete)
            .chain(team)
            .filter_map(|id| Some((*id, &self.athlete(*id)?.sent)))
            .find(|(_, sent)| sent.has(tap))
            .ok_or(Refusal::NotNow("This tap has not come: it may be on its way."))?;
        let event = Event::Settled { athlete, segment, settlement, by };
        Ok((sent.settled(tap) != Some(counts)).then_some(event))
    }

    fn choose(&self, athlete: AthleteId, mut choice: Choice) -> Result<Event, Refusal> {
        for chosen in &choice.options {
            self.option_exists(chosen.block, chosen.movement, Some(chosen.option))?;
        }
        // One option for a movement: the last one given.
        choice.options.reverse();
        choice.options.sort_by_key(|chosen| (chosen.block, chosen.movement));
        choice.options.dedup_by_key(|chosen| (chosen.block, chosen.movement));
        choice.scaled |= !choice.options.is_empty();
        Ok(Event::Chose { athlete, choice })
    }

    fn option_exists(
        &self,
        block: BlockIndex,
        movement: MovementIndex,
        option: Option<OptionIndex>,
    ) -> Result<(), Refusal> {
        let movement: &Movement = self
            .session
            .blocks
            .get(block.0 as usize)
            .and_then(|block| block.movements.get(movement.0 as usize))
            .ok_or(Refusal::NotInSheet("movement"))?;
        match option {
            Some(option) if movement.options.get(option.0 as usize).is_none() => {
                Err(Refusal::NotInSheet("option"))
            }
            _ => Ok(()),
        }
    }
}

impl Athlete {
    /// Whether one more thing can be kept for them.
    fn room(&self) -> Result<(), Refusal> {
        if self.sent.how_many() < SENT_MAX {
            Ok(())
        } else {
            Err(Refusal::NotNow("This athlete has more taps than a class can hold."))
        }
    }
}
