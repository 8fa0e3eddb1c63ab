//! One device that follows a class, without its network: pure, so that a test can drive it message
//! by message.
//!
//! What goes in: [`Device::connected`], each message by [`Device::heard`], and what the person does
//! ([`Device::tap`], [`Device::call`], [`Device::ask`] and so on). What comes out:
//! [`Device::next_message`], to be sent in order while the connection stands, and what is known of
//! the class.
//!
//! Taps wait here until the server says that they are on disk, and requests until they are answered.
//! On each new connection all that wait are sent again with the ids that they have, taps once the
//! server has said which class it is; the server counts a tap and carries out a request once, however
//! often they come. Taps may outlive the device in an [`outbox`] that is kept on its disk.

mod merge;
pub mod outbox;
mod remembered;
mod taps;

use std::collections::{BTreeMap, VecDeque};

use floorbell_core::class::clock::{Clock, Phase, Plan};
use floorbell_core::class::command::{Call, Seen};
use floorbell_core::ids::{
    AthleteId, ClassId, DeviceId, Generation, RequestId, Revision, SegmentIndex, TapId,
};
use floorbell_core::score::Standing;
use floorbell_core::sync::{Exchange, Sync, Taken};
use floorbell_core::time::{DeviceTime, Span};
use floorbell_core::wire::{
    Ask, CoachView, Frame, FromDevice, Outcome, OwnView, Role, Row, State, ToDevice,
};

use crate::showing::through_bells;
use merge::merge;
use outbox::Outbox;
use remembered::Remembered;

/// Requests that may wait for their answer: more than a coach makes while a connection is away.
const REQUESTS_WAITING_MAX: usize = 100;

/// Why a tap or a request was not taken on the device.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotTaken {
    /// The device has not heard yet which class and whose it is, or what time it is.
    NotReady,
    /// No work is under way (rule 3.4).
    NoWork,
    /// Too many wait already.
    Full,
}

/// What the server has said of a tap.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TapFate {
    /// It is on disk.
    Kept(Standing),
    /// It was refused for good: why, as a short word and as a sentence.
    Refused {
        /// The short word.
        code: String,
        /// The sentence.
        text: String,
    },
}

/// Who the device is in the house, as the house said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Welcome {
    /// What it is here.
    pub role: Role,
    /// The journal's life.
    pub generation: Generation,
    /// The house's name.
    pub house: String,
    /// What the stop notice says.
    pub emergency: String,
    /// Whether boards show places.
    pub places: bool,
}

/// One device.
#[derive(Debug)]
pub struct Device {
    id: DeviceId,
    sync: Sync,
    welcome: Option<Welcome>,
    state: Option<State>,
    /// The segments of `state`.
    plan: Plan,
    /// Whether frames were missed since the last state.
    missed: bool,
    coach: Option<CoachView>,
    own: Option<OwnView>,
    no_class: Option<String>,
    connected: bool,
    /// The class whose waiting taps were offered on this connection.
    offered: Option<ClassId>,
    outgoing: VecDeque<FromDevice>,
    outbox: Outbox,
    /// The stop notice that was confirmed on this connection.
    stop_seen: Option<Revision>,
    fates: Remembered<TapId, TapFate>,
    requests: BTreeMap<RequestId, FromDevice>,
    outcomes: Remembered<RequestId, Outcome>,
}

impl Device {
    /// A device that has heard nothing yet. `step` is the smallest step of its clock.
    pub fn new(id: DeviceId, step: Span) -> Self {
        Self::restored(id, step, Outbox::default())
    }

    /// The same with the taps that it had when it went down.
    pub fn restored(id: DeviceId, step: Span, outbox: Outbox) -> Self {
        Self {
            id,
            sync: Sync::new(step),
            welcome: None,
            state: None,
            plan: Plan::new(Vec::new()),
            missed: false,
            coach: None,
            own: None,
            no_class: None,
            connected: false,
            offered: None,
            outgoing: VecDeque::new(),
            outbox,
            stop_seen: None,
            fates: Remembered::new(),
            requests: BTreeMap::new(),
            outcomes: Remembered::new(),
        }
    }

    /// A new connection stands: says hello, and sends again whatever waits.
    pub fn connected(&mut self) {
        (self.connected, self.offered) = (true, None);
        self.outgoing.clear();
        self.outgoing.push_back(FromDevice::Hello { device: self.id });
        self.stop_seen = None;
        self.outgoing.extend(self.requests.values().cloned());
    }

    /// The connection is gone. What was not sent is sent on the next one.
    pub fn lost(&mut self) {
        (self.connected, self.offered) = (false, None);
        self.outgoing.clear();
    }

    /// Whether a connection stands.
    pub fn is_connected(&self) -> bool {
        self.connected
    }

    /// The next message to send, which the caller now sends; none when there is nothing to say.
    pub fn next_message(&mut self) -> Option<FromDevice> {
        self.outgoing.pop_front()
    }

    /// Takes in a message that came at `now`.
    pub fn heard(&mut self, message: &ToDevice, now: DeviceTime) {
        match message {
            ToDevice::Welcome { role, generation, house, emergency, places } => {
                self.welcome = Some(Welcome {
                    role: *role,
                    generation: *generation,
                    house: house.clone(),
                    emergency: emergency.clone(),
                    places: *places,
                });
                self.outbox.offer_again(*generation);
            }
            &ToDevice::Sync { t0, t1, t2 } => {
                if self.sync.take(Exchange { t0, t1, t2, t3: now }) == Taken::Refused {
                    tracing::debug!("an exchange was refused");
                }
            }
            ToDevice::State(state) => {
                self.missed = false;
                self.no_class = None;
                self.confirm_stop(&state.now.clock);
                self.plan = Plan::new(state.now.segments.clone());
                self.state = Some(*state.clone());
                self.offer_taps(state.class);
            }
            ToDevice::Frame(frame) => self.frame(frame),
            ToDevice::Coach(view) => self.coach = Some(*view.clone()),
            // No tally tablet is run by this client.
            ToDevice::Tablet(_) => {}
            ToDevice::Own(view) => self.own = Some(*view.clone()),
            ToDevice::Answer { to, outcome } => {
                if self.requests.contains_key(to) {
                    // A stop or hold that is not saved yet gets another answer, on this
                    // connection or, asked for again, on the next.
                    if *outcome != Outcome::NotYetSaved {
                        self.requests.remove(to);
                    }
                    self.outcomes.keep(*to, outcome.clone());
                }
            }
            ToDevice::Kept { tap, standing } => self.kept(*tap, standing, now),
            ToDevice::NotKept { tap, again: true, .. } => self.outbox.not_now(*tap),
            ToDevice::NotKept { tap, code, text, again: false } => {
                self.refused(*tap, TapFate::Refused { code: code.clone(), text: text.clone() });
            }
            ToDevice::Stop { clock, .. } => {
                self.confirm_stop(clock);
                if let Some(known) = self.state.as_mut().map(|state| &mut state.now.clock)
                    && clock.revision >= known.revision
                {
                    *known = clock.clone();
                }
            }
            ToDevice::NoClass { text } => {
                (self.state, self.own, self.coach) = (None, None, None);
                self.no_class = Some(text.clone());
            }
            ToDevice::Error { code, text } => tracing::warn!(code, text, "not understood"),
        }
    }

    /// Starts an exchange, and sends more of the taps that wait.
    pub fn exchange(&mut self, now: DeviceTime) {
        self.say(FromDevice::Sync { t0: now });
        self.offer_more_taps();
    }

    /// Tells the server how the device is doing, once it knows the time.
    pub fn report(&mut self, now: DeviceTime) {
        if let (Some(shown), Some(round_trip)) = (self.sync.shown(now), self.sync.round_trip()) {
            let waiting = u32::try_from(self.outbox.waiting()).unwrap_or(u32::MAX);
            let (bound, refused) = (shown.bound, self.sync.refused());
            self.say(FromDevice::Report { bound, round_trip, waiting, refused });
        }
    }

    /// Makes a call, on what the device shows now.
    pub fn call(&mut self, id: RequestId, call: Call, now: DeviceTime) -> Result<(), NotTaken> {
        let revision = self.clock().ok_or(NotTaken::NotReady)?.revision;
        let segment = self.phase(now).and_then(|phase| phase.segment());
        self.request(id, FromDevice::Call { id, call, seen: Seen { segment, revision } })
    }

    /// Makes a request other than a call.
    pub fn ask(&mut self, id: RequestId, ask: Ask) -> Result<(), NotTaken> {
        self.request(id, FromDevice::Ask { id, ask })
    }

    /// Takes a call back.
    pub fn take_back(&mut self, id: RequestId, of: RequestId) -> Result<(), NotTaken> {
        self.request(id, FromDevice::TakeBack { id, of })
    }

    /// Takes back a tap of the device's own athlete.
    pub fn undo(&mut self, id: RequestId, of: TapId) -> Result<(), NotTaken> {
        let athlete = self.athlete().ok_or(NotTaken::NotReady)?;
        self.request(id, FromDevice::Undo { id, athlete, of })
    }

    /// Sends any request that is answered by its id, and keeps it until it is.
    pub fn request(&mut self, id: RequestId, message: FromDevice) -> Result<(), NotTaken> {
        if self.requests.len() >= REQUESTS_WAITING_MAX {
            return Err(NotTaken::Full);
        }
        self.requests.insert(id, message.clone());
        self.say(message);
        Ok(())
    }

    /// What the house said of the device.
    pub fn welcome(&self) -> Option<&Welcome> {
        self.welcome.as_ref()
    }

    /// The athlete whom the device counts for, if it is a phone.
    pub fn athlete(&self) -> Option<AthleteId> {
        match self.welcome.as_ref()?.role {
            Role::Athlete { athlete } => Some(athlete),
            Role::Coach | Role::Wall { .. } | Role::Tablet { .. } => None,
        }
    }

    /// The newest state of the class.
    pub fn state(&self) -> Option<&State> {
        self.state.as_ref()
    }

    /// Whether frames were missed since the last state, so that another one is on its way.
    pub fn missed(&self) -> bool {
        self.missed
    }

    /// The class clock, as last heard.
    pub fn clock(&self) -> Option<&Clock> {
        self.state.as_ref().map(|state| &state.now.clock)
    }

    /// The board's row of an athlete.
    pub fn row(&self, athlete: AthleteId) -> Option<&Row> {
        self.state.as_ref()?.now.rows.iter().find(|row| row.athlete == athlete)
    }

    /// The coach's own view.
    pub fn coach(&self) -> Option<&CoachView> {
        self.coach.as_ref()
    }

    /// The athlete's own view.
    pub fn own(&self) -> Option<&OwnView> {
        self.own.as_ref()
    }

    /// Why there is no class, if the house said so.
    pub fn no_class(&self) -> Option<&str> {
        self.no_class.as_deref()
    }

    /// House time as kept here.
    pub fn sync(&self) -> &Sync {
        &self.sync
    }

    /// What became of a request; none while it waits.
    pub fn outcome(&self, request: RequestId) -> Option<&Outcome> {
        self.outcomes.get(&request)
    }

    /// The segments of the class.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// What the class clock does at `now`, through every bell that goes on by itself (rule 1.4).
    pub fn phase(&self, now: DeviceTime) -> Option<Phase> {
        let at = self.sync.estimate(now)?.time;
        Some(through_bells(&self.plan, self.clock()?.phase, at))
    }

    /// Class time of the segment that the clock is in at `now`.
    pub fn class_time(&self, now: DeviceTime) -> Option<Span> {
        let at = self.sync.estimate(now)?.time;
        self.plan.class_time(&self.phase(now)?, at)
    }

    /// The work that is under way at `now`: not held, and not in the lead-in of a resume.
    pub fn work(&self, now: DeviceTime) -> Option<SegmentIndex> {
        let at = self.sync.estimate(now)?.time;
        match self.phase(now)? {
            Phase::Running { segment, anchor, .. } if anchor <= at => {
                self.plan.is_work(segment).then_some(segment)
            }
            _ => None,
        }
    }

    fn say(&mut self, message: FromDevice) {
        if self.connected {
            self.outgoing.push_back(message);
        }
    }

    /// The stop notice is confirmed once, by whatever message it comes.
    fn confirm_stop(&mut self, clock: &Clock) {
        if clock.stopped && self.stop_seen.is_none_or(|seen| seen < clock.revision) {
            self.stop_seen = Some(clock.revision);
            self.say(FromDevice::StopSeen { revision: clock.revision });
        }
    }

    fn frame(&mut self, frame: &Frame) {
        if let Some(clock) = &frame.clock {
            self.confirm_stop(clock);
        }
        let Some(state) = &mut self.state else {
            return;
        };
        if frame.number <= state.number {
            return;
        }
        // What a frame does name is whole and newer than what is here, so it is taken in even where
        // others were missed; the state that is on its way brings the rest.
        self.missed |= frame.number != state.number + 1;
        if let Some(segments) = &frame.segments {
            self.plan = Plan::new(segments.clone());
        }
        merge(state, frame);
    }
}
