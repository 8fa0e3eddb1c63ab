//! What of a class is shown, in the form of the wire. Names are not in core: the shell fills them in.

use super::{Athlete, Class};
use crate::ids::{AthleteId, BlockIndex, SegmentIndex};
use crate::review::on_pace_for;
use crate::score::board::{places, whole_class};
use crate::score::count::WindowCount;
use crate::score::reps::in_all;
use crate::score::{Tally, total};
use crate::session::{Format, Piece};
use crate::time::HouseTime;
use crate::wire::{OwnWindow, Row, Score};

impl Class {
    /// Everyone's row, in the order in which they came, without names.
    pub fn rows(&self) -> Vec<Row> {
        let pieces: Vec<_> = self.pieces().collect();
        let mut rows: Vec<_> = self
            .people()
            .map(|(id, athlete)| Row {
                athlete: id,
                name: String::new(),
                at_home: athlete.at_home,
                scaled: athlete.choice.scaled,
                scores: pieces.iter().map(|&(block, _)| self.score(athlete, block)).collect(),
                overall: None,
            })
            .collect();
        for scaled in [false, true] {
            let group: Vec<usize> =
                (0..rows.len()).filter(|&at| rows[at].scaled == scaled).collect();
            place_group(&mut rows, &group, &pieces);
        }
        rows
    }

    fn pieces(&self) -> impl Iterator<Item = (BlockIndex, &Piece)> {
        (0..)
            .map(BlockIndex)
            .zip(&self.session.blocks)
            .filter_map(|(block, it)| Some((block, it.kind.piece()?)))
            .filter(|(_, piece)| !matches!(piece.format, Format::Quality { .. }))
    }

    fn score(&self, athlete: &Athlete, block: BlockIndex) -> Score {
        let windows: Vec<_> = athlete
            .counted
            .windows
            .iter()
            .filter(|(segment, _)| self.plan.get(**segment).is_some_and(|own| own.block == block))
            .map(|(_, window)| window)
            .collect();
        Score {
            block,
            tally: windows.iter().filter_map(|window| window.tally()).reduce(total),
            place: None,
            last_at: windows.iter().filter_map(|window| window.last_at).max(),
            marked: windows.iter().any(|window| window.marked),
        }
    }

    /// What one athlete has in each window of work that they have something in or that was begun.
    pub fn windows(&self, athlete: AthleteId) -> Vec<OwnWindow> {
        let Some(athlete) = self.athlete(athlete) else { return Vec::new() };
        self.plan
            .kept()
            .map(|(index, _)| index)
            .filter(|&index| self.plan.is_work(index) && self.timeline.live_since(index).is_some())
            .map(|index| {
                let nothing = WindowCount::default();
                let window = athlete.counted.windows.get(&index).unwrap_or(&nothing);
                self.own_window(athlete, index, window)
            })
            .collect()
    }

    fn own_window(&self, athlete: &Athlete, segment: SegmentIndex, own: &WindowCount) -> OwnWindow {
        let reps = self.round_reps(&athlete.choice, segment, own.rounds);
        let length = self.plan.length(segment, self.timeline.added(segment));
        let pace = match (length, own.last) {
            (Some(length), Some(last)) => {
                on_pace_for(own.rounds, last, length, &own.splits, in_all(&reps))
            }
            _ => None,
        };
        OwnWindow {
            segment,
            tally: own.tally().unwrap_or(Tally::Rounds { rounds: 0, extra: 0 }),
            entered: own.entered,
            splits: own.splits.clone(),
            pace,
            last_tap: own.last_tap,
            reps,
        }
    }

    /// When the class will be over, as things stand (rule 1.10).
    pub fn projected_end(&self, now: HouseTime) -> HouseTime {
        self.plan.projected_end(&self.phase(), now)
    }
}

/// Gives the rows of one group their places, piece by piece and over the whole class.
fn place_group(rows: &mut [Row], group: &[usize], pieces: &[(BlockIndex, &Piece)]) {
    let mut by_piece = Vec::new();
    for (number, (_, piece)) in pieces.iter().enumerate() {
        let tallies: Vec<Option<(Tally, Option<HouseTime>)>> = group
            .iter()
            .map(|&at| {
                let score = &rows[at].scores[number];
                let there = piece.first_there_splits_ties.then_some(score.last_at).flatten();
                Some((score.tally?, there))
            })
            .collect();
        let found = places(&tallies, |(tally, there), (other, other_there)| {
            tally.rank(other).then(there.cmp(other_there))
        });
        for (&at, &place) in group.iter().zip(&found) {
            rows[at].scores[number].place = place;
        }
        by_piece.push(found);
    }
    for (&at, overall) in group.iter().zip(whole_class(&by_piece)) {
        rows[at].overall = overall;
    }
}
