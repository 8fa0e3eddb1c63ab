//! Who may send what. The one table: whatever is not in it is refused before a class sees it. Whose
//! counts a phone or tally tablet may change is decided by the class.

use floorbell_core::class::refusal::Refusal;
use floorbell_core::wire::{Ask, FromDevice};

use crate::access::PairedKind;
use crate::class_task::No;
use crate::house::Identity;

/// Lets a message pass, or says who alone may send it.
pub(super) fn check(identity: &Identity, message: &FromDevice) -> Result<(), No> {
    let senders = who_sends(message);
    let may = match identity {
        Identity::Coach { .. } => senders.coach,
        Identity::Athlete { .. } => senders.athlete,
        Identity::Paired { paired, .. } => match paired.kind {
            PairedKind::Wall => senders.wall,
            PairedKind::Tablet => senders.tablet,
        },
    };
    match senders {
        _ if may => Ok(()),
        Senders { coach: true, .. } => Err(Refusal::CoachOnly.into()),
        Senders { .. } => Err(No::new("athlete-only", "Only an athlete's phone can do that.")),
    }
}

#[expect(clippy::struct_excessive_bools, reason = "a row of the table, one column for each role")]
struct Senders {
    coach: bool,
    athlete: bool,
    tablet: bool,
    wall: bool,
}

const NOBODY: Senders = Senders { coach: false, athlete: false, tablet: false, wall: false };
const ALL: Senders = Senders { coach: true, athlete: true, tablet: true, wall: true };
const COACH: Senders = Senders { coach: true, ..NOBODY };
const ATHLETE: Senders = Senders { athlete: true, ..NOBODY };
const COACH_AND_ATHLETE: Senders = Senders { coach: true, athlete: true, ..NOBODY };
const WHO_COUNTS: Senders = Senders { tablet: true, ..COACH_AND_ATHLETE };

fn who_sends(message: &FromDevice) -> Senders {
    match message {
        FromDevice::Hello { .. }
        | FromDevice::Sync { .. }
        | FromDevice::Report { .. }
        | FromDevice::StopSeen { .. } => ALL,
        FromDevice::Call { .. } | FromDevice::TakeBack { .. } => COACH,
        FromDevice::Tap { .. } | FromDevice::Undo { .. } => WHO_COUNTS,
        FromDevice::Ask { ask, .. } => match ask {
            Ask::EnterExtra { .. } | Ask::SetTally { .. } => WHO_COUNTS,
            Ask::Choose { .. } | Ask::ShowName { .. } | Ask::LetCount { .. } => COACH_AND_ATHLETE,
            Ask::Question { .. } => ATHLETE,
            Ask::Answered { .. }
            | Ask::AddAthlete { .. }
            | Ask::RemoveAthlete { .. }
            | Ask::Note { .. }
            | Ask::Team { .. }
            | Ask::Assign { .. }
            | Ask::Settle { .. }
            | Ask::Trim { .. }
            | Ask::Swap { .. }
            | Ask::Wall { .. }
            | Ask::Close => COACH,
        },
    }
}
