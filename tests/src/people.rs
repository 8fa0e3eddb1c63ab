//! Devices of a test: each waits for what its person would wait to see.

use floorbell_client::api::{self, Address, Newcomer};
use floorbell_client::device::outbox::{Entry, Outbox};
use floorbell_client::device::{Device, TapFate};
use floorbell_client::follow::{As, Follower, News};
use floorbell_client::random_id;
use floorbell_core::class::clock::Phase;
use floorbell_core::class::command::{Call, Choice, Counts, Tap};
use floorbell_core::ids::{AthleteId, DeviceId, RequestId, SegmentIndex, TapId};
use floorbell_core::score::{Standing, Tally};
use floorbell_core::sync::Reading;
use floorbell_core::time::{HouseTime, Span};
use floorbell_core::wire::{Ask, Outcome, Row, ToDevice};

use crate::soon;

/// Follows until `what` is found on the device.
pub async fn until<T>(
    follower: &mut Follower,
    what: &str,
    mut find: impl FnMut(&Device) -> Option<T>,
) -> T {
    soon(what, async {
        loop {
            if let Some(found) = find(follower.device()) {
                return found;
            }
            if let News::TurnedAway(status) = follower.next().await {
                panic!("turned away with {status} while waiting: {what}");
            }
        }
    })
    .await
}

/// Lets time pass on a device until it is sure that house time is past an instant: exchange after
/// exchange, so that this waits for the house and not for a timer.
pub async fn let_pass(follower: &mut Follower, instant: HouseTime) {
    soon("house time is past an instant", async {
        loop {
            let now = floorbell_client::now();
            let reading = follower.device().sync().estimate(now).expect("the device has the time");
            if reading.time - reading.bound > instant {
                return;
            }
            follower.device_mut().exchange(now);
            follower.next().await;
        }
    })
    .await;
}

/// House time when the machine's boot-time clock stood at zero, and how far off that may be.
pub async fn house_at_boot(follower: &mut Follower) -> (HouseTime, Span) {
    until(follower, "the device is sure of the time to 2 ms", |device| {
        let now = floorbell_client::now();
        let reading = device.sync().estimate(now)?;
        let at_boot = HouseTime::from_micros(reading.time.as_micros() - now.as_micros());
        (reading.bound <= Span::from_millis(2)).then_some((at_boot, reading.bound))
    })
    .await
}

/// Waits until the device has connected anew and was told the state of the class.
pub async fn back_again(follower: &mut Follower) {
    let mut connected = false;
    soon("the device is back", async {
        loop {
            match follower.next().await {
                News::Connected => connected = true,
                News::Heard(ToDevice::State(_)) if connected => return,
                News::Heard(_) | News::Lost(_) => {}
                News::TurnedAway(status) => panic!("turned away with {status}"),
            }
        }
    })
    .await;
}

/// A device that knows the class and the time.
async fn ready(address: &Address, token: &str, role: As) -> Follower {
    ready_as(Follower::new(address.clone(), token.to_owned(), role)).await
}

async fn ready_as(mut follower: Follower) -> Follower {
    until(&mut follower, "the device is told the class and the time", |device| {
        device.phase(floorbell_client::now())
    })
    .await;
    follower
}

/// A coach device.
pub struct Coach {
    /// What it follows with.
    pub follower: Follower,
}

impl Coach {
    /// A coach device that has heard the state of the open class.
    pub async fn sign_in(address: &Address, token: &str) -> Self {
        Self { follower: ready(address, token, As::Coach).await }
    }

    /// Makes a call and waits for its answer.
    pub async fn call(&mut self, call: Call) -> Outcome {
        let id = self.send(call);
        self.outcome(id).await
    }

    /// Makes a call that is carried out, and waits until this device shows what came of it.
    pub async fn must(&mut self, call: Call) {
        let revision = |device: &Device| device.clock().map(|clock| clock.revision);
        let before = revision(self.follower.device());
        let id = self.send(call);
        // A stop or hold that the disk is slow about has another answer before.
        let outcome = until(&mut self.follower, "a call is on disk", |device| {
            device.outcome(id).filter(|outcome| **outcome != Outcome::NotYetSaved).cloned()
        });
        assert_eq!(outcome.await, Outcome::Done { link: None }, "{call:?}");
        until(&mut self.follower, "the coach device shows the call", |device| {
            (revision(device) > before).then_some(())
        })
        .await;
    }

    /// Makes a call without waiting for anything.
    pub fn send(&mut self, call: Call) -> RequestId {
        let id = RequestId(random_id());
        self.send_as(id, call);
        id
    }

    /// Makes a call under an id that may have been used already.
    pub fn send_as(&mut self, id: RequestId, call: Call) {
        let now = floorbell_client::now();
        self.follower.device_mut().call(id, call, now).expect("the device can call");
    }

    /// Asks for something and waits for the answer.
    pub async fn ask(&mut self, ask: Ask) -> Outcome {
        ask_for(&mut self.follower, ask).await
    }

    /// Takes a call back, and waits until this device shows that it was.
    pub async fn take_back(&mut self, of: RequestId) {
        let revision = |device: &Device| device.clock().map(|clock| clock.revision);
        let before = revision(self.follower.device());
        let id = RequestId(random_id());
        self.follower.device_mut().take_back(id, of).expect("the device can take back");
        assert_eq!(self.outcome(id).await, Outcome::Done { link: None });
        until(&mut self.follower, "the coach device shows the take-back", |device| {
            (revision(device) > before).then_some(())
        })
        .await;
    }

    /// Waits for the answer to a request.
    pub async fn outcome(&mut self, id: RequestId) -> Outcome {
        until(&mut self.follower, "a request is answered", |device| device.outcome(id).cloned())
            .await
    }

    /// The segment that the device shows.
    pub fn segment(&self) -> Option<SegmentIndex> {
        self.follower.device().phase(floorbell_client::now())?.segment()
    }

    /// Takes the class from its start to a segment by calling next, which also cuts lead-ins short, so
    /// that class time runs.
    pub async fn go_to(&mut self, segment: SegmentIndex) {
        self.must(Call::Start).await;
        while self.segment() < Some(segment) {
            self.must(Call::Next).await;
        }
        assert_eq!(self.segment(), Some(segment));
    }
}

/// Asks for something and waits for the answer.
async fn ask_for(follower: &mut Follower, ask: Ask) -> Outcome {
    let id = RequestId(random_id());
    follower.device_mut().ask(id, ask).expect("the device can ask");
    until(follower, "a request is answered", |device| device.outcome(id).cloned()).await
}

/// A phone.
pub struct Phone {
    /// What it follows with.
    pub follower: Follower,
    /// Whose it is.
    pub athlete: AthleteId,
    /// The token that it came in with.
    pub token: String,
}

impl Phone {
    /// Comes in by the class code.
    pub async fn join(address: &Address, code: &str, name: &str, scaled: bool) -> Self {
        let choice = Choice { scaled, options: Vec::new() };
        let who = Newcomer { name: name.to_owned(), choice, at_home: false };
        let joined = api::join(address, code, &who).await.expect("the code lets in");
        let follower = ready(address, &joined.token, As::Athlete).await;
        Self { follower, athlete: joined.athlete, token: joined.token }
    }

    /// Another phone of the same person.
    pub async fn another(&self, address: &Address) -> Self {
        let follower = ready(address, &self.token, As::Athlete).await;
        Self { follower, athlete: self.athlete, token: self.token.clone() }
    }

    /// A phone of the same person that comes up with what stands on its disk.
    pub async fn come_up(&self, address: &Address, device: DeviceId, disk: Vec<Entry>) -> Self {
        let follower = Follower::new(address.clone(), self.token.clone(), As::Athlete);
        let follower = ready_as(follower.restored(device, Outbox::restored(disk))).await;
        Self { follower, athlete: self.athlete, token: self.token.clone() }
    }

    /// House time by the phone's estimate.
    pub fn time(&self) -> Reading {
        let now = floorbell_client::now();
        self.follower.device().sync().estimate(now).expect("the phone has the time")
    }

    /// Makes a tap whose stamp is so far off, as one of a clock that has jumped.
    pub fn tap_off_by(&mut self, segment: SegmentIndex, off: Span) -> TapId {
        let Reading { time, bound } = self.time();
        let id = TapId(random_id());
        let device = self.follower.device_mut();
        let heard = device.clock().expect("the phone knows the class").revision;
        let (athlete, counts, made_at) = (self.athlete, Counts::Round, time + off);
        let tap = Tap { id, athlete, segment, counts, made_at, bound, heard };
        device.send_tap(tap).expect("the phone can tap");
        id
    }

    /// Waits until the phone has heard that a segment of work is under way.
    pub async fn sees_work(&mut self, work: SegmentIndex) {
        until(&mut self.follower, "the phone shows work", |device| {
            (device.work(floorbell_client::now()) == Some(work)).then_some(())
        })
        .await;
    }

    /// Makes a tap, without waiting for anything.
    pub fn tap(&mut self, segment: SegmentIndex, counts: Counts) -> TapId {
        let id = TapId(random_id());
        let now = floorbell_client::now();
        self.follower.device_mut().tap_in(segment, id, counts, now).expect("the phone can tap");
        id
    }

    /// Waits until the house has said what became of a tap.
    pub async fn fate(&mut self, tap: TapId) -> TapFate {
        until(&mut self.follower, "the house says what became of a tap", |device| {
            device.tap_fate(tap).cloned()
        })
        .await
    }

    /// Makes a tap and waits until it is on disk.
    pub async fn tap_kept(&mut self, segment: SegmentIndex, counts: Counts) -> Standing {
        let tap = self.tap(segment, counts);
        match self.fate(tap).await {
            TapFate::Kept(standing) => standing,
            refused @ TapFate::Refused { .. } => panic!("the tap was not kept: {refused:?}"),
        }
    }

    /// Finishes so many rounds, all kept and counted. All but the first are said to have been
    /// forgotten, since real rounds take time.
    pub async fn rounds(&mut self, segment: SegmentIndex, rounds: u32) {
        for round in 0..rounds {
            let counts = if round == 0 { Counts::Round } else { Counts::RoundBefore };
            let standing = self.tap_kept(segment, counts).await;
            assert!(matches!(standing, Standing::Counted { .. }), "{standing:?}");
        }
    }

    /// Asks for something and waits for the answer.
    pub async fn ask(&mut self, ask: Ask) -> Outcome {
        ask_for(&mut self.follower, ask).await
    }

    /// Takes one of its own taps back.
    pub async fn undo(&mut self, tap: TapId) {
        let id = RequestId(random_id());
        self.follower.device_mut().undo(id, tap).expect("the phone can undo");
        let outcome =
            until(&mut self.follower, "the undo is answered", |device| device.outcome(id).cloned());
        assert_eq!(outcome.await, Outcome::Done { link: None });
    }

    /// Waits until the phone's own view of a window shows a tally.
    pub async fn sees_tally(&mut self, segment: SegmentIndex, tally: Tally) {
        until(&mut self.follower, "the phone shows its tally", |device| {
            let windows = &device.own()?.windows;
            windows.iter().find(|own| own.segment == segment && own.tally == tally).map(|_| ())
        })
        .await;
    }
}

/// A wall.
pub struct Wall {
    /// What it follows with.
    pub follower: Follower,
    /// The token that it came in with.
    pub token: String,
}

impl Wall {
    /// Asks to be let in; the coach lets it in by its number.
    pub async fn let_in(address: &Address, coach: &mut Coach) -> Self {
        let wall = api::wall(address).await.expect("a wall may ask");
        let mut follower = Follower::new(address.clone(), wall.token.clone(), As::Wall);
        until(&mut follower, "the wall is told its number", |device| {
            device.welcome().map(|_| assert!(device.state().is_none(), "not let in yet"))
        })
        .await;
        until(&mut coach.follower, "the coach is told of the wall", |device| {
            device.coach()?.walls_waiting.contains(&wall.number).then_some(())
        })
        .await;
        let ask = Ask::Wall { number: wall.number, accept: true };
        assert_eq!(coach.ask(ask).await, Outcome::Done { link: None });
        until(&mut follower, "the wall is told the class and the time", |device| {
            device.phase(floorbell_client::now())
        })
        .await;
        Self { follower, token: wall.token }
    }

    /// Waits until an athlete's row fits.
    pub async fn sees_row(&mut self, athlete: AthleteId, what: &str, fits: impl Fn(&Row) -> bool) {
        until(&mut self.follower, what, |device| {
            device.row(athlete).is_some_and(&fits).then_some(())
        })
        .await;
    }

    /// Waits until the clock is in a phase that fits.
    pub async fn sees_phase(&mut self, what: &str, fits: impl Fn(&Phase) -> bool) -> Phase {
        until(&mut self.follower, what, |device| {
            device.phase(floorbell_client::now()).filter(&fits)
        })
        .await
    }
}
