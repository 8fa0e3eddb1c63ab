//! A class in memory that tests drive through virtual time.

use floorbell_core::class::Class;
use floorbell_core::class::clock::Phase;
use floorbell_core::class::command::{Actor, Call, Command, Counts, Seen, Tap};
use floorbell_core::class::event::{Event, Stamped};
use floorbell_core::class::refusal::Refusal;
use floorbell_core::ids::{AthleteId, DeviceId, RequestId, Revision, SegmentIndex, TapId};
use floorbell_core::score::{Standing, Tally};
use floorbell_core::session::layout::SegmentKind;
use floorbell_core::sheet;
use floorbell_core::time::{HouseTime, Span};
use uuid::Uuid;

/// Where house time stands when a class is opened.
const OPENED: HouseTime = HouseTime::from_micros(1_000_000_000);

pub(crate) struct Floor {
    pub(crate) class: Class,
    pub(crate) journal: Vec<Stamped>,
    pub(crate) now: HouseTime,
    next_id: u128,
}

pub(crate) const COACH: Actor = Actor::Coach { device: DeviceId(Uuid::from_u128(1)) };

pub(crate) fn athlete(number: u128) -> AthleteId {
    AthleteId(Uuid::from_u128(0xa000 + number))
}

pub(crate) fn phone(number: u128) -> Actor {
    Actor::Athlete { athlete: athlete(number), device: DeviceId(Uuid::from_u128(0xd000 + number)) }
}

pub(crate) fn secs(secs: i64) -> Span {
    Span::from_secs(secs)
}

/// A clock reading such as `3:14` as a span.
pub(crate) fn at(reading: &str) -> Span {
    let (mins, secs) = reading.split_once(':').expect("minutes:seconds");
    Span::from_secs(
        mins.parse::<i64>().expect("minutes") * 60 + secs.parse::<i64>().expect("seconds"),
    )
}

impl Floor {
    /// Opens a class from a sheet's text.
    pub(crate) fn of(sheet: &str) -> Self {
        let reading = sheet::read(sheet);
        let session = reading.session.unwrap_or_else(|| panic!("{:?}", reading.problems));
        let opening = Stamped {
            seq: floorbell_core::ids::Seq(1),
            at: OPENED,
            event: Class::opening(session),
        };
        let class = Class::opened(&opening).expect("an opening");
        Self { class, journal: vec![opening], now: OPENED, next_id: 0 }
    }

    /// A class with one AMRAP of so many minutes, run up to the start of its work.
    pub(crate) fn in_amrap(minutes: i64) -> Self {
        let mut floor = Self::of(&format!(
            "# Evening\n\n## Tide: AMRAP {minutes} min\n\nAim: steady\n\n\
             - 11 air squats\n- 8 push-ups\n- 7 sit-ups\n\n## Rest 5 min\n\n## Talk\n"
        ));
        floor.call(Call::Start).expect("starts");
        floor.pass(secs(10));
        assert_eq!(floor.kind(), Some(SegmentKind::Work), "{:?}", floor.class.clock());
        floor
    }

    fn id(&mut self) -> Uuid {
        self.next_id += 1;
        Uuid::from_u128(0x1_0000 + self.next_id)
    }

    fn record(&mut self, events: Vec<Event>) {
        for event in events {
            let stamped = self.class.stamp(self.now, event);
            self.class.apply(&stamped);
            self.journal.push(stamped);
        }
    }

    /// Time goes by; the shell's timer fires at every deadline.
    pub(crate) fn pass(&mut self, span: Span) {
        let end = self.now + span;
        while let Some(due) = self.class.next_deadline().filter(|&due| due <= end) {
            self.now = due;
            let events = self.class.due(due);
            assert!(!events.is_empty(), "a deadline with nothing due");
            self.record(events);
        }
        self.now = end;
    }

    pub(crate) fn ask(&mut self, by: Actor, command: Command) -> Result<usize, Refusal> {
        let events = self.class.decide(self.now, by, command)?;
        let recorded = events.len();
        self.record(events);
        Ok(recorded)
    }

    pub(crate) fn seen(&self) -> Seen {
        let clock = self.class.clock();
        Seen { segment: clock.phase.segment(), revision: clock.revision }
    }

    pub(crate) fn call_seeing(&mut self, call: Call, seen: Seen) -> Result<RequestId, Refusal> {
        let id = RequestId(self.id());
        self.ask(COACH, Command::Call { id, call, seen })?;
        Ok(id)
    }

    pub(crate) fn call(&mut self, call: Call) -> Result<RequestId, Refusal> {
        self.call_seeing(call, self.seen())
    }

    pub(crate) fn take_back(&mut self, of: RequestId) -> Result<usize, Refusal> {
        let id = RequestId(self.id());
        self.ask(COACH, Command::TakeBack { id, of })
    }

    pub(crate) fn join(&mut self, number: u128) {
        let command = Command::Join { athlete: athlete(number), at_home: false };
        self.ask(phone(number), command).expect("joins");
    }

    /// A tap as the phone would send it now, having heard everything.
    pub(crate) fn tap_now(&mut self, number: u128) -> Tap {
        let segment = self.class.clock().phase.segment().expect("in a segment");
        self.tap_made(number, segment, self.now)
    }

    pub(crate) fn tap_made(
        &mut self,
        number: u128,
        segment: SegmentIndex,
        made_at: HouseTime,
    ) -> Tap {
        Tap {
            id: TapId(self.id()),
            athlete: athlete(number),
            segment,
            counts: Counts::Round,
            made_at,
            bound: Span::from_millis(5),
            heard: self.class.clock().revision,
        }
    }

    pub(crate) fn send(&mut self, tap: &Tap, connected_since: HouseTime) -> Standing {
        let number = tap.athlete.0.as_u128() - 0xa000;
        let command = Command::Tap { tap: tap.clone(), connected_since };
        self.ask(phone(number), command).expect("an authorised tap is kept");
        self.class.standing(tap.athlete, tap.id).expect("a kept tap has a standing")
    }

    /// A tap that was made while the phone was cut off, and comes now.
    pub(crate) fn late(&mut self, tap: &Tap) -> Standing {
        self.send(tap, self.now)
    }

    pub(crate) fn tap(&mut self, number: u128) -> Standing {
        let tap = self.tap_now(number);
        self.send(&tap, OPENED)
    }

    pub(crate) fn kind(&self) -> Option<SegmentKind> {
        let segment = self.class.clock().phase.segment()?;
        Some(self.class.plan().get(segment)?.kind)
    }

    pub(crate) fn work(&self) -> SegmentIndex {
        let (work, _) = self
            .class
            .plan()
            .kept()
            .find(|(_, segment)| segment.kind == SegmentKind::Work)
            .expect("the session has work");
        work
    }

    pub(crate) fn class_time(&self) -> Span {
        self.class.plan().class_time(&self.class.clock().phase, self.now).expect("in a segment")
    }

    pub(crate) fn tally(&self, number: u128) -> Option<Tally> {
        self.class.tally(athlete(number), self.work())
    }

    pub(crate) fn waits(&self) -> bool {
        matches!(self.class.clock().phase, Phase::Waiting { .. })
    }

    /// What was recorded gives the same class again.
    pub(crate) fn check_replay(&self) {
        let written: Vec<_> = self
            .journal
            .iter()
            .map(|stamped| serde_json::to_string(stamped).expect("events are plain data"))
            .collect();
        let read = written.iter().map(|text| serde_json::from_str(text).expect("reads back"));
        let again = Class::replay(read).expect("a whole journal");
        assert_eq!(again, self.class);
    }
}

#[expect(clippy::unnecessary_wraps, reason = "it stands beside tallies that may be missing")]
pub(crate) fn rounds(rounds: u32, extra: u32) -> Option<Tally> {
    Some(Tally::Rounds { rounds, extra })
}

pub(crate) const NOTHING_HEARD: Revision = Revision(0);
