//! From a message that asks for something to an errand for its class.

use std::sync::Arc;

use floorbell_core::class::command::{Actor, Command};
use floorbell_core::class::refusal::Refusal;
use floorbell_core::ids::{AthleteId, RequestId};
use floorbell_core::name::Name;
use floorbell_core::wire::{Ask, FromDevice, Outcome, ToDevice};

use super::read::Reader;
use crate::access::PairedKind;
use crate::class_task::{ClassHandle, Deed, Errand, No, Reply, Urgent};
use crate::house::Identity;

pub(super) fn too_much() -> No {
    No::new("too-much", "This device sends more than a person can: it waits a little.")
}

fn not_allowed() -> No {
    Refusal::CoachOnly.into()
}

fn no_class() -> No {
    No::new("no-class", "There is no class here, or it has ended.")
}

impl Reader<'_> {
    /// Hands a stop or hold to the class.
    pub(super) fn call_urgently(&self, urgent: Urgent) {
        match self.house.class_of(&self.identity) {
            Some(class) => class.ask_urgently(urgent),
            None => urgent.answer(no_class().into()),
        }
    }

    /// Hands what a device asks for to its class.
    pub(super) fn hand_on(&self, message: FromDevice) {
        let Some(reply) = self.reply(&message) else { return };
        let Some(class) = self.class_for(&message) else {
            // No class has looked at it: a tap stays on its device until one has.
            return reply.no(no_class(), true);
        };
        match (self.actor(), self.deed(message)) {
            (Some(by), Ok(deed)) => class.ask(Errand { by, deed, reply }),
            (_, Err(no)) => reply.no(no, false),
            // Walls ask for nothing, which the rights have seen to.
            (None, Ok(_)) => reply.no(not_allowed(), false),
        }
    }

    /// The class that a message is for: that of the athlete whom a coach device or tally tablet
    /// counts for, which may be closed by now; else the one that the device follows. A tap is for the
    /// class that it was made in and no other, which would refuse it for good.
    fn class_for(&self, message: &FromDevice) -> Option<Arc<ClassHandle>> {
        let follows = || self.house.class_of(&self.identity);
        match (&self.identity, counts_for(message)) {
            (Identity::Athlete { .. }, _) | (_, None) => follows(),
            (Identity::Coach { .. } | Identity::Paired { .. }, Some(athlete)) => {
                let class = self.house.class_with(athlete);
                class.or_else(|| follows().filter(|_| !matches!(message, FromDevice::Tap { .. })))
            }
        }
    }

    /// Lets a wall or tally tablet in or turns it away. On a task of its own, for it waits for the disk, and a
    /// coach device has to be heard all the while.
    pub(super) fn settle_pairing(&self, to: RequestId, number: u32, accept: bool) {
        let (house, outlet) = (self.house.clone(), self.outlet.clone());
        tokio::spawn(async move {
            let outcome: Outcome = house.settle_pairing(number, accept).await;
            outlet.send(&ToDevice::Answer { to, outcome });
        });
    }

    /// Where the answer to a message goes, if it has one of its own.
    pub(super) fn reply(&self, message: &FromDevice) -> Option<Reply> {
        let outlet = self.outlet.clone();
        match message {
            FromDevice::Tap { tap } => Some(Reply::Tap(outlet, tap.athlete, tap.id)),
            FromDevice::Call { id, .. }
            | FromDevice::TakeBack { id, .. }
            | FromDevice::Undo { id, .. }
            | FromDevice::Ask { id, .. } => Some(Reply::Device(outlet, *id)),
            FromDevice::Hello { .. }
            | FromDevice::Sync { .. }
            | FromDevice::Report { .. }
            | FromDevice::StopSeen { .. } => None,
        }
    }

    pub(super) fn actor(&self) -> Option<Actor> {
        match self.identity {
            Identity::Coach { .. } => Some(Actor::Coach { device: self.device }),
            Identity::Athlete { athlete, .. } => {
                Some(Actor::Athlete { athlete, device: self.device })
            }
            Identity::Paired { paired, .. } => match paired.kind {
                PairedKind::Wall => None,
                PairedKind::Tablet => {
                    Some(Actor::Tablet { tablet: paired.device, device: self.device })
                }
            },
        }
    }

    fn deed(&self, message: FromDevice) -> Result<Deed, No> {
        Ok(match message {
            FromDevice::Call { id, call, seen } => Deed::Command(Command::Call { id, call, seen }),
            FromDevice::TakeBack { id, of } => Deed::Command(Command::TakeBack { id, of }),
            FromDevice::Tap { tap } => {
                let connected_since = self.seat.connected_since();
                Deed::Command(Command::Tap { tap, connected_since })
            }
            FromDevice::Undo { athlete, of, .. } => Deed::Command(Command::Undo { athlete, of }),
            FromDevice::Ask { ask: Ask::Assign { number, athletes }, .. } => {
                Deed::Command(Command::Assign { tablet: self.house.tablet(number)?, athletes })
            }
            FromDevice::Ask { ask, .. } => return asked(ask),
            FromDevice::Hello { .. }
            | FromDevice::Sync { .. }
            | FromDevice::Report { .. }
            | FromDevice::StopSeen { .. } => return Err(not_allowed()),
        })
    }
}

/// Whose count a message changes.
fn counts_for(message: &FromDevice) -> Option<AthleteId> {
    match message {
        FromDevice::Tap { tap } => Some(tap.athlete),
        FromDevice::Undo { athlete, .. }
        | FromDevice::Ask {
            ask: Ask::EnterExtra { athlete, .. } | Ask::SetTally { athlete, .. },
            ..
        } => Some(*athlete),
        _ => None,
    }
}

fn asked(ask: Ask) -> Result<Deed, No> {
    Ok(match ask {
        Ask::EnterExtra { athlete, segment, reached } => {
            Deed::Command(Command::EnterExtra { athlete, segment, reached })
        }
        Ask::SetTally { athlete, segment, tally } => {
            Deed::Command(Command::SetTally { athlete, segment, tally })
        }
        Ask::LetCount { athlete, counter } => Deed::Command(Command::LetCount { athlete, counter }),
        Ask::Team { teams } => Deed::Command(Command::Team { teams }),
        Ask::Settle { athlete, segment, settlement } => {
            Deed::Command(Command::Settle { athlete, segment, settlement })
        }
        Ask::Choose { athlete, choice } => Deed::Command(Command::Choose { athlete, choice }),
        Ask::ShowName { athlete, shown } => Deed::ShowName { athlete, shown },
        Ask::Question { text } => Deed::Question(text),
        Ask::Answered { question } => Deed::Answered(question),
        Ask::AddAthlete { name, at_home, here } => {
            let name = Name::new(&name).map_err(|problem| No::new("name", problem.to_string()))?;
            Deed::Add { name, at_home, here }
        }
        Ask::RemoveAthlete { athlete } => Deed::Remove(athlete),
        Ask::Note { athlete, first_class, told_me } => Deed::Note { athlete, first_class, told_me },
        Ask::Trim { segment, trim } => Deed::Command(Command::Trim { segment, trim }),
        Ask::Swap { block, movement, option } => {
            Deed::Command(Command::Swap { block, movement, option })
        }
        Ask::Close => Deed::Command(Command::Close),
        // These need the house: taken before.
        Ask::Wall { .. } | Ask::Assign { .. } => return Err(not_allowed()),
    })
}
