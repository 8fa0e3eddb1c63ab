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

    /// Sends what waits of a class once on each connection. What waits of another class stays: this one
    /// would refuse it for good.
    pub(super) fn offer_taps(&mut self, class: ClassId) {
        if self.offered.replace(class) != Some(class) {
            self.outbox.all_again(class);
            self.offer_more_taps();
        }
    }

    /// Sends what the house had no room for, or what was too much for one go.
    pub(super) fn offer_more_taps(&mut self) {
        let Some(class) = self.offered else { return };
        for tap in self.outbox.next_go(class) {
            self.say(FromDevice::Tap { tap });
        }
    }
}
