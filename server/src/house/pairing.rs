//! Walls and tally tablets that wait for the coach, and how they are let in and turned away: all by
//! the number that they show, which no two of them share. Who waits is kept in memory alone: one
//! that was not let in before the server stopped asks again.

use std::sync::{Mutex, MutexGuard, PoisonError};

use floorbell_core::ids::DeviceId;
use floorbell_core::time::{HouseTime, Span};
use floorbell_core::wire::{Outcome, Role};

use super::outlet::Goodbye;
use super::{House, HouseProblem, Identity};
use crate::access::{Holder, Paired, PairedKind, TokenHash, random_id};
use crate::class_task::No;
use crate::store::{Grant, Pairing, Record};

/// Devices that may wait at once: more than a house has.
const WAITING_MAX: usize = 16;

/// When the list is full, a device that has waited this long makes room for the next.
const WAITED_LONG: Span = Span::from_mins(10);

/// A device that waits.
#[derive(Clone, Copy, Debug)]
struct Waiting {
    number: u32,
    paired: Paired,
    token: TokenHash,
    since: HouseTime,
}

/// All devices that wait, the longest first.
#[derive(Debug, Default)]
pub(super) struct WaitingList(Mutex<Vec<Waiting>>);

impl WaitingList {
    /// Adds a device under the least number that neither a waiting nor a known one has. Says also
    /// whose place it took.
    fn add(
        &self,
        (kind, token): (PairedKind, TokenHash),
        known: &[u32],
        now: HouseTime,
    ) -> Result<(Waiting, Option<Paired>), HouseProblem> {
        let mut all = self.all();
        let mut gone = None;
        if all.len() >= WAITING_MAX {
            if now - all[0].since < WAITED_LONG {
                return Err(HouseProblem::TooManyWait);
            }
            gone = Some(all.remove(0).paired);
        }
        let used = |number| known.contains(&number) || all.iter().any(|it| it.number == number);
        let mut number = 1;
        while used(number) {
            number += 1;
        }
        let paired = Paired { kind, device: DeviceId(random_id()) };
        let waiting = Waiting { number, paired, token, since: now };
        all.push(waiting);
        Ok((waiting, gone))
    }

    fn find(&self, wanted: impl Fn(&Waiting) -> bool) -> Option<Waiting> {
        self.all().iter().find(|waiting| wanted(waiting)).copied()
    }

    fn remove(&self, paired: Paired) {
        self.all().retain(|waiting| waiting.paired != paired);
    }

    /// The numbers of those of a kind.
    pub(super) fn numbers(&self, kind: PairedKind) -> Vec<u32> {
        let all = self.all();
        all.iter().filter(|it| it.paired.kind == kind).map(|it| it.number).collect()
    }

    fn all(&self) -> MutexGuard<'_, Vec<Waiting>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

const TURNED_AWAY: Goodbye = Goodbye {
    code: 1008,
    reason: "The coach has turned this device away. Load the page to ask again.",
};

const WAITED_TOO_LONG: Goodbye =
    Goodbye { code: 1008, reason: "Nobody let this device in. Load the page to ask again." };

impl House {
    /// Keeps a device that waits to be let in under the hash of the token that it was given, and
    /// says the number that it is to show. Once the coach lets it in, the store knows its token.
    pub fn pair(&self, kind: PairedKind, token: TokenHash) -> Result<u32, HouseProblem> {
        let known: Vec<u32> = self.inner.lobby.borrow().paired.values().copied().collect();
        let (waiting, gone) = self.inner.waiting.add((kind, token), &known, self.clock().now())?;
        if let Some(gone) = gone {
            self.end_paired(gone, WAITED_TOO_LONG);
        }
        self.devices().tell();
        Ok(waiting.number)
    }

    /// Who a token is if it is that of a device that waits.
    pub fn waiting(&self, token: &TokenHash) -> Option<Identity> {
        let waiting = self.inner.waiting.find(|waiting| waiting.token == *token)?;
        Some(Identity::Paired { paired: waiting.paired, accepted: false })
    }

    /// Lets the device of a number in, or turns it away, whether it waits or was let in before.
    pub(crate) async fn settle_pairing(&self, number: u32, accept: bool) -> Outcome {
        let waiting = self.inner.waiting.find(|waiting| waiting.number == number);
        let known =
            self.inner.lobby.borrow().paired.iter().find(|it| *it.1 == number).map(|it| *it.0);
        let done = match (accept, waiting, known) {
            (true, Some(waiting), _) => self.let_paired_in(waiting).await,
            (true, None, Some(_)) => Ok(()),
            (false, Some(waiting), _) => {
                self.inner.waiting.remove(waiting.paired);
                self.end_paired(waiting.paired, TURNED_AWAY);
                Ok(())
            }
            (false, None, Some(paired)) => self.forget_paired(paired, number).await,
            (_, None, None) => Err(No::new(
                "no-such-wall",
                "No wall or tally tablet has that number: look at the screen again.",
            )),
        };
        self.devices().tell();
        done.map_or_else(Outcome::from, |()| Outcome::Done { link: None })
    }

    async fn let_paired_in(&self, waiting: Waiting) -> Result<(), No> {
        let Waiting { number, paired, token, .. } = waiting;
        let now = self.clock().wall();
        let holder = Holder::Paired(paired);
        let records = vec![
            Record::Pairing(Pairing { paired, number, accepted: now }),
            Record::Grant(Grant { token, holder, created: now, last_seen: now }),
        ];
        self.inner.store.write(records).await.map_err(No::disk)?;
        // It is known before it ceases to wait: at no instant is it neither.
        self.inner.lobby.send_modify(|lobby| {
            lobby.paired.insert(paired, number);
        });
        self.inner.waiting.remove(paired);
        self.devices().set_role(paired, role(paired.kind, true, number));
        Ok(())
    }

    async fn forget_paired(&self, paired: Paired, number: u32) -> Result<(), No> {
        self.inner.store.write(vec![Record::Unpair(paired.device)]).await.map_err(No::disk)?;
        self.inner.lobby.send_modify(|lobby| {
            lobby.paired.remove(&paired);
        });
        self.devices().set_role(paired, role(paired.kind, false, number));
        self.end_paired(paired, TURNED_AWAY);
        Ok(())
    }

    fn end_paired(&self, paired: Paired, goodbye: Goodbye) {
        self.devices().end(goodbye, |identity| match identity {
            Identity::Paired { paired: it, .. } => *it == paired,
            Identity::Coach { .. } | Identity::Athlete { .. } => false,
        });
    }

    /// The tally tablet of a number, if the coach has let it in.
    pub(crate) fn tablet(&self, number: u32) -> Result<DeviceId, No> {
        let lobby = self.inner.lobby.borrow();
        let mut known = lobby.paired.iter();
        known
            .find(|(paired, its)| paired.kind == PairedKind::Tablet && **its == number)
            .map(|(paired, _)| paired.device)
            .ok_or_else(|| {
                No::new(
                    "no-such-tablet",
                    "No tally tablet that was let in has that number: let it in first.",
                )
            })
    }

    /// What a connection is here; nothing for a device that was turned away.
    pub(crate) fn role(&self, identity: &Identity) -> Option<Role> {
        match identity {
            Identity::Coach { .. } => Some(Role::Coach),
            Identity::Athlete { athlete, .. } => Some(Role::Athlete { athlete: *athlete }),
            Identity::Paired { paired, .. } => {
                let known = self.inner.lobby.borrow().paired.get(paired).copied();
                let let_in = known.map(|number| role(paired.kind, true, number));
                let waits = || {
                    let number = self.inner.waiting.find(|it| it.paired == *paired)?.number;
                    Some(role(paired.kind, false, number))
                };
                let_in.or_else(waits)
            }
        }
    }
}

/// What a paired device is on the wire.
const fn role(kind: PairedKind, accepted: bool, number: u32) -> Role {
    match kind {
        PairedKind::Wall => Role::Wall { accepted, number },
        PairedKind::Tablet => Role::Tablet { accepted, number },
    }
}
