//! One running of a session: [`Class::decide`] turns a command into events, [`Class::apply`] turns
//! events into state. The shell stamps the events, writes them to the journal, and only then shows
//! what came of them.
//!
//! The state is the plan, the time line of the clock and what was sent for each athlete; what taps
//! are worth is worked out from these, never stored.

mod call;
pub mod clock;
pub mod command;
mod decide;
pub mod event;
mod floor;
pub mod history;
mod people;
mod placing;
pub mod refusal;
mod rights;
pub(crate) mod timeline;
mod trim;
mod view;

use std::collections::{BTreeMap, BTreeSet};

use self::clock::{Clock, Phase, Plan};
use self::command::Chosen;
use self::event::{Event, Stamped};
pub use self::people::Athlete;
use self::people::Tablet;
use self::timeline::{Cause, Timeline};
use crate::ids::{
    AthleteId, BlockIndex, DeviceId, MovementIndex, OptionIndex, RequestId, SegmentIndex, Seq,
    TapId,
};
use crate::score::{Standing, Tally};
use crate::session::Session;
use crate::session::layout::{self, Segment};
use crate::time::{HouseTime, Span};

/// The lead-in after a hold of work, unless the house sets another *(cp)*.
pub const RESUME_LEAD_IN: Span = Span::from_secs(10);

/// People in one class at most: three times the largest class there is a floor for.
pub const PEOPLE_MAX: usize = 200;

/// Taps, undos and entries that are kept for one athlete at most: ten a second for a quarter of an
/// hour.
pub const SENT_MAX: usize = 9_000;

/// One running of a session.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Class {
    session: Session,
    /// The segments as the sheet has them; the plan may have been trimmed since.
    as_written: Vec<Segment>,
    plan: Plan,
    swaps: BTreeMap<(BlockIndex, MovementIndex), OptionIndex>,
    resume_lead_in: Span,
    timeline: Timeline,
    /// In the order in which they came.
    people: Vec<(AthleteId, Athlete)>,
    /// Who was taken out: what they did for their team stays.
    gone: BTreeMap<AthleteId, Athlete>,
    /// Who shares a tally in pieces for teams, in the order in which they take turns.
    teams: Vec<Vec<AthleteId>>,
    tablets: BTreeMap<DeviceId, Tablet>,
    /// Requests that were carried out: asked again, they are answered and change nothing.
    carried_out: BTreeSet<RequestId>,
    closed: bool,
    last: (Seq, HouseTime),
}

/// A journal that no class can be rebuilt from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BrokenJournal {
    /// It does not begin with the opening of a class.
    NoOpening,
    /// A number is missing or stands twice.
    Gap {
        /// The number that should have come.
        expected: Seq,
        /// The number that came.
        found: Seq,
    },
}

impl core::fmt::Display for BrokenJournal {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::NoOpening => {
                f.write_str("the journal does not begin with the opening of a class")
            }
            Self::Gap { expected, found } => {
                write!(f, "the journal has event {found} where event {expected} should be")
            }
        }
    }
}

impl std::error::Error for BrokenJournal {}

impl Class {
    /// The event that opens a class.
    pub fn opening(session: Session) -> Event {
        let segments = layout::segments(&session);
        Event::Opened { session: Box::new(session), segments, resume_lead_in: RESUME_LEAD_IN }
    }

    /// The class as its opening leaves it.
    pub fn opened(opening: &Stamped) -> Result<Self, BrokenJournal> {
        let Event::Opened { session, segments, resume_lead_in } = &opening.event else {
            return Err(BrokenJournal::NoOpening);
        };
        if opening.seq != Seq(1) {
            return Err(BrokenJournal::Gap { expected: Seq(1), found: opening.seq });
        }
        Ok(Self {
            session: Session::clone(session),
            as_written: segments.clone(),
            plan: Plan::new(segments.clone()),
            swaps: BTreeMap::new(),
            resume_lead_in: *resume_lead_in,
            timeline: Timeline::opened(opening.at),
            people: Vec::new(),
            gone: BTreeMap::new(),
            teams: Vec::new(),
            tablets: BTreeMap::new(),
            carried_out: BTreeSet::new(),
            closed: false,
            last: (opening.seq, opening.at),
        })
    }

    /// Rebuilds a class from its journal.
    pub fn replay(events: impl IntoIterator<Item = Stamped>) -> Result<Self, BrokenJournal> {
        let mut events = events.into_iter();
        let mut class = Self::opened(&events.next().ok_or(BrokenJournal::NoOpening)?)?;
        for stamped in events {
            let expected = Seq(class.last.0.0 + 1);
            if stamped.seq != expected {
                return Err(BrokenJournal::Gap { expected, found: stamped.seq });
            }
            class.apply(&stamped);
        }
        Ok(class)
    }

    /// Gives an event its place in the journal. The class must be as the event before left it.
    pub fn stamp(&self, now: HouseTime, event: Event) -> Stamped {
        let (seq, at) = self.last;
        Stamped { seq: Seq(seq.0 + 1), at: now.max(at), event }
    }

    /// Takes over what happened.
    pub fn apply(&mut self, stamped: &Stamped) {
        self.last = (stamped.seq, stamped.at);
        match &stamped.event {
            // Only ever the first event, which `opened` has taken.
            Event::Opened { .. } => {}
            Event::Called { id, by, at, call, phase, stopped, repeats } => {
                let cause = Cause::Call { id: *id, by: *by, call: *call };
                self.timeline.called(*at, cause, (*phase, *stopped), *repeats);
                self.carried_out.insert(*id);
                self.count_all();
            }
            Event::TakenBack { id, of, .. } => {
                self.timeline.take_back(*of);
                self.carried_out.insert(*id);
                self.count_all();
            }
            Event::Rang { segment, due, phase } => {
                self.timeline.rang(*segment, *due, *phase);
                self.count_all();
            }
            Event::Trimmed { segments } => {
                for (index, segment) in segments {
                    self.plan.replace(*index, segment.clone());
                }
                self.count_all();
            }
            Event::Swapped { block, movement, option } => {
                match option {
                    Some(option) => self.swaps.insert((*block, *movement), *option),
                    None => self.swaps.remove(&(*block, *movement)),
                };
            }
            Event::Closed => {
                self.timeline.closed(stamped.at);
                self.closed = true;
                self.count_all();
            }
            Event::Joined { .. }
            | Event::Removed { .. }
            | Event::Tapped { .. }
            | Event::Undone { .. }
            | Event::ExtraEntered { .. }
            | Event::TallySet { .. }
            | Event::Chose { .. }
            | Event::CounterSet { .. }
            | Event::Teamed { .. }
            | Event::Assigned { .. }
            | Event::Settled { .. } => self.apply_to_people(stamped),
        }
    }

    /// The class clock.
    pub fn clock(&self) -> Clock {
        self.timeline.clock()
    }

    fn phase(&self) -> Phase {
        self.timeline.last().phase
    }

    /// The segments, trimmed ones included.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// The session that the class runs.
    pub fn session(&self) -> &Session {
        &self.session
    }

    /// Movements that everyone does another way.
    pub fn swaps(&self) -> Vec<Chosen> {
        self.swaps
            .iter()
            .map(|(&(block, movement), &option)| Chosen { block, movement, option })
            .collect()
    }

    /// When the first segment began.
    pub fn started(&self) -> Option<HouseTime> {
        self.timeline.started()
    }

    /// Whether the class is closed for good.
    pub fn closed(&self) -> bool {
        self.closed
    }

    /// The stamp of the last event: nothing recorded later may be dated earlier.
    pub fn last_at(&self) -> HouseTime {
        self.last.1
    }

    /// When the shell is to ask [`Class::due`] again, if ever by itself.
    pub fn next_deadline(&self) -> Option<HouseTime> {
        self.plan.bell(&self.phase())
    }

    /// Whether a request was carried out already.
    pub fn knows_request(&self, id: RequestId) -> bool {
        self.carried_out.contains(&id)
    }

    /// Everyone in the class, in the order in which they came.
    pub fn people(&self) -> impl Iterator<Item = (AthleteId, &Athlete)> {
        self.people.iter().map(|(id, athlete)| (*id, athlete))
    }

    /// One person.
    pub fn athlete(&self, id: AthleteId) -> Option<&Athlete> {
        self.people.iter().find(|(athlete, _)| *athlete == id).map(|(_, athlete)| athlete)
    }

    /// What a tap is worth, if it was received.
    pub fn standing(&self, athlete: AthleteId, tap: TapId) -> Option<Standing> {
        self.athlete(athlete)?.counted.standings.get(&tap).cloned()
    }

    /// What one athlete has in one window of work.
    pub fn tally(&self, athlete: AthleteId, segment: SegmentIndex) -> Option<Tally> {
        let window = self.athlete(athlete)?.counted.windows.get(&segment)?;
        self.scoring_of(segment)?.tally(window)
    }
}
