//! What the count has to know of the class: its time line, its plan, and what the sheet expects.

use super::Class;
use super::command::Choice;
use super::timeline::Placed;
use crate::ids::{AthleteId, BlockIndex, MovementIndex, SegmentIndex};
use crate::score::Scoring;
use crate::score::count::Floor;
use crate::score::reps::{in_all, ladder_reps};
use crate::session::{Block, Format, Movement, MovementOption, Piece, Sharing};
use crate::time::{HouseTime, Span};

impl Class {
    /// The block that a segment belongs to, and the piece that it is.
    pub(super) fn piece_of(&self, segment: SegmentIndex) -> Option<(BlockIndex, &Block, &Piece)> {
        let index = self.plan.get(segment)?.block;
        let block = self.session.blocks.get(index.0 as usize)?;
        Some((index, block, block.kind.piece()?))
    }

    /// How a window is counted, if it belongs to a piece. The cap is where it stands now: the coach
    /// may have moved it.
    pub fn scoring_of(&self, segment: SegmentIndex) -> Option<Scoring> {
        let (_, block, _) = self.piece_of(segment)?;
        let mut scoring = Scoring::of(block)?;
        if let Scoring::Time { cap, .. } = &mut scoring
            && let Some(length) = self.plan.length(segment, self.timeline.added(segment))
        {
            *cap = length;
        }
        Some(scoring)
    }

    /// The option that an athlete does of a movement: their own, or the one swapped in for all.
    fn option_of<'m>(
        &self,
        choice: &Choice,
        (block, index): (BlockIndex, MovementIndex),
        movement: &'m Movement,
    ) -> Option<&'m MovementOption> {
        let own = choice.options.iter().find(|own| own.block == block && own.movement == index);
        let option = own.map(|own| own.option).or(self.swaps.get(&(block, index)).copied())?;
        movement.options.get(option.0 as usize)
    }

    /// What each movement counts in the round that follows `rounds` full ones, as an athlete does
    /// it: reps, or where one thing is counted all along, its own unit.
    pub(super) fn round_reps(
        &self,
        choice: &Choice,
        segment: SegmentIndex,
        rounds: u32,
    ) -> Vec<u32> {
        let Some((index, block, piece)) = self.piece_of(segment) else { return Vec::new() };
        if let Some(Scoring::Amount { step, .. }) = Scoring::of(block) {
            return vec![step];
        }
        let from_heading = match &piece.format {
            Format::Amrap { ladder: Some(ladder), .. } => Some(ladder_reps(*ladder, rounds)),
            Format::ForTime { scheme, .. } => scheme.get(rounds as usize).copied(),
            _ => None,
        };
        (0..)
            .map(MovementIndex)
            .zip(&block.movements)
            .map(|(at, movement)| {
                from_heading.unwrap_or_else(|| {
                    movement.reps_with(self.option_of(choice, (index, at), movement))
                })
            })
            .collect()
    }
}

impl Floor for Class {
    fn place(&self, named: SegmentIndex, at: HouseTime) -> Placed {
        self.timeline.place(&self.plan, named, at)
    }

    fn class_time_of(&self, segment: SegmentIndex, at: HouseTime) -> Option<Span> {
        self.timeline.class_time_of(&self.plan, segment, at)
    }

    fn live_since(&self, segment: SegmentIndex) -> Option<HouseTime> {
        self.timeline.live_since(segment)
    }

    fn scoring(&self, segment: SegmentIndex) -> Option<Scoring> {
        self.scoring_of(segment)
    }

    fn is_shared(&self, segment: SegmentIndex) -> bool {
        self.piece_of(segment).is_some_and(|(_, _, piece)| piece.sharing != Sharing::Alone)
    }

    /// The window over the middle of the rounds that the sheet's aim expects of it.
    fn expected_round(&self, segment: SegmentIndex) -> Option<Span> {
        let (_, block, _) = self.piece_of(segment)?;
        let (least, most) = block.aim.as_ref()?.rounds?;
        let length = self.plan.get(segment)?.length?;
        let twice = i64::from(least) + i64::from(most);
        (twice > 0).then(|| Span::from_micros(length.as_micros() * 2 / twice))
    }

    fn expected_most(&self, segment: SegmentIndex) -> Option<u32> {
        let (_, block, _) = self.piece_of(segment)?;
        block.aim.as_ref()?.rounds.map(|(_, most)| most)
    }

    fn reps_of_rounds(&self, athlete: AthleteId, segment: SegmentIndex, rounds: u32) -> u32 {
        let Some(known) = self.athlete(athlete) else { return 0 };
        let of_round = |round| in_all(self.round_reps(&known.choice, segment, round));
        match self.piece_of(segment).map(|(_, _, piece)| &piece.format) {
            Some(Format::Amrap { ladder: Some(_), .. }) => in_all((0..rounds).map(of_round)),
            Some(Format::ForTime { scheme, .. }) if !scheme.is_empty() => {
                in_all((0..rounds.min(scheme.len() as u32)).map(of_round))
            }
            Some(Format::Amrap { .. } | Format::ForTime { .. }) => {
                of_round(0).saturating_mul(rounds)
            }
            _ => 0,
        }
    }
}
