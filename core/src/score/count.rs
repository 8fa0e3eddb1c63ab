//! From one athlete's taps to what each window of work has counted.
//!
//! Taps are gone through in the order in which they were made, whatever the order in which they
//! came; each gets its standing, and the rounds that they finish give splits. A round between whose
//! taps one was forgotten gives none: its time belongs to two rounds.

use std::collections::{BTreeMap, BTreeSet};

use super::{Mark, Standing, Tally, WhyNot};
use crate::class::command::{Counts, Tap};
use crate::class::timeline::Placed;
use crate::ids::{DeviceId, Revision, SegmentIndex, TapId};
use crate::review;
use crate::time::{HouseTime, Span};

/// Two taps of one device for a round within this are one (rule 3.6).
pub const TWICE_WITHIN: Span = Span::from_millis(400);

/// A tap older than this on arrival is marked, if its device was connected all the while.
pub const BACKDATED_AFTER: Span = Span::from_secs(5);

/// A round sooner than this share of the expected time is marked as quick. Our own choice: halved
/// times happen when somebody scales in mid-piece, a third of the time does not.
const QUICK_SHARE: f64 = 0.4;

/// Without anything to expect, no round is done in less *(cp)*.
const QUICK_LEAST: Span = Span::from_secs(5);

/// A tap with what the server knows of its coming.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fact {
    /// The tap.
    pub tap: Tap,
    /// The device that sent it.
    pub device: DeviceId,
    /// When it came.
    pub arrived: HouseTime,
    /// Since when the device had been connected without a break.
    pub connected_since: HouseTime,
}

/// A tally that was set outright, or extra reps that were entered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Entry {
    /// When.
    pub at: HouseTime,
    /// Of which window.
    pub segment: SegmentIndex,
    /// What.
    pub entered: Entered,
}

/// What was entered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Entered {
    /// The whole tally.
    Tally(Tally),
    /// Extra reps, and how many make a round for this athlete.
    Extra {
        /// Reps beyond the last full round.
        reps: u32,
        /// Reps of a full round.
        of_round: u32,
    },
}

/// Everything that was sent and entered for one athlete.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sent {
    /// In the order in which they are gone through: by the instant that they are placed at, and
    /// where that is one, by when they say that they were made.
    taps: BTreeMap<(HouseTime, HouseTime, TapId), Fact>,
    received: BTreeSet<TapId>,
    undone: BTreeSet<TapId>,
    entries: Vec<Entry>,
}

/// What one window has counted for one athlete.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WindowCount {
    /// Full rounds that were tapped or set.
    pub rounds: u32,
    /// Reps beyond those rounds that were set or entered.
    pub extra: u32,
    /// How many reps make a full round, where extra reps were entered.
    pub of_round: Option<u32>,
    /// A tally of another kind that was set outright.
    pub set: Option<Tally>,
    /// Whether a tally was set or extra reps were entered.
    pub entered: bool,
    /// Times of the rounds that gave one, in order.
    pub splits: Vec<Span>,
    /// Class time of the last tap that counts.
    pub last: Option<Span>,
    /// House time of the last tap that counts.
    pub last_at: Option<HouseTime>,
    /// The last tap that counts.
    pub last_tap: Option<TapId>,
    /// Whether something is marked for the coach.
    pub marked: bool,
}

/// What came of everything that was sent for one athlete.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Counted {
    /// Each tap's standing.
    pub standings: BTreeMap<TapId, Standing>,
    /// Each window that has something in it.
    pub windows: BTreeMap<SegmentIndex, WindowCount>,
}

/// What the count needs to know of the class.
pub(crate) trait Floor {
    /// Where an instant lies on the class's time line.
    fn place(&self, named: SegmentIndex, at: HouseTime) -> Placed;
    /// When the run of a window that counts began.
    fn live_since(&self, segment: SegmentIndex) -> Option<HouseTime>;
    /// Whether a window is counted by rounds.
    fn counts_rounds(&self, segment: SegmentIndex) -> bool;
    /// How long a round of a window should take, where the sheet says.
    fn expected_round(&self, segment: SegmentIndex) -> Option<Span>;
}

impl Sent {
    /// Whether a tap of this id was received.
    pub fn has(&self, tap: TapId) -> bool {
        self.received.contains(&tap)
    }

    /// Whether a tap of this id was taken back.
    pub fn has_undone(&self, tap: TapId) -> bool {
        self.undone.contains(&tap)
    }

    /// How many things were sent: taps, undos and entries.
    pub fn how_many(&self) -> usize {
        self.taps.len() + self.undone.len() + self.entries.len()
    }

    /// Keeps a tap. The same id again changes nothing.
    pub fn receive(&mut self, fact: Fact) {
        if self.received.insert(fact.tap.id) {
            self.taps.insert((fact.instant(), fact.tap.made_at, fact.tap.id), fact);
        }
    }

    /// Takes a tap back, even one that is still to come.
    pub fn undo(&mut self, tap: TapId) {
        self.undone.insert(tap);
    }

    /// Keeps what was entered.
    pub fn enter(&mut self, entry: Entry) {
        self.entries.push(entry);
    }

    /// Works out what everything is worth.
    pub(crate) fn count(&self, floor: &impl Floor) -> Counted {
        let mut counted = Counted { windows: self.entered(floor), ..Counted::default() };
        let set_at = self.set_at(floor);
        let mut rounds: BTreeMap<SegmentIndex, Rounds> = BTreeMap::new();
        let mut last_of_device: BTreeMap<DeviceId, HouseTime> = BTreeMap::new();
        for fact in self.taps.values() {
            let (tap, at) = (&fact.tap, fact.instant());
            let mut shown_in = tap.segment;
            let standing = match floor.place(tap.segment, at) {
                _ if self.undone.contains(&tap.id) => not_counted(WhyNot::Undone),
                Placed::Elsewhere { why, since } => outside(why, since, tap.heard),
                Placed::Work { segment, .. } if !floor.counts_rounds(segment) => {
                    not_counted(WhyNot::NoRounds)
                }
                Placed::Work { .. } if twice(fact, &mut last_of_device) => {
                    not_counted(WhyNot::Twice)
                }
                Placed::Work { segment, .. }
                    if set_at.get(&segment).is_some_and(|&set| at <= set) =>
                {
                    not_counted(WhyNot::SetSince)
                }
                Placed::Work { segment, at: class_time, mark } => {
                    shown_in = segment;
                    let rounds = rounds.entry(segment).or_insert_with(|| {
                        Rounds::new(floor.expected_round(segment), set_at.contains_key(&segment))
                    });
                    let quick = rounds.tapped(class_time, tap.counts);
                    counted.windows.entry(segment).or_default().add_round(tap.id, at, class_time);
                    let mark = fact.wrong_date().or(mark).or(quick.then_some(Mark::Quick));
                    Standing::Counted { at: class_time, mark }
                }
            };
            if standing.is_marked() {
                counted.windows.entry(shown_in).or_default().marked = true;
            }
            counted.standings.insert(tap.id, standing);
        }
        for (segment, rounds) in rounds {
            counted.windows.entry(segment).or_default().splits = rounds.splits;
        }
        counted
    }

    /// The entries of the runs that count, newest last. What was entered in the very instant at
    /// which a run began was entered for the one before.
    fn live_entries<'a>(&'a self, floor: &'a impl Floor) -> impl Iterator<Item = &'a Entry> {
        self.entries
            .iter()
            .filter(|entry| floor.live_since(entry.segment).is_some_and(|since| entry.at > since))
    }

    /// When each window's tally was last set: it covers the taps made up to then.
    fn set_at(&self, floor: &impl Floor) -> BTreeMap<SegmentIndex, HouseTime> {
        self.live_entries(floor)
            .filter(|entry| matches!(entry.entered, Entered::Tally(_)))
            .map(|entry| (entry.segment, entry.at))
            .collect()
    }

    /// The windows as the entries alone have them: the last tally that was set, and the extra reps
    /// that were entered last since then.
    fn entered(&self, floor: &impl Floor) -> BTreeMap<SegmentIndex, WindowCount> {
        let mut windows = BTreeMap::<SegmentIndex, WindowCount>::new();
        for entry in self.live_entries(floor) {
            let window = windows.entry(entry.segment).or_default();
            match entry.entered {
                Entered::Tally(Tally::Rounds { rounds, extra }) => {
                    *window = WindowCount { rounds, extra, ..WindowCount::default() };
                }
                Entered::Tally(other) => {
                    *window = WindowCount { set: Some(other), ..WindowCount::default() };
                }
                Entered::Extra { reps, of_round } => {
                    (window.extra, window.of_round) = (reps, Some(of_round));
                }
            }
            window.entered = true;
        }
        windows
    }
}

impl WindowCount {
    fn add_round(&mut self, tap: TapId, at: HouseTime, class_time: Span) {
        self.rounds += 1;
        self.last = Some(class_time);
        self.last_at = Some(at);
        self.last_tap = Some(tap);
    }

    /// The tally, once there is anything to it. A full round's worth of extra reps is a round:
    /// 5 + 26 of 26 is 6 + 0.
    pub fn tally(&self) -> Option<Tally> {
        if self.set.is_some() {
            return self.set;
        }
        let (rounds, extra) = match self.of_round {
            Some(of_round) if self.extra >= of_round => (self.rounds + 1, self.extra - of_round),
            _ => (self.rounds, self.extra),
        };
        (self.entered || self.rounds > 0).then_some(Tally::Rounds { rounds, extra })
    }
}

impl Fact {
    /// The instant that the tap is placed at: when it was made, by its own word, and never later
    /// than it came, for no tap comes before it is made.
    fn instant(&self) -> HouseTime {
        self.tap.made_at.min(self.arrived)
    }

    fn ahead_of_time(&self) -> bool {
        self.tap.made_at > self.arrived + self.tap.bound
    }

    /// The mark for a date that cannot be right.
    fn wrong_date(&self) -> Option<Mark> {
        let made = self.tap.made_at;
        let backdated = self.arrived - made > BACKDATED_AFTER && self.connected_since <= made;
        if self.ahead_of_time() {
            Some(Mark::AheadOfTime)
        } else {
            backdated.then_some(Mark::Backdated)
        }
    }
}

impl Standing {
    /// Whether the coach is to look at it.
    pub fn is_marked(&self) -> bool {
        match self {
            Self::Counted { mark, .. } => mark.is_some(),
            Self::NotCounted { marked, .. } => *marked,
        }
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
    if fact.tap.counts != Counts::Round {
        return false;
    }
    let made = fact.tap.made_at;
    let before = last_of_device.get(&fact.device).copied();
    // Either way round: a device's clock may have been set right in between.
    let twice = before.is_some_and(|before| (before - made).max(made - before) < TWICE_WITHIN);
    if !twice {
        last_of_device.insert(fact.device, made);
    }
    twice
}

/// The rounds of one window, as their taps come in order.
struct Rounds {
    expected: Option<Span>,
    /// Times of the rounds that gave one.
    splits: Vec<Span>,
    /// Class time of the last round's tap.
    last: Option<Span>,
    /// Whether the last round gave the last of the splits.
    last_gave: bool,
    /// The time since the last tap belongs to more rounds than one: the next gives no split.
    spoilt: bool,
}

impl Rounds {
    /// Rounds that should take so long. Where the tally was `set`, rounds have gone by that are not
    /// among the taps.
    fn new(expected: Option<Span>, set: bool) -> Self {
        Self { expected, splits: Vec::new(), last: None, last_gave: false, spoilt: set }
    }

    /// Takes the next tap; tells whether it came sooner than a round can be done.
    fn tapped(&mut self, at: Span, counts: Counts) -> bool {
        let split = at - self.last.unwrap_or_default();
        let quick = split.as_secs_f64() < self.quick_below();
        if quick && std::mem::take(&mut self.last_gave) {
            self.splits.pop();
        }
        match counts {
            Counts::Round => {
                self.last = Some(at);
                self.last_gave = !quick && !self.spoilt;
                if self.last_gave {
                    self.splits.push(split);
                }
                self.spoilt = false;
                quick
            }
            Counts::RoundBefore => {
                self.spoilt |= !quick || self.last.is_none();
                false
            }
        }
    }

    fn quick_below(&self) -> f64 {
        let usual =
            if self.splits.len() < 2 { self.expected } else { review::median(&self.splits) };
        usual.map_or(QUICK_LEAST.as_secs_f64(), |usual| usual.as_secs_f64() * QUICK_SHARE)
    }
}
