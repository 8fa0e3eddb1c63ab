//! The world of one seed: a queue of what is to happen, in virtual time. Nothing in it waits, and
//! nothing happens by any other chance than the seed's.

mod devices;
mod house;
mod people;

use std::collections::{BTreeMap, BTreeSet};

use floorbell_client::Chance;
use floorbell_core::class::command::Actor;
use floorbell_core::ids::{AthleteId, RequestId, SegmentIndex, TapId};
use floorbell_core::time::{HouseTime, Span};
use floorbell_core::wire::{Ask, FromDevice, Role, ToDevice};
use uuid::Uuid;

use crate::network::{Network, secs};
use crate::phone::Phone;
use crate::server::{Place, Server, device_id};

/// The first of them has two phones.
pub(crate) const ATHLETES: u128 = 5;
/// Phones first, the coach device last.
const COACH: Place = ATHLETES as Place + 1;
/// A seed in which nobody has got to tap for so long is not one of a class.
const TOO_LONG: Span = Span::from_mins(600);

/// What is to happen. Where a life or a connection stands in it, it happens in no other.
enum Happening {
    ToServer { from: Place, message: FromDevice },
    ToDevice { to: Place, connection: u32, message: Box<ToDevice> },
    Connect { who: Place },
    Lose { who: Place, connection: u32 },
    Exchange { who: Place, connection: u32 },
    EndWrite { who: Place, life: u32 },
    Touch { who: Place, by_mistake: bool },
    Undo { who: Place, tap: TapId },
    PhoneDown { who: Place },
    PhoneUp { who: Place },
    Jump { who: Place },
    CoachActs,
    Bell,
    Commit { life: u32 },
    ServerDown,
    ServerUp,
}

pub(crate) struct World {
    pub(crate) chance: Chance,
    pub(crate) now: HouseTime,
    pub(crate) server: Server,
    pub(crate) phones: Vec<Phone>,
    /// Calls, and take-backs of them, that the coach device was told are on disk.
    pub(crate) acknowledged: BTreeSet<RequestId>,
    /// All calls and take-backs that were made.
    calls: BTreeSet<RequestId>,
    network: Network,
    queue: BTreeMap<(HouseTime, u64), Happening>,
    queued: u64,
    server_life: u32,
    committing: bool,
    bell: Option<HouseTime>,
    /// The class is about to be closed: backups stay where they are, phones stay up.
    ending: bool,
    /// Nothing goes wrong any more, and nobody does anything.
    calm: bool,
}

pub(crate) fn athlete(number: u128) -> AthleteId {
    AthleteId(Uuid::from_u128(0xa000 + number))
}

impl World {
    pub(crate) fn new(seed: u64) -> Self {
        let mut chance = Chance::new(seed);
        let now = HouseTime::from_micros(1_000_000_000);
        let roles = (0..=COACH).map(|place| {
            let device = device_id(place);
            if place == COACH {
                return (Actor::Coach { device }, Role::Coach);
            }
            let athlete = athlete((place as u128).saturating_sub(1));
            (Actor::Athlete { athlete, device }, Role::Athlete { athlete })
        });
        // The first athlete has two phones beside that of the mate; the last is in no team.
        let teams = [[0, 1], [2, 3]].map(|pair| pair.map(athlete).to_vec());
        let server = Server::open(now, roles.collect(), teams.to_vec());
        let phones = (0..=COACH).map(|place| Phone::new(device_id(place), &mut chance)).collect();
        let network = Network::draw(&mut chance);
        let mut world = Self {
            chance,
            now,
            server,
            phones,
            acknowledged: BTreeSet::new(),
            calls: BTreeSet::new(),
            network,
            queue: BTreeMap::new(),
            queued: 0,
            server_life: 0,
            committing: false,
            bell: None,
            ending: false,
            calm: false,
        };
        for who in 0..=COACH {
            world.at(Span::ZERO, Happening::Connect { who });
            world.later(30.0, 400.0, Happening::PhoneDown { who });
            if world.chance.happens(0.15) {
                world.later(0.0, 400.0, Happening::Jump { who });
            }
            if who != COACH {
                world.later(2.0, 20.0, Happening::Touch { who, by_mistake: false });
            }
        }
        world.later(1.0, 2.0, Happening::CoachActs);
        world.later(20.0, 300.0, Happening::ServerDown);
        world
    }

    fn at(&mut self, after: Span, happening: Happening) {
        self.queued += 1;
        self.queue.insert((self.now + after, self.queued), happening);
    }

    fn later(&mut self, least_secs: f64, most_secs: f64, happening: Happening) {
        let after = secs(self.chance.between(least_secs, most_secs));
        self.at(after, happening);
    }

    /// Taps that are on the disk of a device: those that a person was shown as made.
    pub(crate) fn made(&self) -> usize {
        self.phones.iter().map(|phone| phone.disk.len()).sum()
    }

    /// People tap until so many taps were made.
    pub(crate) fn run_until_made(&mut self, taps: usize) {
        let end = self.now + TOO_LONG;
        while self.made() < taps {
            assert!(self.now < end, "{} taps in {TOO_LONG}", self.made());
            self.step();
        }
    }

    fn run_for(&mut self, span: Span) {
        let end = self.now + span;
        while self.queue.first_key_value().is_some_and(|((at, _), _)| *at <= end) {
            self.step();
        }
        self.now = end;
    }

    /// The coach closes the class while a phone that is cut off has five taps waiting.
    pub(crate) fn close_while_five_wait(&mut self) {
        self.ending = true;
        let cut_off = loop {
            if let Some(who) = (0..COACH).find(|&who| self.can_tap(who)) {
                break who;
            }
            self.step();
        };
        self.phones[cut_off].out_until = self.now + TOO_LONG;
        self.lose(cut_off);
        for _ in 0..5 {
            self.run_for(Span::from_secs(1));
            let work = self.phones[cut_off].work.unwrap_or(SegmentIndex(1));
            self.tap(cut_off, Some(work)).expect("a phone that is cut off takes taps");
        }
        self.run_for(Span::from_secs(1));
        assert!(self.phones[cut_off].waiting() >= 5, "five taps wait on a phone");
        while !self.server.class.closed() {
            self.run_for(Span::from_secs(1));
            if self.server.up {
                let id = RequestId(self.id());
                self.server_hears(COACH, FromDevice::Ask { id, ask: Ask::Close });
            }
        }
        let more = secs(self.chance.between(1.0, 200.0));
        self.run_for(more);
    }

    fn can_tap(&self, who: Place) -> bool {
        let time = self.phones[who].time(self.now);
        self.phones[who].device.as_ref().is_some_and(|device| {
            device.athlete().is_some()
                && device.state().is_some()
                && device.sync().estimate(time).is_some()
        })
    }

    /// The network is mended, everything comes up and connects once more, and all that is under way
    /// arrives.
    pub(crate) fn calm_down(&mut self) {
        (self.calm, self.network) = (true, Network::healthy());
        if !self.server.up {
            self.server_up();
        }
        for who in 0..=COACH {
            if self.phones[who].device.is_none() {
                self.phones[who].come_up();
            }
            self.phones[who].out_until = self.now;
            self.lose(who);
        }
        while !self.queue.is_empty() {
            self.step();
        }
    }

    fn step(&mut self) {
        let ((at, _), happening) = self.queue.pop_first().expect("something is to happen");
        self.now = at;
        match happening {
            Happening::ToServer { from, message } => self.server_hears(from, message),
            Happening::ToDevice { to, connection, message } => {
                self.device_hears(to, connection, &message);
            }
            Happening::Connect { who } => self.connect(who),
            Happening::Lose { who, connection } => {
                if !self.calm && self.phones[who].connection == connection {
                    self.lose(who);
                }
            }
            Happening::Exchange { who, connection } => self.exchange(who, connection),
            Happening::EndWrite { who, life } => {
                if self.phones[who].life == life {
                    self.phones[who].end_write();
                    self.pump(who);
                }
            }
            Happening::Bell if self.server.up => {
                self.server.bells(self.now);
                self.after_server();
            }
            Happening::Commit { life } => self.commit(life),
            // What was under way when the calm began arrives; nothing new happens.
            _ if self.calm => {}
            Happening::Touch { who, by_mistake } => self.touch(who, by_mistake),
            Happening::Undo { who, tap } => self.undo(who, tap),
            Happening::PhoneDown { who } => self.phone_down(who),
            Happening::PhoneUp { who } => {
                self.phones[who].come_up();
                self.connect(who);
            }
            Happening::Jump { who } => {
                let hours = [-1.0, 1.0, self.chance.between(-2.0, 2.0)][self.chance.index(3)];
                self.phones[who].jump(secs(hours * 3_600.0));
            }
            Happening::CoachActs => self.coach_acts(),
            Happening::ServerDown => self.server_down(),
            Happening::ServerUp => self.server_up(),
            Happening::Bell => {}
        }
    }
}
