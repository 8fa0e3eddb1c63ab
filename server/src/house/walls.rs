//! Walls that wait for the coach. They are kept in memory alone: a wall that was not let in before
//! the server stopped asks again.

use std::sync::{Mutex, MutexGuard, PoisonError};

use floorbell_core::ids::DeviceId;
use floorbell_core::time::{HouseTime, Span};

use floorbell_core::wire::{Outcome, Role};

use super::outlet::Goodbye;
use super::{House, HouseProblem, Identity};
use crate::access::{Holder, TokenHash, random_id};
use crate::class_task::No;
use crate::store::{Grant, Record, Wall};

/// Walls that may wait at once: more than a house has.
const WAITING_MAX: usize = 16;

/// When the list is full, a wall that has waited this long makes room for the next.
const WAITED_LONG: Span = Span::from_mins(10);

/// A wall that waits.
#[derive(Clone, Copy, Debug)]
pub(super) struct Waiting {
    pub(super) number: u32,
    pub(super) wall: DeviceId,
    pub(super) token: TokenHash,
    since: HouseTime,
}

/// All walls that wait, the longest first.
#[derive(Debug, Default)]
pub(super) struct WaitingWalls(Mutex<Vec<Waiting>>);

impl WaitingWalls {
    /// Adds a wall under the least number that neither a waiting nor a known wall has. Says also
    /// whose place it took.
    pub(super) fn add(
        &self,
        token: TokenHash,
        known: &[u32],
        now: HouseTime,
    ) -> Result<(Waiting, Option<DeviceId>), HouseProblem> {
        let mut walls = self.all();
        let mut gone = None;
        if walls.len() >= WAITING_MAX {
            if now - walls[0].since < WAITED_LONG {
                return Err(HouseProblem::TooManyWalls);
            }
            gone = Some(walls.remove(0).wall);
        }
        let used = |number| known.contains(&number) || walls.iter().any(|it| it.number == number);
        let mut number = 1;
        while used(number) {
            number += 1;
        }
        let waiting = Waiting { number, wall: DeviceId(random_id()), token, since: now };
        walls.push(waiting);
        Ok((waiting, gone))
    }

    pub(super) fn by_token(&self, token: &TokenHash) -> Option<Waiting> {
        self.all().iter().find(|wall| wall.token == *token).copied()
    }

    pub(super) fn by_number(&self, number: u32) -> Option<Waiting> {
        self.all().iter().find(|wall| wall.number == number).copied()
    }

    pub(super) fn by_wall(&self, wall: DeviceId) -> Option<Waiting> {
        self.all().iter().find(|waiting| waiting.wall == wall).copied()
    }

    pub(super) fn remove(&self, wall: DeviceId) {
        self.all().retain(|waiting| waiting.wall != wall);
    }

    pub(super) fn numbers(&self) -> Vec<u32> {
        self.all().iter().map(|wall| wall.number).collect()
    }

    fn all(&self) -> MutexGuard<'_, Vec<Waiting>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

const TURNED_AWAY: Goodbye = Goodbye {
    code: 1008,
    reason: "The coach has turned this wall away. Load the page to ask again.",
};

const WAITED_TOO_LONG: Goodbye =
    Goodbye { code: 1008, reason: "Nobody let this wall in. Load the page to ask again." };

impl House {
    /// Keeps a wall that waits to be let in under the hash of the token that it was given, and
    /// says the number that it is to show. Once the coach lets it in, the store knows its token.
    pub fn pair_wall(&self, token: TokenHash) -> Result<u32, HouseProblem> {
        let known: Vec<u32> = self.inner.lobby.borrow().walls.values().copied().collect();
        let (waiting, gone) = self.inner.waiting.add(token, &known, self.clock().now())?;
        if let Some(gone) = gone {
            self.end_wall(gone, WAITED_TOO_LONG);
        }
        self.devices().tell();
        Ok(waiting.number)
    }

    /// Who a token is if it is that of a wall that waits.
    pub fn waiting_wall(&self, token: &TokenHash) -> Option<Identity> {
        let waiting = self.inner.waiting.by_token(token)?;
        Some(Identity::Wall { wall: waiting.wall, accepted: false })
    }

    /// Lets the wall of a number in, or turns it away, whether it waits or was let in before.
    pub(crate) async fn settle_wall(&self, number: u32, accept: bool) -> Outcome {
        let waiting = self.inner.waiting.by_number(number);
        let known =
            self.inner.lobby.borrow().walls.iter().find(|it| *it.1 == number).map(|it| *it.0);
        let done = match (accept, waiting, known) {
            (true, Some(waiting), _) => self.let_wall_in(waiting).await,
            (true, None, Some(_)) => Ok(()),
            (false, Some(waiting), _) => {
                self.inner.waiting.remove(waiting.wall);
                self.end_wall(waiting.wall, TURNED_AWAY);
                Ok(())
            }
            (false, None, Some(wall)) => self.forget_wall(wall, number).await,
            (_, None, None) => {
                Err(No::new("no-such-wall", "No wall has that number: look at the wall again."))
            }
        };
        self.devices().tell();
        done.map_or_else(Outcome::from, |()| Outcome::Done { link: None })
    }

    async fn let_wall_in(&self, waiting: Waiting) -> Result<(), No> {
        let Waiting { number, wall, token, .. } = waiting;
        let now = self.clock().wall();
        let holder = Holder::Wall(wall);
        let records = vec![
            Record::Wall(Wall { device: wall, number, accepted: now }),
            Record::Grant(Grant { token, holder, created: now, last_seen: now }),
        ];
        self.inner.store.write(records).await.map_err(No::disk)?;
        // It is known before it ceases to wait: at no instant is it neither.
        self.inner.lobby.send_modify(|lobby| {
            lobby.walls.insert(wall, number);
        });
        self.inner.waiting.remove(wall);
        self.devices().set_role(wall, Role::Wall { accepted: true, number });
        Ok(())
    }

    async fn forget_wall(&self, wall: DeviceId, number: u32) -> Result<(), No> {
        self.inner.store.write(vec![Record::ForgetWall(wall)]).await.map_err(No::disk)?;
        self.inner.lobby.send_modify(|lobby| {
            lobby.walls.remove(&wall);
        });
        self.devices().set_role(wall, Role::Wall { accepted: false, number });
        self.end_wall(wall, TURNED_AWAY);
        Ok(())
    }

    fn end_wall(&self, wall: DeviceId, goodbye: Goodbye) {
        self.devices().end(goodbye, |identity| match identity {
            Identity::Wall { wall: it, .. } => *it == wall,
            Identity::Coach { .. } | Identity::Athlete { .. } => false,
        });
    }

    /// What a connection is here; nothing for a wall that was turned away.
    pub(crate) fn role(&self, identity: &Identity) -> Option<Role> {
        match identity {
            Identity::Coach { .. } => Some(Role::Coach),
            Identity::Athlete { athlete, .. } => Some(Role::Athlete { athlete: *athlete }),
            Identity::Wall { wall, .. } => {
                let known = self.inner.lobby.borrow().walls.get(wall).copied();
                let let_in = known.map(|number| Role::Wall { accepted: true, number });
                let waits = || {
                    let number = self.inner.waiting.by_wall(*wall)?.number;
                    Some(Role::Wall { accepted: false, number })
                };
                let_in.or_else(waits)
            }
        }
    }
}
