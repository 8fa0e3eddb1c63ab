//! What of a class is shown, in the form of the wire. Names are not in core: the shell fills them in.

use super::clock::Phase;
use super::{Athlete, Class};
use crate::ids::{AthleteId, BlockIndex, SegmentIndex};
use crate::review::{on_pace_for, on_rate_for, overdue_at, who_fades};
use crate::score::count::Floor;
use crate::score::reps::in_all;
use crate::score::scoring::Part;
use crate::score::window::WindowCount;
use crate::score::{Scoring, Tally};
use crate::session::Piece;
use crate::time::HouseTime;
use crate::wire::{AimSide, OwnWindow, Reading, Row, Score, WindowScore};

/// Marks of one window that are shown: a coach settles a few one by one, and where there are more
/// sets the tally.
const MARKS_SHOWN_MAX: usize = 20;

impl Class {
    /// Everyone's row, in the order in which they came, without names.
    pub fn rows(&self) -> Vec<Row> {
        let pieces: Vec<_> = self.ranked_pieces().collect();
        let mut rows: Vec<_> = self
            .people()
            .map(|(id, athlete)| Row {
                athlete: id,
                name: String::new(),
                at_home: athlete.at_home,
                scaled: athlete.choice.scaled,
                scores: pieces.iter().map(|piece| self.score(athlete, piece)).collect(),
                overall: None,
                total_reps: self.total_reps(athlete, &pieces),
                team: self.team_of(id).map(|(team, _)| team),
            })
            .collect();
        super::placing::place(&mut rows, &pieces, self.session.whole_class);
        rows
    }

    fn ranked_pieces(&self) -> impl Iterator<Item = Ranked<'_>> {
        (0..).map(BlockIndex).zip(&self.session.blocks).filter_map(|(index, block)| {
            let scoring = Scoring::of(block).filter(|scoring| scoring.is_ranked())?;
            let piece = block.kind.piece()?;
            let begun = self
                .plan
                .kept()
                .filter(|&(at, segment)| segment.block == index && self.has_begun_work(at))
                .map(|(at, _)| at)
                .collect();
            Some(Ranked { block: index, piece, scoring, begun })
        })
    }

    fn has_begun_work(&self, segment: SegmentIndex) -> bool {
        self.plan.is_work(segment) && self.timeline.live_since(segment).is_some()
    }

    fn score(&self, athlete: &Athlete, ranked: &Ranked<'_>) -> Score {
        let windows = &athlete.counted.windows;
        let parts: Vec<Part> = ranked
            .begun
            .iter()
            .map(|segment| Part {
                tally: windows.get(segment).and_then(|window| ranked.scoring.tally(window)),
                over: !self.is_under_way(*segment),
            })
            .collect();
        let own = || ranked.begun.iter().filter_map(|segment| windows.get(segment));
        let several = ranked.piece.windows_in_all() > 1;
        Score {
            block: ranked.block,
            tally: ranked.scoring.together(ranked.piece, &parts),
            place: None,
            windows: ranked
                .begun
                .iter()
                .zip(&parts)
                .filter(|_| several)
                .map(|(&segment, part)| WindowScore { segment, tally: part.tally, place: None })
                .collect(),
            pace: ranked.begun.last().and_then(|&segment| {
                self.pace(athlete, segment, ranked.scoring, windows.get(&segment)?)
            }),
            last_at: own().filter_map(|window| window.last_at).max(),
            marked: own().any(|window| window.marks().next().is_some()),
        }
    }

    /// Reps over all pieces, where that is what ranks the class.
    fn total_reps(&self, athlete: &Athlete, pieces: &[Ranked<'_>]) -> Option<u32> {
        let of = |ranked: &Ranked<'_>| {
            let windows = ranked.begun.iter().filter_map(|at| athlete.counted.windows.get(at));
            in_all(windows.map(|window| match (ranked.scoring, ranked.scoring.tally(window)) {
                (Scoring::Time { reps, .. }, Some(Tally::Finished { .. }))
                | (_, Some(Tally::AtCap { reps })) => reps,
                (_, Some(Tally::Count { amount })) => amount,
                (_, Some(Tally::Rounds { .. })) => window.rounds_reps.saturating_add(window.extra),
                _ => 0,
            }))
        };
        let by_reps = self.session.whole_class == crate::session::WholeClass::Reps;
        let scored = || pieces.iter().any(|ranked| ranked.has_any(athlete));
        (by_reps && scored()).then(|| in_all(pieces.iter().map(of)))
    }

    /// Whether the bell of a segment is still to come.
    fn is_under_way(&self, segment: SegmentIndex) -> bool {
        let phase = self.phase();
        phase.segment() == Some(segment) && !matches!(phase, Phase::Waiting { .. })
    }

    /// What a window ends at if the pace holds (rules 3.9 and 5.2).
    fn pace(
        &self,
        athlete: &Athlete,
        segment: SegmentIndex,
        scoring: Scoring,
        own: &WindowCount,
    ) -> Option<Tally> {
        let length = self.plan.length(segment, self.timeline.added(segment))?;
        let last = own.last?;
        match scoring {
            Scoring::Rounds => {
                let reps = in_all(self.round_reps(&athlete.choice, segment, own.rounds));
                on_pace_for(own.rounds, last, length, &own.splits, reps)
            }
            Scoring::Amount { .. } => {
                let amount = on_rate_for(own.amount, own.in_last_minute()?, length - last);
                Some(Tally::Count { amount })
            }
            Scoring::Time { .. } | Scoring::Made | Scoring::Load { .. } | Scoring::Done => None,
        }
    }

    /// What one athlete has in each window of work that was begun.
    pub fn windows(&self, athlete: AthleteId) -> Vec<OwnWindow> {
        let Some(known) = self.athlete(athlete) else { return Vec::new() };
        let nothing = WindowCount::default();
        self.plan
            .kept()
            .map(|(index, _)| index)
            .filter(|&index| self.has_begun_work(index))
            .filter_map(|index| {
                let window = known.counted.windows.get(&index).unwrap_or(&nothing);
                let scoring = self.scoring_of(index)?;
                Some(self.own_window((athlete, known), (index, scoring), window))
            })
            .collect()
    }

    fn own_window(
        &self,
        (id, athlete): (AthleteId, &Athlete),
        (segment, scoring): (SegmentIndex, Scoring),
        own: &WindowCount,
    ) -> OwnWindow {
        let last = own.last.unwrap_or_default();
        let rounds_left = match scoring {
            Scoring::Rounds => true,
            Scoring::Time { .. } => own.finished.is_none(),
            Scoring::Made | Scoring::Amount { .. } | Scoring::Load { .. } | Scoring::Done => false,
        };
        let overdue = || overdue_at(last, &own.splits, self.expected_round(segment));
        OwnWindow {
            segment,
            scoring,
            tally: scoring.tally(own).unwrap_or_else(|| scoring.nothing()),
            entered: own.entered,
            splits: own.splits.clone(),
            pace: self.pace(athlete, segment, scoring, own),
            last_tap: own.last_tap,
            last_by: own.last_by,
            last: own.last,
            turn: self.turn(id, segment, own),
            as_written: own.is_mixed().then_some(own.as_written),
            reps: self.round_reps(&athlete.choice, segment, own.rounds),
            attempts: own.attempts.clone(),
            marks: own.marks().take(MARKS_SHOWN_MAX).collect(),
            overdue_at: rounds_left.then(overdue).flatten(),
        }
    }

    /// Whose turn it is in a team that shares a window.
    fn turn(
        &self,
        athlete: AthleteId,
        segment: SegmentIndex,
        own: &WindowCount,
    ) -> Option<AthleteId> {
        let (_, team) = self.team_of(athlete).filter(|_| self.is_shared(segment))?;
        let last = own.last_by.and_then(|by| team.iter().position(|member| *member == by));
        let after = last.map_or(0, |at| at + 1);
        let in_order = team[after..].iter().chain(&team[..after]);
        in_order.copied().find(|member| self.athlete(*member).is_some())
    }

    /// How people's work under way stands out, or that of the window that was last (rule 5.3).
    pub fn readings(&self) -> Vec<Reading> {
        let begun = self.plan.kept().map(|(at, _)| at).filter(|&at| self.has_begun_work(at));
        let Some(segment) = begun.last() else { return Vec::new() };
        let nothing = WindowCount::default();
        let own: Vec<_> = self
            .people()
            .map(|(id, known)| (id, known, known.counted.windows.get(&segment).unwrap_or(&nothing)))
            .collect();
        let splits: Vec<_> = own.iter().map(|(_, _, window)| &window.splits[..]).collect();
        own.iter()
            .zip(who_fades(&splits))
            .map(|(&(athlete, known, window), fades)| Reading {
                athlete,
                fades,
                aim: self.aim_side(known, segment, window),
            })
            .filter(|reading| reading.fades || reading.aim.is_some())
            .collect()
    }

    /// On which side of the sheet's aim a window ends if the pace holds, or has ended.
    fn aim_side(
        &self,
        athlete: &Athlete,
        segment: SegmentIndex,
        own: &WindowCount,
    ) -> Option<AimSide> {
        let (_, block, _) = self.piece_of(segment)?;
        let (least, most) = block.aim.as_ref()?.rounds?;
        let scoring = Scoring::of(block)?;
        let paced = || self.pace(athlete, segment, scoring, own);
        let ends_at = if self.is_under_way(segment) { paced() } else { scoring.tally(own) };
        match ends_at? {
            Tally::Rounds { rounds, .. } if rounds < least => Some(AimSide::Below),
            Tally::Rounds { rounds, .. } if rounds > most => Some(AimSide::Above),
            _ => None,
        }
    }

    /// When the class will be over, as things stand (rule 1.10).
    pub fn projected_end(&self, now: HouseTime) -> HouseTime {
        self.plan.projected_end(&self.phase(), now)
    }
}

/// A piece that has places.
pub(super) struct Ranked<'c> {
    pub(super) block: BlockIndex,
    pub(super) piece: &'c Piece,
    pub(super) scoring: Scoring,
    /// Its windows that have begun.
    pub(super) begun: Vec<SegmentIndex>,
}

impl Ranked<'_> {
    fn has_any(&self, athlete: &Athlete) -> bool {
        self.begun.iter().any(|at| {
            athlete.counted.windows.get(at).is_some_and(|own| self.scoring.tally(own).is_some())
        })
    }
}
