//! How people count: what somebody does next in a window of work, how long it takes them, and what
//! they tap when it is done. What differs between formats stands here and nowhere else. Pure.

use floorbell_core::class::command::Counts;
use floorbell_core::score::reps::{in_all, ladder_reps};
use floorbell_core::score::{Scoring, Tally};
use floorbell_core::session::{Block, Format, Sharing, Unit};
use floorbell_core::time::Span;
use floorbell_core::wire::OwnWindow;

use super::person::{Person, movement_secs, unit_secs};

/// What somebody takes who has rested while another of the team worked, of what they take alone.
const RESTED: f64 = 0.75;
/// From one attempt at a load to the next.
const ATTEMPT_SECS: f64 = 120.0;
/// The first attempt and each step, of the heaviest that somebody lifts.
const FIRST_ATTEMPT: f64 = 0.6;
const HEAVIER: f64 = 0.08;
/// How often an attempt is good, up to the heaviest that somebody lifts and beyond it.
const GOOD: f64 = 0.93;
const GOOD_BEYOND: f64 = 0.3;
/// What plates come in.
const PLATES_GRAMS: f64 = 2_500.0;

/// A window of work, and how it is counted.
pub(super) struct Window<'a> {
    block: &'a Block,
    scoring: Scoring,
    length: Span,
}

/// What somebody does in one go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Leg {
    /// How long it takes.
    pub(super) secs: f64,
    /// What is tapped when it is done.
    pub(super) counts: Counts,
}

impl<'a> Window<'a> {
    /// A window of a piece; none of a block that is not scored.
    pub(super) fn new(block: &'a Block, length: Span) -> Option<Self> {
        Some(Self { block, scoring: Scoring::of(block)?, length })
    }

    /// How long it is.
    pub(super) fn length(&self) -> Span {
        self.length
    }

    /// Whether a team shares it.
    pub(super) fn is_shared(&self) -> bool {
        self.block.kind.piece().is_some_and(|piece| piece.sharing != Sharing::Alone)
    }

    /// What somebody does next who is at this class time, with so many rounds (or good attempts)
    /// done; `rested` while another of their team worked. None once there is nothing left to do.
    pub(super) fn next(
        &self,
        person: &mut Person,
        done: u32,
        at: Span,
        rested: bool,
    ) -> Option<Leg> {
        let (length, at) = (self.length.as_secs_f64(), at.as_secs_f64());
        let faster = if rested { RESTED } else { 1.0 };
        match self.scoring {
            Scoring::Rounds => {
                let secs = self.round_secs(person, done) * faster;
                Some(Leg { secs, counts: Counts::Round })
            }
            Scoring::Time { rounds, .. } => (done < rounds).then(|| {
                let counts = if done + 1 == rounds { Counts::Finish } else { Counts::Round };
                Leg { secs: self.round_secs(person, done) * faster, counts }
            }),
            // Past the bell, where somebody does not make it.
            Scoring::Made => (done == 0).then(|| {
                let secs = length * person.share_of_interval() - at;
                Leg { secs, counts: Counts::Round }
            }),
            Scoring::Amount { unit, step } => {
                let each = person.secs(unit_secs(unit), (at / 60.0) as u32) * faster;
                if step > 1 {
                    return Some(Leg { secs: each * f64::from(step), counts: Counts::Round });
                }
                // As the bell nears, what can still be done before it.
                let left = ((length - at) / each).max(0.0) as u32;
                let amount = left.min(person.counts_by * if unit == Unit::Metres { 10 } else { 1 });
                let counts = Counts::Amount { amount };
                (amount > 0).then(|| Leg { secs: each * f64::from(amount), counts })
            }
            Scoring::Load { .. } => {
                let share = FIRST_ATTEMPT + HEAVIER * f64::from(done);
                let plates = (person.heaviest_grams * share / PLATES_GRAMS).round();
                let good = person.chance().happens(if share > 1.0 { GOOD_BEYOND } else { GOOD });
                let counts = Counts::Attempt { grams: (plates * PLATES_GRAMS) as i32, good };
                Some(Leg { secs: person.secs(ATTEMPT_SECS, 0), counts })
            }
            Scoring::Done => (done == 0).then(|| {
                let secs = length * person.chance().between(0.85, 0.98) - at;
                Leg { secs, counts: Counts::Finish }
            }),
        }
    }

    /// Whether what was under way at the bell is entered after it.
    pub(super) fn has_extra(&self) -> bool {
        match self.scoring {
            Scoring::Rounds | Scoring::Time { .. } => true,
            Scoring::Amount { step, .. } => step > 1,
            Scoring::Made | Scoring::Load { .. } | Scoring::Done => false,
        }
    }

    /// How many rounds a team has done by what it was told; beyond all where it has finished.
    pub(super) fn rounds_told(&self, told: &OwnWindow) -> u32 {
        match told.tally {
            Tally::Rounds { rounds, .. } => rounds,
            Tally::Made { made, .. } => made,
            Tally::Finished { .. } | Tally::Done => u32::MAX,
            Tally::AtCap { reps } => self.rounds_of(reps, in_all(told.reps.iter().copied())),
            Tally::Count { .. } | Tally::Load { .. } => 0,
        }
    }

    /// The full rounds in so many reps, with so many to a round where the heading does not say.
    fn rounds_of(&self, mut reps: u32, of_round: u32) -> u32 {
        let movements = u32::try_from(self.block.movements.len()).unwrap_or(u32::MAX);
        let mut rounds = 0;
        loop {
            let each = self.reps_by_heading(rounds).map(|reps| reps.saturating_mul(movements));
            match reps.checked_sub(each.unwrap_or(of_round).max(1)) {
                Some(left) => (reps, rounds) = (left, rounds + 1),
                None => return rounds,
            }
        }
    }

    /// Reps of each movement in the round that follows `done` full ones, where the heading has them.
    fn reps_by_heading(&self, done: u32) -> Option<u32> {
        match &self.block.kind.piece()?.format {
            Format::Amrap { ladder, .. } => ladder.map(|ladder| ladder_reps(ladder, done)),
            Format::ForTime { scheme, .. } => scheme.get(done as usize).copied(),
            _ => None,
        }
    }

    fn round_secs(&self, person: &mut Person, done: u32) -> f64 {
        let reps = self.reps_by_heading(done);
        let even: f64 = self.block.movements.iter().map(|each| movement_secs(each, reps)).sum();
        person.secs(even.max(5.0), done)
    }
}

#[cfg(test)]
mod tests {
    use floorbell_core::sheet;

    use super::*;

    /// Class time and tap of everything that somebody does alone in the first window of a piece.
    fn taps(heading: &str, movements: &str, number: usize) -> Vec<(f64, Counts)> {
        let text = format!("# Tide\n\n## Tide: {heading}\n\n{movements}\n");
        let session = sheet::read(&text).session.unwrap_or_else(|| panic!("{heading}"));
        let segments = floorbell_core::session::layout::segments(&session);
        let length = segments.iter().rev().find_map(|segment| segment.length).unwrap();
        let window = Window::new(&session.blocks[0], length).unwrap();
        let person = &mut Person::new(3, number, 1.0);
        let (mut taps, mut done, mut at) = (Vec::new(), 0, 0.0);
        while let Some(leg) = window.next(person, done, Span::from_micros((at * 1e6) as i64), false)
        {
            at += leg.secs;
            if at > length.as_secs_f64() {
                break;
            }
            taps.push((at, leg.counts));
            done += u32::from(!matches!(leg.counts, Counts::Attempt { good: false, .. }));
        }
        taps
    }

    fn counts(heading: &str, movements: &str, number: usize) -> Vec<Counts> {
        taps(heading, movements, number).into_iter().map(|(_, counts)| counts).collect()
    }

    #[test]
    fn rounds_of_a_ladder_get_longer() {
        let taps = taps("AMRAP 7 min, ladder 4-8-12-…", "- swing\n- burpee", 0);
        assert!((3..8).contains(&taps.len()), "{taps:?}");
        assert!(taps.iter().all(|(_, counts)| *counts == Counts::Round));
        let lengths: Vec<f64> = taps.windows(2).map(|two| two[1].0 - two[0].0).collect();
        assert!(lengths.is_sorted(), "{lengths:?}");
    }

    #[test]
    fn what_is_for_time_is_finished_once_with_its_last_round() {
        let all = [Counts::Round, Counts::Round, Counts::Finish];
        for number in 0..20 {
            assert_eq!(counts("20-16-12 for time, cap 20 min", "- squat", number), all);
            let capped = counts("3 rounds for time, cap 1:30", "- 20 squat", number);
            assert!(capped.len() < 3 && all.starts_with(&capped), "{capped:?}");
        }
    }

    #[test]
    fn most_intervals_are_made_and_none_twice() {
        let made =
            |number| counts("every minute for 1 min\n\nScore: rounds made", "- 5 squat", number);
        let made: Vec<_> = (0..100).map(made).collect();
        assert!(made.iter().all(|taps| matches!(taps[..], [] | [Counts::Round])));
        let misses = made.iter().filter(|taps| taps.is_empty()).count();
        assert!((1..30).contains(&misses), "{misses}");
    }

    #[test]
    fn one_thing_is_counted_by_ones_or_by_fives_up_to_the_bell() {
        let mut steps = Vec::new();
        for number in 0..20 {
            let taps = taps("max calories in 2 min", "- row", number);
            let amounts = taps.iter().map(|(_, counts)| match counts {
                Counts::Amount { amount } => *amount,
                other => panic!("{other:?}"),
            });
            let amounts: Vec<u32> = amounts.collect();
            let (last, before) = amounts.split_last().unwrap();
            assert!(before.iter().all(|each| *each == before[0]) && *last <= before[0]);
            assert!(taps.last().unwrap().0 > 112.0, "{taps:?}");
            steps.push(before[0]);
        }
        steps.sort_unstable();
        steps.dedup();
        assert_eq!(steps, [1, 5]);
        // A trip is a touch, and what is left of one is entered.
        let trips = counts("max metres in 4 min", "- 120 m carry", 0);
        assert!(trips.len() > 3 && trips.iter().all(|counts| *counts == Counts::Round));
    }

    #[test]
    fn attempts_rise_and_one_that_was_no_lift_is_made_again() {
        let mut misses = 0;
        for number in 0..20 {
            let attempts = counts("build to a heavy set of 3 in 15 min", "- front squat", number);
            assert!((4..11).contains(&attempts.len()), "{attempts:?}");
            for two in attempts.windows(2) {
                let [Counts::Attempt { grams: a, good }, Counts::Attempt { grams: b, .. }] = two
                else {
                    panic!("{two:?}");
                };
                assert!(if *good { a < b } else { a == b }, "{two:?}");
                misses += u32::from(!good);
            }
        }
        assert!((2..40).contains(&misses), "{misses}");
    }

    #[test]
    fn what_is_done_well_ends_near_the_bell() {
        let taps = taps("quality for 10 min", "- 6 row", 0);
        assert!(matches!(taps[..], [(510.0..590.0, Counts::Finish)]), "{taps:?}");
    }

    #[test]
    fn rounds_of_a_team_are_worked_out_from_its_reps() {
        for (heading, reps, of_round, rounds) in [
            ("3 rounds for time, cap 9 min", 51, 26, 1),
            ("3 rounds for time, cap 9 min", 52, 26, 2),
            ("20-16-12 for time, cap 9 min", 71, 0, 1),
            ("20-16-12 for time, cap 9 min", 72, 0, 2),
        ] {
            let text = format!("# Tide\n\n## Tide: {heading}, in pairs\n\n- squat\n- push-up\n");
            let session = sheet::read(&text).session.unwrap();
            let window = Window::new(&session.blocks[0], Span::from_mins(9)).unwrap();
            assert!(window.is_shared());
            assert_eq!(window.rounds_of(reps, of_round), rounds, "{heading}: {reps}");
        }
    }
}
