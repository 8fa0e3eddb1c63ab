//! Taps on a device: made, written to its disk where it has one, sent, and what became of them.

use floorbell_core::class::command::{Counts, Tap};
use floorbell_core::ids::{ClassId, SegmentIndex, TapId};
use floorbell_core::score::Standing;
use floorbell_core::sync::Reading;
use floorbell_core::time::DeviceTime;
use floorbell_core::wire::FromDevice;

use super::outbox::Write;
use super::{Device, NotTaken, TapFate};

impl Device {
    /// Counts for the device's own athlete in the work that is under way.
    pub fn tap(&mut self, id: TapId, counts: Counts, now: DeviceTime) -> Result<(), NotTaken> {
        let segment = self.work(now).ok_or(NotTaken::NoWork)?;
        self.tap_in(segment, id, counts, now)
    }

    /// Counts in a segment, whether or not the clock is in it.
    pub fn tap_in(
        &mut self,
        segment: SegmentIndex,
        id: TapId,
        counts: Counts,
        now: DeviceTime,
    ) -> Result<(), NotTaken> {
        let athlete = self.athlete().ok_or(NotTaken::NotReady)?;
        let heard = self.clock().ok_or(NotTaken::NotReady)?.revision;
        let Reading { time, bound } = self.sync.estimate(now).ok_or(NotTaken::NotReady)?;
        self.send_tap(Tap { id, athlete, segment, counts, made_at: time, bound, heard })
    }

    /// Sends a tap as it is, and keeps it until the server has it. Where the outbox is kept on the
    /// device's disk, the tap is written there first.
    pub fn send_tap(&mut self, tap: Tap) -> Result<(), NotTaken> {
        let class = self.state.as_ref().ok_or(NotTaken::NotReady)?.class;
        let Ok(may_go) = self.outbox.add(class, tap.clone()) else { return Err(NotTaken::Full) };
        if may_go && self.offered == Some(class) {
            self.say(FromDevice::Tap { tap });
        }
        Ok(())
    }

    /// The next change to be written to the device's disk, in order. Report each by
    /// [`Device::written`] once it is there.
    pub fn next_write(&mut self) -> Option<Write> {
        self.outbox.next_write()
    }

    /// A change is on the device's disk: the tap in it may be sent, and shown as made.
    pub fn written(&mut self, write: &Write) {
        if let Some((class, tap)) = self.outbox.written(write)
            && self.offered == Some(class)
        {
            self.say(FromDevice::Tap { tap });
        }
    }

    /// Taps that wait until they are on disk.
    pub fn taps_waiting(&self) -> usize {
        self.outbox.waiting()
    }

    /// What became of a tap; none while it waits.
    pub fn tap_fate(&self, tap: TapId) -> Option<&TapFate> {
        self.fates.get(&tap)
    }

    /// Only a house that has said who it is can have kept anything.
    pub(super) fn kept(&mut self, tap: TapId, standing: &Standing, now: DeviceTime) {
        let Some(generation) = self.welcome.as_ref().map(|welcome| welcome.generation) else {
            return;
        };
        let at = self.sync.estimate(now).map(|reading| reading.time);
        if self.outbox.kept(tap, standing.clone(), generation, at) {
            self.fates.keep(tap, TapFate::Kept(standing.clone()));
        }
    }

    /// The house will never take a tap.
    pub(super) fn refused(&mut self, tap: TapId, why: TapFate) {
        if self.outbox.let_go(tap) {
            self.fates.keep(tap, why);
        }
    }

    /// Sends all that wait of a class, once on each connection, in the order in which they were made.
    /// Those of another class stay: this one would refuse them for good.
    pub(super) fn offer_taps(&mut self, class: ClassId) {
        if self.offered.replace(class) != Some(class) {
            let taps = self.outbox.ready(class);
            self.say_taps(taps);
        }
    }

    /// Sends what the house had no room for.
    pub(super) fn offer_taps_again(&mut self) {
        if let Some(class) = self.offered {
            let taps = self.outbox.ready_again(class);
            self.say_taps(taps);
        }
    }

    fn say_taps(&mut self, taps: Vec<Tap>) {
        for tap in taps {
            self.say(FromDevice::Tap { tap });
        }
    }
}
