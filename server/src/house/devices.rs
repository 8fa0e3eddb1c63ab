//! The devices that follow the house: which are connected, how they are doing, and how to reach
//! them.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use floorbell_core::ids::{AthleteId, ClassId, DeviceId, Revision};
use floorbell_core::time::{HouseTime, Span};
use floorbell_core::wire::{DeviceLine, Role};
use tokio::sync::Notify;

use super::Identity;
use super::outlet::{Goodbye, Outlet};
use super::rate::{Rate, Rates, Sender};
use crate::access::Paired;

/// Devices that are remembered: those of the largest class and of the one before it.
const DEVICES_MAX: usize = 512;

/// Connections at once: 200 phones with a few walls and coach devices, at some 10 KiB each.
const CONNECTIONS_MAX: usize = 256;

/// Connections of one sender at once, and devices of theirs that are remembered: a few open tabs, a
/// second phone, and dead ones that were not noticed yet. An athlete's token lets in no more, whatever
/// device ids it is shown with: nobody takes the room of others.
const OF_ONE_MAX: usize = 8;

/// What the server ends a connection with that it has no room for (RFC 6455 registry: try later).
pub(crate) const FULL: Goodbye =
    Goodbye { code: 1013, reason: "The house is full: too many devices. Try again later." };

/// Under which identity a device follows. The device makes its id itself, so that alone says
/// nothing: a phone that uses a wall's id is still a phone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Follower {
    Coach,
    Paired(Paired),
    Athlete(ClassId, AthleteId),
}

impl From<Identity> for Follower {
    fn from(identity: Identity) -> Self {
        match identity {
            Identity::Coach { .. } => Self::Coach,
            Identity::Paired { paired, .. } => Self::Paired(paired),
            Identity::Athlete { class, athlete } => Self::Athlete(class, athlete),
        }
    }
}

type Key = (Follower, DeviceId);

/// All devices of the house.
#[derive(Debug, Default)]
pub(crate) struct Devices {
    all: Mutex<All>,
    /// Told when what coaches see of a device changes.
    changed: Notify,
}

#[derive(Debug, Default)]
struct All {
    devices: BTreeMap<Key, Device>,
    rates: Rates,
    connections: usize,
    last_connection: u64,
}

#[derive(Debug)]
struct Device {
    role: Role,
    connections: Vec<Connection>,
    connected_since: HouseTime,
    heard: HouseTime,
    report: Option<Report>,
    stop_seen: Option<Revision>,
}

#[derive(Debug)]
struct Connection {
    number: u64,
    identity: Identity,
    outlet: Outlet,
}

/// How a device says that it is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Report {
    pub(crate) bound: Span,
    pub(crate) round_trip: Span,
    pub(crate) waiting: u32,
    pub(crate) refused: u32,
}

/// One connection of a device; dropping it takes it out of the house.
#[derive(Debug)]
pub(crate) struct Seat {
    devices: Arc<Devices>,
    key: Key,
    number: u64,
    rate: Arc<Rate>,
}

impl Devices {
    /// Takes a connection in.
    pub(crate) fn connect(
        self: &Arc<Self>,
        identity: Identity,
        device: DeviceId,
        role: Role,
        outlet: Outlet,
        now: HouseTime,
    ) -> Result<Seat, Goodbye> {
        let key = (Follower::from(identity), device);
        let (number, rate) = {
            let mut all = self.all();
            if all.connections >= CONNECTIONS_MAX || !all.make_room_for(key) {
                return Err(FULL);
            }
            all.last_connection += 1;
            let number = all.last_connection;
            let new = Device {
                role,
                connections: Vec::new(),
                connected_since: now,
                heard: now,
                report: None,
                stop_seen: None,
            };
            let device = all.devices.entry(key).or_insert(new);
            if device.connections.is_empty() {
                device.connected_since = now;
            }
            device.heard = now;
            device.role = role;
            device.connections.push(Connection { number, identity, outlet });
            all.connections += 1;
            (number, all.rates.of(sender(&key)))
        };
        self.changed.notify_one();
        Ok(Seat { devices: Arc::clone(self), key, number, rate })
    }

    /// Resolves when what coaches see of the devices has changed.
    pub(crate) async fn changed(&self) {
        self.changed.notified().await;
    }

    /// Says that something has changed that coaches see beside devices and class: a wall waits.
    pub(crate) fn tell(&self) {
        self.changed.notify_one();
    }

    /// The ways to all who follow a class: its athletes, the walls and tally tablets that
    /// were let in, all coaches.
    pub(crate) fn followers(&self, class: ClassId) -> Vec<Outlet> {
        self.outlets(|key, device| match key.0 {
            Follower::Coach => true,
            Follower::Paired(_) => device.role.is_let_in(),
            Follower::Athlete(of, _) => of == class,
        })
    }

    /// Ends the connections whose identity is to go.
    pub(crate) fn end(&self, goodbye: Goodbye, goes: impl Fn(&Identity) -> bool) {
        let all = self.all();
        let connections = all.devices.values().flat_map(|device| &device.connections);
        for connection in connections.filter(|connection| goes(&connection.identity)) {
            connection.outlet.end(goodbye);
        }
    }

    /// Notes that a wall or tally tablet was let in or turned away; one that was turned away is no
    /// longer shown.
    pub(crate) fn set_role(&self, paired: Paired, role: Role) {
        let follower = Follower::Paired(paired);
        let mut all = self.all();
        for (_, device) in all.devices.iter_mut().filter(|(key, _)| key.0 == follower) {
            device.role = role;
        }
        drop(all);
        self.changed.notify_one();
    }

    /// What coaches of a class see of the devices. `assigned` says for whom its tally tablets count,
    /// `stop` is the revision of the stop notice that stands now.
    pub(crate) fn lines(
        &self,
        class: Option<ClassId>,
        assigned: &BTreeMap<DeviceId, Vec<AthleteId>>,
        stop: Option<Revision>,
    ) -> Vec<DeviceLine> {
        let counts_for = |follower| match follower {
            Follower::Paired(paired) => assigned.get(&paired.device).cloned().unwrap_or_default(),
            Follower::Coach | Follower::Athlete(..) => Vec::new(),
        };
        let all = self.all();
        let follows = |key: &Key| match key.0 {
            Follower::Athlete(of, _) => Some(of) == class,
            Follower::Coach | Follower::Paired(_) => true,
        };
        all.devices
            .iter()
            .filter(|(key, device)| follows(key) && device.role.is_let_in())
            .map(|((follower, id), device)| DeviceLine {
                device: *id,
                role: device.role,
                counts_for: counts_for(*follower),
                connected: !device.connections.is_empty(),
                heard: device.heard,
                bound: device.report.map(|report| report.bound),
                round_trip: device.report.map(|report| report.round_trip),
                waiting: device.report.map_or(0, |report| report.waiting),
                refused: device.report.map_or(0, |report| report.refused),
                stop_seen: stop.is_some_and(|stop| device.stop_seen >= Some(stop)),
            })
            .collect()
    }

    /// When a phone of each athlete was last heard.
    pub(crate) fn heard(&self, class: ClassId) -> BTreeMap<AthleteId, HouseTime> {
        let mut heard = BTreeMap::new();
        for (key, device) in &self.all().devices {
            if let Follower::Athlete(of, athlete) = key.0
                && of == class
            {
                let last = heard.entry(athlete).or_insert(device.heard);
                *last = device.heard.max(*last);
            }
        }
        heard
    }

    fn outlets(&self, wanted: impl Fn(&Key, &Device) -> bool) -> Vec<Outlet> {
        self.all()
            .devices
            .iter()
            .filter(|(key, device)| wanted(key, device))
            .flat_map(|(_, device)| &device.connections)
            .map(|connection| connection.outlet.clone())
            .collect()
    }

    fn all(&self) -> MutexGuard<'_, All> {
        // Every change below is whole before anything in it could panic.
        self.all.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl All {
    /// Whether there is room for one more connection of a device, once the one that was silent
    /// longest is forgotten: of the same sender where that has too many, else of all.
    fn make_room_for(&mut self, key: Key) -> bool {
        let own = |other: &Key| sender(other) == sender(&key);
        let of_one = || self.devices.iter().filter(|(other, _)| own(other));
        if of_one().map(|(_, device)| device.connections.len()).sum::<usize>() >= OF_ONE_MAX {
            return false;
        }
        if self.devices.contains_key(&key) {
            return true;
        }
        if of_one().count() >= OF_ONE_MAX {
            return self.forget_one(own);
        }
        self.devices.len() < DEVICES_MAX || self.forget_one(|_| true)
    }

    /// Forgets the device that was silent longest of some; tells whether there was one.
    fn forget_one(&mut self, of: impl Fn(&Key) -> bool) -> bool {
        let gone =
            self.devices.iter().filter(|(key, device)| of(key) && device.connections.is_empty());
        let silent = gone.min_by_key(|(_, device)| device.heard).map(|(key, _)| *key);
        silent.is_some_and(|key| self.devices.remove(&key).is_some())
    }
}

fn sender(key: &Key) -> Sender {
    Sender::new(key.0, key.1)
}

impl Seat {
    /// Notes that the device was heard.
    pub(crate) fn heard(&self, now: HouseTime) {
        self.with(|device| device.heard = now);
    }

    /// Lets one more message of the sender through, or says how long it is until that fits.
    pub(crate) fn take_turn(&self) -> Result<(), Duration> {
        self.rate.take()
    }

    /// Since when the device has been connected without a break.
    pub(crate) fn connected_since(&self) -> HouseTime {
        self.with(|device| device.connected_since).unwrap_or_default()
    }

    /// Notes how the device is doing. Coaches see also of an unchanged report that it came: by what
    /// was last heard of a device they tell whether it is silent.
    pub(crate) fn report(&self, report: Report) {
        self.with(|device| device.report = Some(report));
        self.devices.changed.notify_one();
    }

    /// Notes that the device shows the stop notice.
    pub(crate) fn stop_seen(&self, revision: Revision) {
        self.with(|device| device.stop_seen = device.stop_seen.max(Some(revision)));
        self.devices.changed.notify_one();
    }

    fn with<T>(&self, change: impl FnOnce(&mut Device) -> T) -> Option<T> {
        self.devices.all().devices.get_mut(&self.key).map(change)
    }
}

impl Drop for Seat {
    fn drop(&mut self) {
        let mut all = self.devices.all();
        all.connections -= 1;
        if let Some(device) = all.devices.get_mut(&self.key) {
            device.connections.retain(|connection| connection.number != self.number);
        }
        drop(all);
        self.devices.changed.notify_one();
    }
}

/// Whether a device is more than a wall or tally tablet that waits.
trait LetIn {
    fn is_let_in(&self) -> bool;
}

impl LetIn for Role {
    fn is_let_in(&self) -> bool {
        !matches!(self, Role::Wall { accepted: false, .. } | Role::Tablet { accepted: false, .. })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::access::random_id;

    fn connect(devices: &Arc<Devices>, identity: Identity) -> Result<Seat, Goodbye> {
        let (device, (outlet, _inlet)) = (DeviceId(random_id()), Outlet::new());
        devices.connect(identity, device, Role::Coach, outlet, HouseTime::default())
    }

    fn athlete() -> Identity {
        Identity::Athlete { class: ClassId(random_id()), athlete: AthleteId(random_id()) }
    }

    #[tokio::test]
    async fn one_athlete_takes_the_room_of_a_few_devices_alone() {
        let (devices, one) = (Arc::new(Devices::default()), athlete());
        let seats: Vec<_> = (0..OF_ONE_MAX).map(|_| connect(&devices, one).unwrap()).collect();
        assert_eq!(connect(&devices, one).unwrap_err(), FULL);
        assert!(connect(&devices, athlete()).is_ok());
        drop(seats);
        for _ in 0..DEVICES_MAX {
            connect(&devices, one).unwrap();
        }
        assert_eq!(devices.all().devices.len(), OF_ONE_MAX + 1, "the other is still remembered");
    }
}
