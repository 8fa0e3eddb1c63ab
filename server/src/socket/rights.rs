//! Who may send what. The one table: whatever is not in it is refused before a class sees it. Whose
//! counts a phone may change is decided by the class.

use floorbell_core::wire::{Ask, FromDevice};

use crate::house::Identity;

/// Whether a device may send a message.
pub(super) fn may_send(identity: &Identity, message: &FromDevice) -> bool {
    match identity {
        Identity::Coach { .. } => who_sends(message).coach,
        Identity::Athlete { .. } => who_sends(message).athlete,
        Identity::Wall { .. } => who_sends(message).wall,
    }
}

struct Senders {
    coach: bool,
    athlete: bool,
    wall: bool,
}

const ALL: Senders = Senders { coach: true, athlete: true, wall: true };
const COACH: Senders = Senders { coach: true, athlete: false, wall: false };
const ATHLETE: Senders = Senders { coach: false, athlete: true, wall: false };
const COACH_AND_ATHLETE: Senders = Senders { coach: true, athlete: true, wall: false };

fn who_sends(message: &FromDevice) -> Senders {
    match message {
        FromDevice::Hello { .. }
        | FromDevice::Sync { .. }
        | FromDevice::Report { .. }
        | FromDevice::StopSeen { .. } => ALL,
        FromDevice::Call { .. } | FromDevice::TakeBack { .. } => COACH,
        FromDevice::Tap { .. } | FromDevice::Undo { .. } => COACH_AND_ATHLETE,
        FromDevice::Ask { ask, .. } => match ask {
            Ask::EnterExtra { .. }
            | Ask::SetTally { .. }
            | Ask::Choose { .. }
            | Ask::ShowName { .. } => COACH_AND_ATHLETE,
            Ask::Question { .. } => ATHLETE,
            Ask::Answered { .. }
            | Ask::AddAthlete { .. }
            | Ask::RemoveAthlete { .. }
            | Ask::Note { .. }
            | Ask::Trim { .. }
            | Ask::Swap { .. }
            | Ask::Wall { .. }
            | Ask::Close => COACH,
        },
    }
}
