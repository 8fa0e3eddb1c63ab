//! The server, its bells, its disk and its crashes.

use floorbell_core::wire::FromDevice;

use super::{COACH, Happening, World};
use crate::network::secs;
use crate::server::{Place, Server};

impl World {
    pub(super) fn server_hears(&mut self, from: Place, message: FromDevice) {
        if !self.server.up {
            return;
        }
        let said = match &message {
            FromDevice::Tap { tap } if !self.calm && self.chance.happens(0.03) => {
                Server::turn_away(from, tap.id)
            }
            _ => self.server.heard(self.now, from, message),
        };
        self.say(said);
        self.after_server();
    }

    /// Sees to it that what was decided is committed, and that the next bell goes.
    pub(super) fn after_server(&mut self) {
        if self.server.has_to_commit() && !self.committing {
            self.committing = true;
            let life = self.server_life;
            let slow = if self.chance.happens(0.03) { 3.0 } else { 0.03 };
            self.later(0.001, slow, Happening::Commit { life });
        }
        let bell = self.server.class.next_deadline();
        if bell != self.bell {
            self.bell = bell;
            if let Some(due) = bell {
                let late = secs(self.chance.between(0.0, 0.05));
                self.at((due - self.now).at_least_zero() + late, Happening::Bell);
            }
        }
    }

    pub(super) fn commit(&mut self, life: u32) {
        if life != self.server_life {
            return;
        }
        self.committing = false;
        let fails = !self.calm && self.chance.happens(0.02);
        let said = if fails { self.server.fail_to_commit() } else { self.server.commit() };
        self.say(said);
        self.after_server();
    }

    pub(super) fn server_down(&mut self) {
        self.server.crash();
        self.server_life += 1;
        (self.committing, self.bell) = (false, None);
        if !self.ending && self.chance.happens(0.1) {
            let (begun, all) = (self.server.begun, self.server.journal.len());
            self.server.restore(begun + self.chance.index(all - begun + 1));
            self.acknowledged.clear();
        }
        for who in 0..=COACH {
            if self.phones[who].is_connected() {
                self.lose(who);
            }
        }
        let down = if self.chance.happens(0.8) { 3.0 } else { 90.0 };
        self.later(0.1, down, Happening::ServerUp);
        self.later(30.0, 400.0, Happening::ServerDown);
    }

    pub(super) fn server_up(&mut self) {
        if !self.server.up {
            self.server.start();
            self.after_server();
        }
    }
}
