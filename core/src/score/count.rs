//! From the taps of one athlete or team to what each window of work has counted.
//!
//! Taps are gone through in the order in which they were made, whatever the order in which they
//! came; each gets its standing, and the rounds that they finish give splits. In a piece that a team
//! shares, the taps of all its members are gone through together.

use std::collections::{BTreeMap, BTreeSet};

use super::sent::{Entered, Entry, Fact, Order, Sent};
use super::splits::Rounds;
use super::window::{Attempt, Marked, Odd, WindowCount};
use super::{Mark, Scoring, Standing, Tally, WhyNot};
use crate::class::command::Counts;
use crate::class::timeline::Placed;
use crate::ids::{AthleteId, DeviceId, Revision, SegmentIndex, TapId};
use crate::time::{HouseTime, Span};

/// Two taps of one device for a round within this are one (rule 3.6).
pub const TWICE_WITHIN: Span = Span::from_millis(400);

/// A round tapped on another phone of the team within this of one is the same round *(cp)*
/// (rule 3.6).
pub const TEAM_WITHIN: Span = Span::from_secs(5);

/// A tally this many times what the sheet expects at most is marked. Our own choice: the fittest do
/// half as much again.
const FAR_OVER: f64 = 1.5;

/// Rounds, or the share of an amount, by which an entry may differ from what somebody else counted.
/// Our own choice.
const NEAR_ROUNDS: u32 = 1;
const NEAR_SHARE: f64 = 0.1;

/// What came of everything that was sent for one athlete, and what it takes to go on from there.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Counted {
    /// Each tap's standing.
    pub standings: BTreeMap<TapId, Standing>,
    /// Each window that has something in it.
    pub windows: BTreeMap<SegmentIndex, WindowCount>,
    /// When each window's tally was last set: it covers the taps made up to then.
    set_at: BTreeMap<SegmentIndex, HouseTime>,
    /// Windows that the athlete set by hand, with what was counted before.
    by_hand: BTreeMap<SegmentIndex, Option<Tally>>,
    /// Windows whose tally the coach has looked at.
    stands: BTreeSet<SegmentIndex>,
    /// Windows in which somebody else's phone counted for the athlete.
    by_others: BTreeSet<SegmentIndex>,
    rounds: BTreeMap<SegmentIndex, Rounds>,
    last_of_device: BTreeMap<DeviceId, HouseTime>,
    last_of_team: Option<(HouseTime, DeviceId)>,
    /// The last of the taps that were gone through.
    last: Option<Order>,
}

/// What the count needs to know of the class.
pub(crate) trait Floor {
    /// Where an instant lies on the class's time line.
    fn place(&self, named: SegmentIndex, at: HouseTime) -> Placed;
    /// The class time of the run of a window that counts, as it was at an instant or at its end.
    fn class_time_of(&self, segment: SegmentIndex, at: HouseTime) -> Option<Span>;
    /// When the run of a window that counts began.
    fn live_since(&self, segment: SegmentIndex) -> Option<HouseTime>;
    /// How a window is counted, if it belongs to a piece.
    fn scoring(&self, segment: SegmentIndex) -> Option<Scoring>;
    /// Whether a team shares the tally of a window.
    fn is_shared(&self, segment: SegmentIndex) -> bool;
    /// How long a round of a window should take, where the sheet says.
    fn expected_round(&self, segment: SegmentIndex) -> Option<Span>;
    /// The most rounds that the sheet expects of a window, where it says.
    fn expected_most(&self, segment: SegmentIndex) -> Option<u32>;
    /// Reps of the first rounds of a window together, as an athlete does them.
    fn reps_of_rounds(&self, athlete: AthleteId, segment: SegmentIndex, rounds: u32) -> u32;
}

/// For whom is counted.
pub(crate) struct Party<'a> {
    /// The athlete.
    pub(crate) athlete: AthleteId,
    /// What was sent for them, and for the others of their team.
    pub(crate) sent: Vec<(AthleteId, &'a Sent)>,
    /// Since when somebody else counts for them, and who; or nobody again.
    pub(crate) counters: &'a [(HouseTime, Option<AthleteId>)],
    /// Since when they do the class scaled, or as written again.
    pub(crate) scaled: &'a [(HouseTime, bool)],
}

/// What stands last at an instant. What was changed in that very instant was another way in it.
pub(crate) fn at_instant<T: Copy + Default>(history: &[(HouseTime, T)], at: HouseTime) -> T {
    history.iter().rev().find(|(since, _)| *since < at).map(|(_, it)| *it).unwrap_or_default()
}

/// Works out what everything that was sent for a party is worth.
pub(crate) fn count(party: &Party<'_>, floor: &impl Floor) -> Counted {
    let mut count = Count { party, floor, counted: Counted::of_entries(party, floor) };
    for (owner, sent, fact) in party.facts() {
        count.take(owner, sent, fact);
    }
    let windows: Vec<SegmentIndex> = count.counted.windows.keys().copied().collect();
    for segment in windows {
        count.look_over(segment);
    }
    count.counted
}

/// The same where all but one tap was gone through before, if that is the last of them: as most are
/// that come while work goes on. None otherwise.
pub(crate) fn count_on(
    counted: &mut Counted,
    party: &Party<'_>,
    floor: &impl Floor,
    tap: TapId,
) -> Option<()> {
    let [(owner, sent)] = party.sent[..] else { return None };
    let (order, fact) = sent.taps.last_key_value()?;
    if fact.tap.id != tap || counted.last.is_some_and(|last| last >= *order) {
        return None;
    }
    let mut count = Count { party, floor, counted: std::mem::take(counted) };
    let segment = count.take(owner, sent, fact)?;
    count.look_over(segment);
    *counted = count.counted;
    Some(())
}

impl<'a> Party<'a> {
    /// All taps in order.
    fn facts(&self) -> Vec<(AthleteId, &'a Sent, &'a Fact)> {
        let of = |&(owner, sent): &(AthleteId, &'a Sent)| {
            sent.taps.iter().map(move |(order, fact)| (*order, (owner, sent, fact)))
        };
        let mut all: Vec<_> = self.sent.iter().flat_map(of).collect();
        if self.sent.len() > 1 {
            all.sort_unstable_by_key(|(order, _)| *order);
        }
        all.into_iter().map(|(_, fact)| fact).collect()
    }

    /// The entries of the runs that count, in order. What was entered in the very instant at which
    /// a run began was entered for the one before.
    fn entries(&self, floor: &impl Floor) -> Vec<&'a Entry> {
        let mut all: Vec<_> = self
            .sent
            .iter()
            .flat_map(|&(owner, sent)| sent.entries.iter().map(move |entry| (owner, entry)))
            .filter(|(owner, entry)| *owner == self.athlete || floor.is_shared(entry.segment))
            .map(|(_, entry)| entry)
            .filter(|entry| floor.live_since(entry.segment).is_some_and(|since| entry.at > since))
            .collect();
        all.sort_by_key(|entry| entry.seq);
        all
    }

    fn is_settled(&self, tap: TapId) -> bool {
        self.sent.iter().any(|(_, sent)| sent.settled(tap) == Some(true))
    }

    /// Whether one phone may count for an athlete at an instant: one counter at a time.
    fn may_count(&self, by: Option<AthleteId>, at: HouseTime) -> bool {
        let Some(by) = by else { return true };
        by == at_instant(self.counters, at).unwrap_or(self.athlete)
    }
}

impl Counted {
    /// The windows as the entries alone have them.
    fn of_entries(party: &Party<'_>, floor: &impl Floor) -> Self {
        let mut counted = Self::default();
        for entry in party.entries(floor) {
            let segment = entry.segment;
            let window = counted.windows.entry(segment).or_default();
            match entry.entered {
                Entered::Tally { to, from, by_hand } => {
                    *window = WindowCount::set_to(to, at_instant(party.scaled, entry.at));
                    counted.set_at.insert(segment, entry.at);
                    counted.by_hand.remove(&segment);
                    if by_hand && from != Some(to) {
                        counted.by_hand.insert(segment, from);
                    }
                }
                Entered::Extra { reps, of_round } => {
                    (window.extra, window.of_round) = (reps, Some(of_round));
                    window.set = None;
                    window.entered = true;
                }
                Entered::Stands => {
                    counted.by_hand.remove(&segment);
                    counted.stands.insert(segment);
                }
            }
        }
        counted
    }
}

/// A count under way.
struct Count<'p, 'a, F> {
    party: &'p Party<'a>,
    floor: &'p F,
    counted: Counted,
}

impl<F: Floor> Count<'_, '_, F> {
    /// Takes the next tap; says in which window, unless it is none of the athlete's.
    fn take(&mut self, owner: AthleteId, sent: &Sent, fact: &Fact) -> Option<SegmentIndex> {
        self.counted.last = Some(fact.order());
        let (tap, at) = (&fact.tap, fact.instant());
        let placed = self.floor.place(tap.segment, at);
        let segment = match placed {
            Placed::Work { segment, .. } => segment,
            Placed::Elsewhere { .. } => tap.segment,
        };
        if owner != self.party.athlete && !self.floor.is_shared(segment) {
            return None;
        }
        if fact.by.is_some_and(|by| by != self.party.athlete) {
            self.counted.by_others.insert(segment);
        }
        let standing = match (placed, sent.settled(tap.id)) {
            _ if sent.has_undone(tap.id) => not_counted(WhyNot::Undone),
            (_, Some(false)) => not_counted(WhyNot::Settled),
            (_, Some(true)) => match self.floor.class_time_of(segment, at) {
                Some(class_time) => self.counts(segment, class_time, fact, None),
                None => not_counted(WhyNot::Repeated),
            },
            (Placed::Elsewhere { why, since }, None) => outside(why, since, tap.heard),
            (Placed::Work { at: class_time, mark, .. }, None) => {
                match self.why_not(segment, at, fact) {
                    Some(not) => not,
                    None => self.counts(segment, class_time, fact, mark),
                }
            }
        };
        if standing.is_marked() {
            let mark = Marked::Tap { tap: tap.id, worth: standing.clone(), made_at: tap.made_at };
            self.counted.windows.entry(segment).or_default().marked.push(mark);
        }
        self.counted.standings.insert(tap.id, standing);
        Some(segment)
    }

    /// Why a tap in work that counts does not count, if it does not.
    fn why_not(&mut self, segment: SegmentIndex, at: HouseTime, fact: &Fact) -> Option<Standing> {
        let counts = fact.tap.counts;
        if !self.floor.scoring(segment).is_some_and(|scoring| scoring.takes(counts)) {
            return Some(not_counted(WhyNot::NotThisWay));
        }
        let shared = self.floor.is_shared(segment);
        if !shared && !self.party.may_count(fact.by, at) {
            return Some(Standing::NotCounted { why: WhyNot::OtherCounts, marked: true });
        }
        if counts == Counts::Round && twice(fact, &mut self.counted.last_of_device) {
            return Some(not_counted(WhyNot::Twice));
        }
        if self.counted.set_at.get(&segment).is_some_and(|&set| at <= set) {
            return Some(not_counted(WhyNot::SetSince));
        }
        if shared && counts == Counts::Round {
            let before = self.counted.last_of_team;
            if before.is_some_and(|(last, device)| device != fact.device && at - last < TEAM_WITHIN)
            {
                return Some(Standing::NotCounted { why: WhyNot::TeamMate, marked: true });
            }
            self.counted.last_of_team = Some((at, fact.device));
        }
        None
    }

    /// Counts a tap at a class time of a window.
    fn counts(
        &mut self,
        segment: SegmentIndex,
        at: Span,
        fact: &Fact,
        mark: Option<Mark>,
    ) -> Standing {
        let (counts, instant) = (fact.tap.counts, fact.instant());
        let Some(scoring) = self.floor.scoring(segment).filter(|it| it.takes(counts)) else {
            return not_counted(WhyNot::NotThisWay);
        };
        let window = self.counted.windows.entry(segment).or_default();
        let once = match scoring {
            Scoring::Made => window.rounds > 0 || window.set.is_some(),
            _ => counts == Counts::Finish && window.finished.is_some(),
        };
        if once {
            return not_counted(WhyNot::Already);
        }
        let mut quick = false;
        match (counts, scoring) {
            (Counts::Round | Counts::RoundBefore, Scoring::Amount { step, .. }) => {
                window.add_amount(at, step);
            }
            (Counts::Amount { amount }, _) => window.add_amount(at, amount),
            (Counts::Round | Counts::RoundBefore, _) => {
                window.rounds += 1;
                window.as_written += u32::from(!at_instant(self.party.scaled, instant));
                let set = self.counted.set_at.contains_key(&segment);
                let expected = || Rounds::new(self.floor.expected_round(segment), set);
                let rounds = self.counted.rounds.entry(segment).or_insert_with(expected);
                if counts == Counts::Round {
                    quick = rounds.finished(at) && scoring != Scoring::Made;
                } else {
                    rounds.caught_up(at);
                }
            }
            (Counts::Finish, _) => window.finished = Some(at),
            (Counts::Attempt { grams, good }, _) => {
                window.attempts.push(Attempt { tap: fact.tap.id, grams, good });
            }
        }
        window.last = Some(at);
        window.last_at = Some(instant);
        window.last_tap = Some(fact.tap.id);
        window.last_by = fact.by;
        let wrong_date = fact
            .is_ahead_of_time()
            .then_some(Mark::AheadOfTime)
            .or(fact.is_backdated().then_some(Mark::Backdated));
        let settled = self.party.is_settled(fact.tap.id);
        let mark = wrong_date.or(mark).or(quick.then_some(Mark::Quick)).filter(|_| !settled);
        Standing::Counted { at, mark }
    }

    /// Works out what follows from all the taps of a window.
    fn look_over(&mut self, segment: SegmentIndex) {
        let Counted { windows, rounds, by_hand, by_others, stands, .. } = &mut self.counted;
        let window = windows.entry(segment).or_default();
        if let Some(rounds) = rounds.get(&segment) {
            window.splits.clone_from(&rounds.splits);
        }
        let athlete = self.party.athlete;
        window.rounds_reps = self.floor.reps_of_rounds(athlete, segment, window.rounds);
        let tally = self.floor.scoring(segment).and_then(|scoring| scoring.tally(window));
        let by_hand = by_hand.get(&segment).map(|&from| {
            let other = by_others.contains(&segment) && is_far(from, tally);
            if other { Odd::FarFromCounter { from } } else { Odd::ByHand { from } }
        });
        let most = self.floor.expected_most(segment).filter(|_| !stands.contains(&segment));
        let far = most.filter(|&most| f64::from(window.rounds) > f64::from(most) * FAR_OVER);
        window.odd.clear();
        window.odd.extend(by_hand.into_iter().chain(far.map(|most| Odd::FarOver { most })));
    }
}

/// Whether two tallies of one window are further apart than two people count.
fn is_far(counted: Option<Tally>, entered: Option<Tally>) -> bool {
    let share = |a: u32, b: u32| f64::from(a.abs_diff(b)) > f64::from(a.max(b)) * NEAR_SHARE;
    match (counted, entered) {
        (Some(Tally::Rounds { rounds: a, .. }), Some(Tally::Rounds { rounds: b, .. })) => {
            a.abs_diff(b) > NEAR_ROUNDS
        }
        (Some(Tally::Count { amount: a }), Some(Tally::Count { amount: b }))
        | (Some(Tally::AtCap { reps: a }), Some(Tally::AtCap { reps: b })) => share(a, b),
        (counted, entered) => counted.is_some() && counted != entered,
    }
}

fn not_counted(why: WhyNot) -> Standing {
    Standing::NotCounted { why, marked: false }
}

/// A tap where nothing is counted is for the coach to look at if its device had not heard why, or if
/// it came after the bell: then the athlete enters the result.
fn outside(why: WhyNot, since: Revision, heard: Revision) -> Standing {
    let marked = why != WhyNot::Repeated && (heard < since || why == WhyNot::AfterBell);
    Standing::NotCounted { why, marked }
}

fn twice(fact: &Fact, last_of_device: &mut BTreeMap<DeviceId, HouseTime>) -> bool {
    let made = fact.tap.made_at;
    let before = last_of_device.get(&fact.device).copied();
    // Either way round: a device's clock may have been set right in between.
    let twice = before.is_some_and(|before| (before - made).max(made - before) < TWICE_WITHIN);
    if !twice {
        last_of_device.insert(fact.device, made);
    }
    twice
}
