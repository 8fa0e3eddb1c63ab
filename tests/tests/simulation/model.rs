//! What the taps of a journal are worth, worked out once more and plainly: no state is kept up to
//! date here, everything is read off the whole journal at its end.
//!
//! The floor is a list of spells, each with what the clock did. Every time that a segment is begun
//! anew it is another attempt, and only its last attempt counts. A tap belongs to the work that ran
//! when it was made, or to the work that it names, if that stopped no more than 2 s before. In the work
//! that pairs share, everything of a team counts for each of them.

use std::collections::{BTreeMap, BTreeSet};

use floorbell_core::class::clock::Phase;
use floorbell_core::class::command::{Counts, Tap};
use floorbell_core::class::event::{Event, Repeats, Stamped};
use floorbell_core::ids::{AthleteId, DeviceId, RequestId, SegmentIndex, TapId};
use floorbell_core::score::Tally;
use floorbell_core::time::{HouseTime, Span};

/// The segments of work of the simulation's sheet.
pub(crate) const WORK: [SegmentIndex; 2] = [SegmentIndex(1), SegmentIndex(3)];
/// The one that teams share.
const SHARED: SegmentIndex = WORK[1];
/// Rule 3.3.
const JUST_AFTER: Span = Span::from_secs(2);
/// Rule 3.6.
const ONE_TOUCH: Span = Span::from_millis(400);
/// Rule 3.6.
const ONE_ROUND: Span = Span::from_secs(5);

/// What the clock did from an instant on.
struct Spell {
    from: HouseTime,
    phase: Phase,
    call: Option<RequestId>,
    repeats: Option<Repeats>,
    /// Which attempt each segment is at.
    attempts: BTreeMap<SegmentIndex, u32>,
}

/// Which attempt at which segment.
type Attempt = (SegmentIndex, u32);

/// What one athlete has in one window.
#[derive(Debug, Default, PartialEq, Eq)]
pub(crate) struct Window {
    pub(crate) rounds: Option<u32>,
    /// Those of the athlete's own taps that count.
    pub(crate) taps: BTreeSet<TapId>,
}

pub(crate) struct Model {
    spells: Vec<Spell>,
}

impl Model {
    pub(crate) fn new(journal: &[Stamped]) -> Self {
        let mut spells: Vec<Spell> = Vec::new();
        let spell = |from, phase, call, repeats| {
            let attempts = BTreeMap::new();
            Spell { from, phase, call, repeats, attempts }
        };
        let mut gone = BTreeSet::new();
        for Stamped { at, event, .. } in journal {
            match event {
                Event::Opened { .. } => spells.push(spell(*at, Phase::Gathering, None, None)),
                Event::Called { id, at, phase, repeats, .. } => {
                    let known = spells.iter().any(|spell| spell.call == Some(*id));
                    assert!(!known && !gone.contains(id), "{id} was called twice");
                    spells.push(spell(*at, *phase, Some(*id), *repeats));
                }
                Event::Rang { due, phase, .. } => spells.push(spell(*due, *phase, None, None)),
                Event::Closed => spells.push(spell(*at, Phase::Done, None, None)),
                Event::TakenBack { of, .. } => {
                    let never = spells.iter().position(|spell| spell.call == Some(*of));
                    spells.truncate(never.expect("a call that was made is taken back"));
                    gone.insert(*of);
                }
                _ => {}
            }
        }
        let mut attempts = BTreeMap::new();
        let mut before = None;
        for spell in &mut spells {
            let segment = spell.phase.segment();
            let entered = segment.filter(|_| segment != before);
            for work in WORK {
                if entered == Some(work) || spell.repeats.is_some_and(|it| it.covers(work)) {
                    *attempts.entry(work).or_default() += 1;
                }
            }
            spell.attempts.clone_from(&attempts);
            before = segment;
        }
        Self { spells }
    }

    /// The attempt at work that ran in a spell at an instant.
    fn ran(&self, spell: usize, at: HouseTime) -> Option<Attempt> {
        let Spell { phase, attempts, .. } = &self.spells[spell];
        match *phase {
            Phase::Running { segment, anchor, .. } if anchor <= at => {
                Some((segment, *attempts.get(&segment)?))
            }
            _ => None,
        }
    }

    /// What work a tap belongs to that names a segment and was made at an instant.
    fn place(&self, named: SegmentIndex, at: HouseTime) -> Option<Attempt> {
        let here = self.spells.iter().rposition(|spell| spell.from <= at)?;
        // The last time up to then that the named work stopped, if that is not long ago.
        let stopped = (1..=here).rev().find_map(|spell| {
            let since = self.spells[spell].from;
            let before = self.ran(spell - 1, since).filter(|(segment, _)| *segment == named)?;
            let goes_on = self.ran(spell, since).is_some_and(|(segment, _)| segment == named);
            (!goes_on && at - since <= JUST_AFTER).then_some(before)
        });
        match self.ran(here, at) {
            Some((segment, attempt)) if segment == named || stopped.is_none() => {
                Some((segment, attempt))
            }
            _ => stopped,
        }
    }

    fn counts(&self, (segment, attempt): Attempt) -> bool {
        let last = self.spells.last().and_then(|spell| spell.attempts.get(&segment));
        last == Some(&attempt)
    }

    /// When the attempt at a segment that counts began.
    fn began(&self, segment: SegmentIndex) -> Option<HouseTime> {
        let began = self.spells.iter().find(|spell| {
            let attempt = spell.attempts.get(&segment);
            spell.phase.segment() == Some(segment)
                && attempt.is_some_and(|&attempt| self.counts((segment, attempt)))
        });
        began.map(|spell| spell.from)
    }

    /// What an athlete has in the windows of work.
    pub(crate) fn windows(
        &self,
        journal: &[Stamped],
        athlete: AthleteId,
    ) -> BTreeMap<SegmentIndex, Window> {
        let team = team_of(journal, athlete);
        let mut windows: BTreeMap<_, _> =
            WORK.into_iter().map(|work| (work, Window::default())).collect();
        let is_for = |whose: AthleteId, segment: SegmentIndex| {
            whose == athlete || (segment == SHARED && team.contains(&whose))
        };
        let mut set_at = BTreeMap::new();
        let mut undone = BTreeSet::new();
        let mut taps: Vec<(HouseTime, &Tap, DeviceId)> = Vec::new();
        for Stamped { at, event, .. } in journal {
            match event {
                Event::Tapped { tap, by, .. } if team.contains(&tap.athlete) => {
                    taps.push((tap.made_at.min(*at), tap, by.device()));
                }
                Event::Undone { athlete: whose, of, .. } if team.contains(whose) => {
                    undone.insert(*of);
                }
                Event::TallySet { athlete: whose, segment, to, .. }
                    if is_for(*whose, *segment)
                        && self.began(*segment).is_some_and(|it| it < *at) =>
                {
                    let Tally::Rounds { rounds, .. } = to else { panic!("not rounds: {to:?}") };
                    set_at.insert(*segment, *at);
                    windows.entry(*segment).or_default().rounds = Some(*rounds);
                }
                _ => {}
            }
        }
        taps.sort_by_key(|(at, tap, _)| (*at, tap.made_at, tap.id));
        let mut last_touch: BTreeMap<DeviceId, HouseTime> = BTreeMap::new();
        let mut last_shared: Option<(HouseTime, DeviceId)> = None;
        for (at, tap, device) in taps.into_iter().filter(|(_, tap, _)| !undone.contains(&tap.id)) {
            let placed = self.place(tap.segment, at).filter(|&attempt| self.counts(attempt));
            let Some((segment, _)) = placed else { continue };
            if !is_for(tap.athlete, segment) {
                continue;
            }
            if tap.counts == Counts::Round {
                let one = last_touch.get(&device).is_some_and(|&last| {
                    (tap.made_at - last).as_micros().abs() < ONE_TOUCH.as_micros()
                });
                if one {
                    continue;
                }
                last_touch.insert(device, tap.made_at);
            }
            if set_at.get(&segment).is_some_and(|&set| at <= set) {
                continue;
            }
            if segment == SHARED && team.len() > 1 && tap.counts == Counts::Round {
                if last_shared.is_some_and(|(last, by)| by != device && at - last < ONE_ROUND) {
                    continue;
                }
                last_shared = Some((at, device));
            }
            let window = windows.entry(segment).or_default();
            window.rounds = Some(window.rounds.unwrap_or(0) + 1);
            if tap.athlete == athlete {
                window.taps.insert(tap.id);
            }
        }
        windows
    }
}

/// An athlete with those of their team.
fn team_of(journal: &[Stamped], athlete: AthleteId) -> Vec<AthleteId> {
    let teams = journal.iter().rev().find_map(|stamped| match &stamped.event {
        Event::Teamed { teams } => Some(teams),
        _ => None,
    });
    let team = teams.and_then(|teams| teams.iter().find(|team| team.contains(&athlete)));
    team.cloned().unwrap_or_else(|| vec![athlete])
}
