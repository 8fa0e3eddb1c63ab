//! Does the plan fit: its time into the slot, its people onto the gear (rules 6.1 and 6.2).

use super::layout::{self, Segment};
use super::{BlockKind, Session};
use crate::ids::BlockIndex;
use crate::time::Span;

/// The planned time of a session against its slot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TimeFit {
    /// The sheet gives no slot.
    NoSlot,
    /// It fits, and this much is left.
    Fits {
        /// Time of the slot that is not planned; may be zero.
        left: Span,
    },
    /// It does not fit.
    Over {
        /// By how much; more than zero.
        by: Span,
        /// The longest block without a score, the one that could give; none if all are pieces.
        could_give: Option<BlockIndex>,
    },
}

/// Holds the planned time against the slot, talk, set-up and all.
pub fn time_fit(session: &Session, segments: &[Segment]) -> TimeFit {
    let Some(slot) = session.slot else { return TimeFit::NoSlot };
    let left = slot - layout::total(segments);
    if left >= Span::ZERO {
        return TimeFit::Fits { left };
    }
    let unscored = (0..).map(BlockIndex).zip(&session.blocks);
    let unscored = unscored.filter(|(_, block)| !matches!(block.kind, BlockKind::Piece(_)));
    // Of equals the later one, for what is over by then cannot be trimmed any more.
    let longest = unscored.max_by_key(|(index, _)| block_total(segments, *index));
    TimeFit::Over { by: -left, could_give: longest.map(|(index, _)| index) }
}

/// How long one block is planned to take, without what the coach took out.
pub fn block_total(segments: &[Segment], block: BlockIndex) -> Span {
    let of_block = segments.iter().filter(|segment| segment.block == block && !segment.dropped);
    of_block.map(|segment| segment.planned).sum()
}

/// Sizes of the waves in which `athletes` use `places` places: as few waves as possible, as even
/// as possible, larger ones first. None where there is no place at all.
pub fn waves(athletes: u32, places: u32) -> Option<Vec<u32>> {
    if places == 0 {
        return None;
    }
    let count = athletes.div_ceil(places);
    let larger = athletes.checked_rem(count).unwrap_or(0);
    Some((0..count).map(|wave| athletes / count + u32::from(wave < larger)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::layout::segments;
    use crate::sheet::read;

    #[test]
    fn fourteen_athletes_on_six_rowers_go_in_three_waves() {
        assert_eq!(waves(14, 6), Some(vec![5, 5, 4]));
        assert_eq!(waves(6, 6), Some(vec![6]));
        assert_eq!(waves(7, 6), Some(vec![4, 3]));
        assert_eq!(waves(0, 6), Some(vec![]));
        assert_eq!(waves(14, 0), None);
    }

    fn fit(slot: &str) -> TimeFit {
        let sheet = "## Talk, 4 min\n\n## AMRAP 20 min\n\n- 9 sit-up\n\n## Rest 2 min\n\n\
                     ## Cool-down, 6 min\n\n## Talk, 6 min\n";
        let session = read(&format!("# Title\n\n{slot}\n\n{sheet}")).session.unwrap();
        time_fit(&session, &segments(&session))
    }

    #[test]
    fn time_is_held_against_the_slot() {
        assert_eq!(fit(""), TimeFit::NoSlot);
        assert_eq!(fit("Slot: 45 min"), TimeFit::Fits { left: Span::from_secs(6 * 60 + 50) });
        // Lead-in counted: 38:10 in 38 minutes. The piece is longer, but it cannot give.
        let over = TimeFit::Over { by: Span::from_secs(10), could_give: Some(BlockIndex(4)) };
        assert_eq!(fit("Slot: 38 min"), over);
    }
}
