//! How one tally came about: each change of it, and everything that was sent, entered or settled for
//! it, whether it changed anything or not. Worked out from the journal, which holds all of it.

use serde::Serialize;

use super::command::{Actor, Call, Counts, Settlement};
use super::event::{Event, Stamped};
use super::{BrokenJournal, Class};
use crate::ids::{AthleteId, SegmentIndex};
use crate::score::{Standing, Tally};
use crate::time::HouseTime;

/// One thing that happened to a tally.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Change {
    /// When it was recorded.
    pub at: HouseTime,
    /// Who did it; nobody for a bell.
    pub by: Option<Actor>,
    /// What.
    pub what: What,
    /// The tally before.
    pub from: Option<Tally>,
    /// The tally after.
    pub to: Option<Tally>,
}

/// What happened.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "what", rename_all = "kebab-case")]
pub enum What {
    /// A tap came.
    Tap {
        /// What it counts.
        counts: Counts,
        /// When it says that it was made.
        made_at: HouseTime,
        /// What it was worth when it came.
        worth: Standing,
    },
    /// A tap was taken back.
    Undo,
    /// Extra reps were entered.
    Entry,
    /// The tally was set outright.
    Set,
    /// A mark was settled.
    Settled {
        /// How.
        settlement: Settlement,
    },
    /// Somebody was called to count, or no longer.
    Counter {
        /// Who counts from then on, if somebody else.
        counter: Option<AthleteId>,
    },
    /// How the athlete does the class was changed.
    Choice {
        /// Whether scaled from then on.
        scaled: bool,
    },
    /// A call to the clock.
    Call {
        /// Which.
        call: Call,
    },
    /// A call was taken back.
    TakenBack,
    /// The plan, the teams or who is in the class were changed.
    Plan,
    /// A bell.
    Bell,
}

/// The history of what an athlete has in one window, oldest first.
///
/// # Errors
/// [`BrokenJournal`] where the events make no class.
pub fn history(
    events: &[Stamped],
    athlete: AthleteId,
    segment: SegmentIndex,
) -> Result<Vec<Change>, BrokenJournal> {
    let mut class = Class::opened(events.first().ok_or(BrokenJournal::NoOpening)?)?;
    let mut changes = Vec::new();
    let mut from = None;
    for stamped in &events[1..] {
        class.apply(stamped);
        let to = class.tally(athlete, segment);
        let about = what(&class, &stamped.event, athlete, segment);
        if about.is_own || from != to {
            changes.push(Change { at: stamped.at, by: about.by, what: about.what, from, to });
        }
        from = to;
    }
    Ok(changes)
}

struct About {
    by: Option<Actor>,
    what: What,
    /// Whether it was done for just this tally.
    is_own: bool,
}

fn what(class: &Class, event: &Event, athlete: AthleteId, segment: SegmentIndex) -> About {
    let own = |whose: &AthleteId, of: &SegmentIndex| *whose == athlete && *of == segment;
    let by = |by: &Actor, what, is_own| About { by: Some(*by), what, is_own };
    let plan = About { by: None, what: What::Plan, is_own: false };
    match event {
        Event::Tapped { tap, by: who, .. } => match class.standing(tap.athlete, tap.id) {
            Some(worth) => {
                let what = What::Tap { counts: tap.counts, made_at: tap.made_at, worth };
                by(who, what, own(&tap.athlete, &tap.segment))
            }
            // Its athlete is no longer in the class.
            None => plan,
        },
        Event::Undone { by: who, .. } => by(who, What::Undo, false),
        Event::ExtraEntered { athlete, segment, by: who, .. } => {
            by(who, What::Entry, own(athlete, segment))
        }
        Event::TallySet { athlete, segment, by: who, .. } => {
            by(who, What::Set, own(athlete, segment))
        }
        Event::Settled { athlete, segment, settlement, by: who } => {
            by(who, What::Settled { settlement: *settlement }, own(athlete, segment))
        }
        Event::CounterSet { counter, by: who, .. } => {
            by(who, What::Counter { counter: *counter }, false)
        }
        Event::Called { by: who, call, .. } => by(who, What::Call { call: *call }, false),
        Event::TakenBack { by: who, .. } => by(who, What::TakenBack, false),
        Event::Chose { choice, .. } => {
            About { what: What::Choice { scaled: choice.scaled }, ..plan }
        }
        Event::Rang { .. } => About { what: What::Bell, ..plan },
        Event::Opened { .. }
        | Event::Joined { .. }
        | Event::Removed { .. }
        | Event::Teamed { .. }
        | Event::Assigned { .. }
        | Event::Trimmed { .. }
        | Event::Swapped { .. }
        | Event::Closed => plan,
    }
}

/// The events that bear on one athlete: what was sent for others is left out, unless they were ever
/// in a team together. A history of these is the same, and sooner worked out.
pub fn bearing_on(events: Vec<Stamped>, athlete: AthleteId) -> Vec<Stamped> {
    let mut fellows = vec![athlete];
    for stamped in &events {
        if let Event::Teamed { teams } = &stamped.event {
            let own = teams.iter().filter(|team| team.contains(&athlete));
            fellows.extend(own.flatten().copied());
        }
    }
    let bears = |stamped: &Stamped| match &stamped.event {
        Event::Tapped { tap, .. } => fellows.contains(&tap.athlete),
        Event::Undone { athlete, .. }
        | Event::ExtraEntered { athlete, .. }
        | Event::TallySet { athlete, .. }
        | Event::Settled { athlete, .. } => fellows.contains(athlete),
        _ => true,
    };
    events.into_iter().filter(bears).collect()
}
