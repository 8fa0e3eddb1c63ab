//! A device's end: the real client's device, its disk, and a clock of its own.

use std::collections::{BTreeMap, VecDeque};

use floorbell_client::Chance;
use floorbell_client::device::Device;
use floorbell_client::device::outbox::{Entry, Outbox, Write};
use floorbell_core::ids::{DeviceId, SegmentIndex, TapId};
use floorbell_core::time::{DeviceTime, HouseTime, Span};

/// The smallest step of its clock.
const STEP: Span = Span::from_micros(1);

pub(crate) struct Phone {
    id: DeviceId,
    /// None while it is down.
    pub(crate) device: Option<Device>,
    /// Counts its lives: what was to happen in an earlier one does not.
    pub(crate) life: u32,
    /// Counts its connections.
    pub(crate) connection: u32,
    /// What a crash leaves.
    pub(crate) disk: BTreeMap<TapId, Entry>,
    /// Writes under way, in order.
    writing: VecDeque<Write>,
    /// How far its clock is ahead of house time, in microseconds at house time zero.
    ahead: i64,
    /// How much faster its clock runs, in parts per million.
    fast_ppm: i64,
    /// The work that it showed last.
    pub(crate) work: Option<SegmentIndex>,
    /// No connection comes about before this.
    pub(crate) out_until: HouseTime,
}

impl Phone {
    pub(crate) fn new(id: DeviceId, chance: &mut Chance) -> Self {
        let mut phone = Self {
            id,
            device: None,
            life: 0,
            connection: 0,
            disk: BTreeMap::new(),
            writing: VecDeque::new(),
            ahead: chance.between(-1e13, 1e13) as i64,
            fast_ppm: chance.between(-80.0, 80.0) as i64,
            work: None,
            out_until: HouseTime::default(),
        };
        phone.come_up();
        phone
    }

    /// Its own clock.
    pub(crate) fn time(&self, now: HouseTime) -> DeviceTime {
        let micros = now.as_micros();
        DeviceTime::from_micros(micros + micros / 1_000_000 * self.fast_ppm + self.ahead)
    }

    /// Its clock jumps.
    pub(crate) fn jump(&mut self, by: Span) {
        self.ahead += by.as_micros();
    }

    /// It comes up with what stands on its disk.
    pub(crate) fn come_up(&mut self) {
        let outbox = Outbox::restored(self.disk.values().cloned());
        self.device = Some(Device::restored(self.id, STEP, outbox));
        self.work = None;
    }

    /// It goes down. Of the writes under way some are on the disk, from the first on.
    pub(crate) fn go_down(&mut self, chance: &mut Chance) {
        let done = chance.index(self.writing.len() + 1);
        for write in self.writing.drain(..).take(done) {
            put(&mut self.disk, &write);
        }
        self.writing.clear();
        self.device = None;
        self.life += 1;
        self.connection += 1;
    }

    /// Takes the next write under way, if the device has one to do.
    pub(crate) fn begin_write(&mut self) -> bool {
        let write = self.device.as_mut().and_then(Device::next_write);
        let begun = write.is_some();
        self.writing.extend(write);
        begun
    }

    /// The oldest write under way is done, and the device is told.
    pub(crate) fn end_write(&mut self) {
        let write = self.writing.pop_front().expect("a write is under way");
        put(&mut self.disk, &write);
        if let Some(device) = &mut self.device {
            device.written(&write);
        }
    }

    pub(crate) fn is_connected(&self) -> bool {
        self.device.as_ref().is_some_and(Device::is_connected)
    }

    /// Taps that are safe nowhere but here.
    pub(crate) fn waiting(&self) -> usize {
        self.disk.values().filter(|entry| entry.kept.is_none()).count() + self.writing.len()
    }
}

fn put(disk: &mut BTreeMap<TapId, Entry>, write: &Write) {
    match write {
        Write::Put(entry) => disk.insert(write.tap(), Entry::clone(entry)),
        Write::Delete(tap) => disk.remove(tap),
    };
}
