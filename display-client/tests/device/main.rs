//! One device, driven message by message without a network.

mod outbox;

use floorbell_client::device::{Device, NotTaken, TapFate};
use floorbell_core::class::clock::{Clock, Phase, Plan};
use floorbell_core::class::command::{Call, Counts, Seen, Tap};
use floorbell_core::ids::{
    AthleteId, ClassId, DeviceId, Generation, RequestId, Revision, SegmentIndex, TapId,
};
use floorbell_core::score::{Standing, WhyNot};
use floorbell_core::session::layout::{Segment, segments};
use floorbell_core::sheet;
use floorbell_core::time::{DeviceTime, HouseTime, Span};
use floorbell_core::wire::{Ask, Frame, FromDevice, Now, Outcome, Role, Row, State, ToDevice};
use uuid::Uuid;

/// Segments: 0 lead-in of 10 s, 1 work of 4 min, 2 rest of 1 min, 3 work, whose bell waits.
const SHEET: &str = "# Test\n\n## One: AMRAP 4 min\n\n- 5 squat\n\n## Rest 1 min\n\n## Two: AMRAP 4 min\n\n- 5 squat\n";
/// House time is ahead of device time by this.
const OFFSET: Span = Span::from_secs(1_000);
const WORK: SegmentIndex = SegmentIndex(1);

fn uuid(number: u128) -> Uuid {
    Uuid::from_u128(number)
}

fn athlete() -> AthleteId {
    AthleteId(uuid(1))
}

fn tap(number: u128) -> TapId {
    TapId(uuid(100 + number))
}

fn request(number: u128) -> RequestId {
    RequestId(uuid(200 + number))
}

/// Device time, in seconds after zero.
fn device(secs: i64) -> DeviceTime {
    DeviceTime::from_micros(secs * 1_000_000)
}

/// House time at an instant of device time.
fn house(secs: i64) -> HouseTime {
    HouseTime::from_micros(secs * 1_000_000) + OFFSET
}

fn welcome(role: Role) -> ToDevice {
    ToDevice::Welcome {
        role,
        generation: Generation(uuid(9)),
        house: "Quayside Hall".into(),
        emergency: "Call 112.".into(),
        places: true,
    }
}

fn clock(revision: u64, phase: Phase) -> Clock {
    Clock { revision: Revision(revision), phase, stopped: false }
}

fn row(number: u128, name: &str) -> Row {
    Row {
        athlete: AthleteId(uuid(number)),
        name: name.into(),
        at_home: false,
        scaled: false,
        scores: Vec::new(),
        overall: None,
        total_reps: None,
        team: None,
    }
}

fn state(number: u64, clock: Clock) -> ToDevice {
    let session = sheet::read(SHEET).session.expect("the sheet is sound");
    let now = Now {
        clock,
        segments: segments(&session),
        swaps: Vec::new(),
        started: None,
        closed: false,
        rows: vec![row(1, "Ansa"), row(2, "Birk")],
    };
    ToDevice::State(Box::new(State {
        number,
        class: ClassId(uuid(8)),
        session,
        scoring: Vec::new(),
        join: None,
        now,
    }))
}

/// The work began when device time was zero.
fn working() -> Clock {
    clock(3, Phase::begin(WORK, house(0)))
}

/// A phone that is connected and knows the time and the state, with nothing left to say.
fn phone(clock: Clock) -> Device {
    let mut phone = Device::new(DeviceId(uuid(7)), Span::from_micros(1));
    phone.connected();
    phone.heard(&welcome(Role::Athlete { athlete: athlete() }), device(0));
    phone.heard(&ToDevice::Sync { t0: device(0), t1: house(0), t2: house(0) }, device(0));
    phone.heard(&state(10, clock), device(0));
    said(&mut phone);
    phone
}

fn said(device: &mut Device) -> Vec<FromDevice> {
    core::iter::from_fn(|| device.next_message()).collect()
}

fn taps(messages: Vec<FromDevice>) -> Vec<Tap> {
    let taps = messages.into_iter().filter_map(|message| match message {
        FromDevice::Tap { tap } => Some(tap),
        _ => None,
    });
    taps.collect()
}

fn counted(number: u128) -> ToDevice {
    let standing = Standing::Counted { at: Span::from_secs(60), mark: None };
    ToDevice::Kept { tap: tap(number), standing }
}

#[test]
fn says_hello_first() {
    let mut device = Device::new(DeviceId(uuid(7)), Span::from_micros(1));
    assert_eq!(said(&mut device), []);
    device.connected();
    assert_eq!(said(&mut device), [FromDevice::Hello { device: DeviceId(uuid(7)) }]);
}

#[test]
fn a_tap_carries_when_it_was_made_and_what_was_heard() {
    let mut phone = phone(working());
    phone.tap(tap(1), Counts::Round, device(60)).unwrap();
    let sent = taps(said(&mut phone));
    let [sent] = sent.as_slice() else { panic!("one tap, not {sent:?}") };
    assert_eq!((sent.id, sent.athlete, sent.segment), (tap(1), athlete(), WORK));
    assert_eq!((sent.made_at, sent.heard), (house(60), Revision(3)));
    // 60 s of 100 ppm, two steps of the clock and one of house time.
    assert_eq!(sent.bound, Span::from_micros(6_003));
}

#[test]
fn taps_wait_until_they_are_kept_and_go_again_on_each_connection_in_order() {
    let mut phone = phone(working());
    phone.lost();
    for number in [1, 2, 3] {
        let at = device(100 - i64::try_from(number).unwrap());
        phone.tap(tap(number), Counts::Round, at).unwrap();
    }
    assert_eq!(said(&mut phone), [], "nothing is said while nobody listens");
    phone.connected();
    let ids = |taps: Vec<Tap>| taps.into_iter().map(|tap| tap.id).collect::<Vec<_>>();
    assert_eq!(ids(taps(said(&mut phone))), [], "not before the house has said which class it is");
    phone.heard(&state(11, working()), device(101));
    assert_eq!(ids(taps(said(&mut phone))), [tap(3), tap(2), tap(1)], "as they were made");

    phone.heard(&counted(2), device(101));
    assert_eq!(phone.taps_waiting(), 2);
    assert!(matches!(phone.tap_fate(tap(2)), Some(TapFate::Kept(Standing::Counted { .. }))));
    phone.lost();
    phone.connected();
    phone.heard(&state(12, working()), device(102));
    phone.heard(&state(13, working()), device(103));
    assert_eq!(ids(taps(said(&mut phone))), [tap(3), tap(1)], "once on each connection");
}

#[test]
fn a_tap_that_is_not_kept_waits_or_is_given_up_as_the_house_says() {
    let mut phone = phone(working());
    let not_kept = |number, again| ToDevice::NotKept {
        tap: tap(number),
        code: "disk".into(),
        text: "The disk refuses.".into(),
        again,
    };
    phone.tap(tap(1), Counts::Round, device(60)).unwrap();
    phone.tap(tap(2), Counts::Round, device(70)).unwrap();
    said(&mut phone);
    phone.heard(&not_kept(1, true), device(71));
    phone.heard(&not_kept(2, false), device(71));
    assert_eq!(phone.tap_fate(tap(1)), None);
    assert!(
        matches!(phone.tap_fate(tap(2)), Some(TapFate::Refused { code, .. }) if code == "disk")
    );
    assert_eq!(taps(said(&mut phone)), [], "not at once");
    phone.exchange(device(75));
    let again = taps(said(&mut phone));
    assert_eq!((again.len(), again[0].id), (1, tap(1)));
    phone.exchange(device(80));
    assert_eq!(taps(said(&mut phone)), [], "once for each time it was sent back");
}

#[test]
fn a_tap_that_counts_for_nothing_is_kept_all_the_same() {
    let mut phone = phone(working());
    phone.tap(tap(1), Counts::Round, device(60)).unwrap();
    let standing = Standing::NotCounted { why: WhyNot::Held, marked: true };
    phone.heard(&ToDevice::Kept { tap: tap(1), standing: standing.clone() }, device(61));
    assert_eq!(phone.tap_fate(tap(1)), Some(&TapFate::Kept(standing)));
    assert_eq!(phone.taps_waiting(), 0);
}

#[test]
fn no_taps_where_no_work_is_under_way() {
    let held = Phase::Held { segment: WORK, class_time: Span::from_secs(20), added: Span::ZERO };
    // A resume at 20 s: class time runs again at device time 40 s.
    let resumed = Phase::Running {
        segment: WORK,
        anchor: house(40),
        at_anchor: Span::from_secs(20),
        added: Span::ZERO,
    };
    let cases = [
        (Phase::Gathering, 30, false),
        (Phase::begin(SegmentIndex(0), house(25)), 30, false),
        (Phase::begin(WORK, house(0)), 30, true),
        (held, 30, false),
        (resumed, 39, false),
        (resumed, 40, true),
        (Phase::begin(SegmentIndex(2), house(0)), 30, false),
        (Phase::Done, 30, false),
    ];
    for (phase, at, taken) in cases {
        let mut phone = phone(clock(3, phase));
        let expected = if taken { Ok(()) } else { Err(NotTaken::NoWork) };
        assert_eq!(phone.tap(tap(1), Counts::Round, device(at)), expected, "{phase:?} at {at}");
    }
}

#[test]
fn follows_bells_by_itself() {
    let phone = phone(clock(3, Phase::begin(SegmentIndex(0), house(0))));
    for (at, segment, class_time) in
        [(9, 0, 9), (10, 1, 0), (130, 1, 120), (250, 2, 0), (310, 3, 0), (549, 3, 239)]
    {
        let phase = phone.phase(device(at)).unwrap();
        assert_eq!(phase.segment(), Some(SegmentIndex(segment)), "at {at}: {phase:?}");
        assert_eq!(phone.class_time(device(at)), Some(Span::from_secs(class_time)), "at {at}");
    }
    let waiting = Phase::Waiting { segment: SegmentIndex(3), since: house(550) };
    assert_eq!(phone.phase(device(600)), Some(waiting));
}

#[test]
fn nothing_can_be_counted_before_the_house_has_spoken() {
    let mut new = Device::new(DeviceId(uuid(7)), Span::from_micros(1));
    assert_eq!(new.tap_in(WORK, tap(1), Counts::Round, device(0)), Err(NotTaken::NotReady));
    assert_eq!(new.call(request(1), Call::Start, device(0)), Err(NotTaken::NotReady));
}

#[test]
fn a_call_names_what_the_coach_saw_and_waits_for_its_answer() {
    let mut coach = phone(clock(3, Phase::begin(SegmentIndex(0), house(0))));
    // The lead-in's bell has gone unheard: the coach sees work.
    coach.call(request(1), Call::Hold, device(15)).unwrap();
    let call = FromDevice::Call {
        id: request(1),
        call: Call::Hold,
        seen: Seen { segment: Some(WORK), revision: Revision(3) },
    };
    assert_eq!(said(&mut coach), core::slice::from_ref(&call));
    coach.lost();
    coach.connected();
    assert!(said(&mut coach).contains(&call), "sent again with its id");
    let outcome = Outcome::Done { link: None };
    coach.heard(&ToDevice::Answer { to: request(1), outcome: outcome.clone() }, device(16));
    assert_eq!(coach.outcome(request(1)), Some(&outcome));
    coach.lost();
    coach.connected();
    assert!(!said(&mut coach).contains(&call));
}

#[test]
fn frames_change_what_they_name_and_old_ones_nothing() {
    let mut phone = phone(working());
    let frame = |number, name: &str| {
        ToDevice::Frame(Box::new(Frame {
            number,
            rows: vec![row(2, name), row(3, "Caro")],
            gone: vec![athlete()],
            ..Frame::default()
        }))
    };
    phone.heard(&frame(11, "B."), device(1));
    phone.heard(&frame(10, "Old"), device(1));
    let names = |phone: &Device| {
        let rows = &phone.state().unwrap().now.rows;
        rows.iter().map(|row| row.name.clone()).collect::<Vec<_>>()
    };
    assert_eq!(names(&phone), ["B.", "Caro"]);
    assert_eq!(phone.clock(), Some(&working()), "what a frame leaves out is as it was");
    assert!(!phone.missed());

    phone.heard(&frame(13, "Birk"), device(1));
    assert!(phone.missed(), "12 is missing");
    assert_eq!(names(&phone), ["Birk", "Caro"]);
    phone.heard(&state(14, working()), device(1));
    assert!(!phone.missed());
    assert_eq!(names(&phone), ["Ansa", "Birk"]);
}

#[test]
fn the_stop_notice_is_confirmed_once_for_each_stop_and_connection() {
    let held = |revision| {
        let class_time = Span::from_secs(20);
        let phase = Phase::Held { segment: WORK, class_time, added: Span::ZERO };
        Clock { stopped: true, ..clock(revision, phase) }
    };
    let seen = |revision| FromDevice::StopSeen { revision: Revision(revision) };
    let stop = |revision| ToDevice::Stop { clock: held(revision), saved: true };
    let mut phone = phone(working());
    phone.heard(&stop(4), device(20));
    phone.heard(&stop(4), device(20));
    assert_eq!(said(&mut phone), [seen(4)]);
    assert_eq!(phone.clock(), Some(&held(4)));
    // An older clock does not undo it.
    phone.heard(&stop(2), device(21));
    assert_eq!(phone.clock(), Some(&held(4)));
    let frame = Frame { number: 11, clock: Some(held(6)), ..Frame::default() };
    phone.heard(&ToDevice::Frame(Box::new(frame)), device(22));
    assert_eq!(said(&mut phone), [seen(6)]);
    phone.connected();
    phone.heard(&state(1, held(6)), device(23));
    assert!(said(&mut phone).contains(&seen(6)), "the house may have forgotten");
}

#[test]
fn reports_its_bound_round_trip_and_what_waits() {
    let mut phone = phone(working());
    phone.lost();
    phone.tap(tap(1), Counts::Round, device(10)).unwrap();
    phone.connected();
    said(&mut phone);
    phone.report(device(10));
    let report = FromDevice::Report {
        bound: Span::from_micros(1_003),
        round_trip: Span::ZERO,
        waiting: 1,
        refused: 0,
    };
    assert_eq!(said(&mut phone), [report]);
}

#[test]
fn the_end_of_the_class_takes_its_state_away_and_leaves_the_taps() {
    let mut phone = phone(working());
    phone.tap(tap(1), Counts::Round, device(10)).unwrap();
    phone.heard(&ToDevice::NoClass { text: "It has ended.".into() }, device(11));
    assert_eq!((phone.state(), phone.no_class()), (None, Some("It has ended.")));
    assert_eq!(phone.taps_waiting(), 1);
}

#[test]
fn what_waits_is_bounded() {
    let mut phone = phone(working());
    let question = |number: u128| (request(number), Ask::Question { text: "When?".into() });
    for number in 0..100 {
        let (id, ask) = question(number);
        phone.ask(id, ask).unwrap();
    }
    let (id, ask) = question(100);
    assert_eq!(phone.ask(id, ask), Err(NotTaken::Full));
    for number in 0..2_000 {
        phone.tap(tap(number), Counts::Round, device(10)).unwrap();
    }
    assert_eq!(phone.tap(tap(2_000), Counts::Round, device(10)), Err(NotTaken::Full));
    phone.heard(&counted(0), device(11));
    assert_eq!(phone.tap(tap(2_000), Counts::Round, device(12)), Ok(()));
}

#[derive(serde::Deserialize)]
struct ClockCases {
    segments: Vec<Segment>,
    cases: Vec<ClockCase>,
}

#[derive(serde::Deserialize)]
struct ClockCase {
    name: String,
    clock: Clock,
    readings: Vec<ClockReading>,
}

#[derive(serde::Deserialize)]
struct ClockReading {
    at: HouseTime,
    phase: String,
    segment: Option<SegmentIndex>,
    class_time: Option<Span>,
    bell: Option<HouseTime>,
}

#[test]
fn follows_the_clock_alone_as_the_web_client_does() {
    let recorded: ClockCases =
        serde_json::from_str(include_str!("../../cases/clock.json")).unwrap();
    assert!(!recorded.cases.is_empty());
    let plan = Plan::new(recorded.segments.clone());
    for case in recorded.cases {
        for ClockReading { at, phase, segment, class_time, bell } in case.readings {
            let mut wall = Device::new(DeviceId(uuid(7)), Span::from_micros(1));
            wall.heard(&ToDevice::Sync { t0: device(0), t1: at, t2: at }, device(0));
            let ToDevice::State(mut known) = state(1, case.clock.clone()) else { unreachable!() };
            known.now.segments.clone_from(&recorded.segments);
            wall.heard(&ToDevice::State(known), device(0));

            let found = wall.phase(device(0)).unwrap();
            let word = serde_json::to_value(found).unwrap()["phase"].clone();
            let read = (found.segment(), wall.class_time(device(0)), plan.bell(&found));
            let place = format!("{} at {at:?}", case.name);
            assert_eq!((word, read), (phase.into(), (segment, class_time, bell)), "{place}");
        }
    }
}
