//! The devices and what goes to and fro between them and the server.

use floorbell_client::device::Device;
use floorbell_core::time::Span;
use floorbell_core::wire::{Outcome, ToDevice};

use super::{Happening, World};
use crate::server::{Place, Said};

impl World {
    pub(super) fn connect(&mut self, who: Place) {
        let phone = &mut self.phones[who];
        let Some(device) = phone.device.as_mut().filter(|device| !device.is_connected()) else {
            return;
        };
        if !self.server.up || self.now < phone.out_until {
            return self.later(0.5, 4.0, Happening::Connect { who });
        }
        phone.connection += 1;
        let connection = phone.connection;
        device.connected();
        self.pump(who);
        self.at(Span::ZERO, Happening::Exchange { who, connection });
        self.later(2.0, 120.0, Happening::Lose { who, connection });
    }

    pub(super) fn lose(&mut self, who: Place) {
        let phone = &mut self.phones[who];
        phone.connection += 1;
        if let Some(device) = &mut phone.device {
            device.lost();
        }
        self.server.lost(who);
        // Most come back within seconds; a phone in a cellar takes minutes.
        let away = if self.calm || !self.chance.happens(0.15) { 5.0 } else { 300.0 };
        self.later(0.1, away, Happening::Connect { who });
    }

    pub(super) fn exchange(&mut self, who: Place, connection: u32) {
        let phone = &mut self.phones[who];
        let time = phone.time(self.now);
        let Some(device) = phone.device.as_mut().filter(|_| phone.connection == connection) else {
            return;
        };
        device.exchange(time);
        self.pump(who);
        if !self.calm {
            self.later(5.0, 40.0, Happening::Exchange { who, connection });
        }
    }

    /// Sends and writes what a device has to send and to write.
    pub(super) fn pump(&mut self, who: Place) {
        while self.phones[who].begin_write() {
            let life = self.phones[who].life;
            // One after the other: a later write is never done before an earlier one.
            self.at(Span::from_millis(30), Happening::EndWrite { who, life });
        }
        while let Some(message) = self.phones[who].device.as_mut().and_then(Device::next_message) {
            for after in self.network.deliveries(&mut self.chance) {
                let message = message.clone();
                self.at(after, Happening::ToServer { from: who, message });
            }
        }
    }

    pub(super) fn device_hears(&mut self, to: Place, connection: u32, message: &ToDevice) {
        let phone = &mut self.phones[to];
        let time = phone.time(self.now);
        let Some(device) = phone.device.as_mut().filter(|_| phone.connection == connection) else {
            return;
        };
        device.heard(message, time);
        if let ToDevice::Answer { to, outcome: Outcome::Done { .. } } = message
            && self.calls.contains(to)
        {
            self.acknowledged.insert(*to);
        }
        self.pump(to);
    }

    pub(super) fn say(&mut self, said: Said) {
        for (to, message) in said {
            let connection = self.phones[to].connection;
            for after in self.network.deliveries(&mut self.chance) {
                let message = Box::new(message.clone());
                self.at(after, Happening::ToDevice { to, connection, message });
            }
        }
    }

    pub(super) fn phone_down(&mut self, who: Place) {
        if !self.ending && self.phones[who].device.is_some() {
            self.phones[who].go_down(&mut self.chance);
            self.server.lost(who);
            self.later(0.5, 60.0, Happening::PhoneUp { who });
        }
        self.later(60.0, 600.0, Happening::PhoneDown { who });
    }
}
