//! What a coach does next, who makes more mistakes in a class than most do in a year.

use floorbell_client::Chance;
use floorbell_core::class::clock::Phase;
use floorbell_core::class::command::Call;
use floorbell_core::ids::{RequestId, SegmentIndex};
use floorbell_core::score::Tally;
use floorbell_core::time::Span;
use floorbell_core::wire::Ask;

use crate::world::{ATHLETES, athlete};

/// Something that a coach does.
pub(crate) enum Act {
    Call(Call),
    TakeBack(RequestId),
    Ask(Ask),
}

/// Chooses by what the coach device shows; `last` is the call that can be taken back.
pub(crate) fn choose(
    phase: Phase,
    stopped: bool,
    last: Option<RequestId>,
    chance: &mut Chance,
) -> Option<Act> {
    if let Some(of) = last.filter(|_| chance.happens(0.25)) {
        return Some(Act::TakeBack(of));
    }
    if stopped {
        return Some(Act::Call(Call::Resume));
    }
    let work = SegmentIndex([1, 3][chance.index(2)]);
    let call = match phase {
        Phase::Gathering => Call::Start,
        Phase::Done => Call::Jump { to: work },
        Phase::Waiting { .. } => Call::Restart,
        Phase::Held { .. } if chance.happens(0.9) => Call::Resume,
        Phase::Held { segment, .. } | Phase::Running { segment, .. } => match chance.index(20) {
            0..4 => Call::Hold,
            4 => Call::Stop,
            5..8 => Call::AddTime { span: Span::from_secs(60) },
            8 => Call::AddTime { span: Span::from_secs(-45) },
            9 | 10 => Call::Next,
            11 => Call::Back,
            12 => Call::Restart,
            13 => Call::Jump { to: work },
            14 => Call::Finish,
            15 => return Some(Act::Ask(correction(segment, chance))),
            _ => return None,
        },
    };
    Some(Act::Call(call))
}

/// The coach saw it otherwise.
fn correction(segment: SegmentIndex, chance: &mut Chance) -> Ask {
    let athlete = athlete(chance.index(ATHLETES as usize) as u128);
    let tally = Tally::Rounds { rounds: chance.index(12) as u32, extra: 0 };
    Ask::SetTally { athlete, segment, tally }
}
