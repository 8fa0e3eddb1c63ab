//! What people do with their devices.

use floorbell_client::device::NotTaken;
use floorbell_core::class::command::Counts;
use floorbell_core::ids::{RequestId, SegmentIndex, TapId};
use uuid::Uuid;

use super::{COACH, Happening, World};
use crate::coach::{self, Act};
use crate::server::Place;

impl World {
    pub(super) fn id(&mut self) -> Uuid {
        Uuid::from_u64_pair(self.chance.bits(), self.chance.bits())
    }

    pub(super) fn touch(&mut self, who: Place, by_mistake: bool) {
        if !by_mistake {
            self.later(4.0, 35.0, Happening::Touch { who, by_mistake: false });
            if self.chance.happens(0.1) {
                self.later(0.05, 0.6, Happening::Touch { who, by_mistake: true });
            }
        }
        // A phone that shows no work refuses; a few touch where they should not.
        let anywhere = self.phones[who].work.filter(|_| self.chance.happens(0.2));
        if let Ok(tap) = self.tap(who, None).or_else(|_| self.tap(who, anywhere))
            && self.chance.happens(0.08)
        {
            self.later(0.2, 8.0, Happening::Undo { who, tap });
        }
    }

    /// Taps in the work that the phone shows, or in a segment that is named.
    pub(super) fn tap(
        &mut self,
        who: Place,
        named: Option<SegmentIndex>,
    ) -> Result<TapId, NotTaken> {
        let id = TapId(self.id());
        let counts = if self.chance.happens(0.1) { Counts::RoundBefore } else { Counts::Round };
        let phone = &mut self.phones[who];
        let time = phone.time(self.now);
        let device = phone.device.as_mut().ok_or(NotTaken::NotReady)?;
        phone.work = device.work(time).or(phone.work);
        match named {
            None => device.tap(id, counts, time)?,
            Some(segment) => device.tap_in(segment, id, counts, time)?,
        }
        self.pump(who);
        Ok(id)
    }

    pub(super) fn undo(&mut self, who: Place, tap: TapId) {
        let id = RequestId(self.id());
        let Some(device) = &mut self.phones[who].device else { return };
        // Who has not been told yet whose phone it is has nothing to undo.
        if device.undo(id, tap).is_ok() {
            self.pump(who);
        }
    }

    pub(super) fn coach_acts(&mut self) {
        self.later(3.0, 30.0, Happening::CoachActs);
        let id = RequestId(self.id());
        let time = self.phones[COACH].time(self.now);
        let Some(device) = &mut self.phones[COACH].device else { return };
        let Some(phase) = device.phase(time) else { return };
        let last = self.server.class.take_back(self.now).map(|take_back| take_back.id);
        let stopped = device.clock().is_some_and(|clock| clock.stopped);
        let Some(act) = coach::choose(phase, stopped, last, &mut self.chance) else { return };
        if !matches!(act, Act::Ask(_)) {
            self.calls.insert(id);
        }
        let taken = match act {
            Act::Call(call) => device.call(id, call, time),
            Act::TakeBack(of) => device.take_back(id, of),
            Act::Ask(ask) => device.ask(id, ask),
        };
        // A coach with too many requests on their way does without.
        if taken.is_ok() {
            self.pump(COACH);
        }
    }
}
