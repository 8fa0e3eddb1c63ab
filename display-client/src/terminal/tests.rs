//! Whole pictures, and plain lines, of a device that was driven message by message.

use floorbell_core::class::clock::{Clock, Phase};
use floorbell_core::ids::{DeviceId, Generation, Revision, SegmentIndex};
use floorbell_core::time::{DeviceTime, HouseTime, Span};
use floorbell_core::wire::{Frame, Role, Row, State, ToDevice};
use uuid::Uuid;

use super::*;
use crate::device::Device;
use crate::testing::{clock, house, rounds, row, running, state};

/// Segments: 0 lead-in of 10 s, 1 work of 4 min, 2 rest of 1:30, 3 work, whose bell waits.
const SHEET: &str = "# Harbour evening

## First tide: AMRAP 4 min, 2 times, rest 1:30 between

Aim: even.

- 8 goblet squat 24/16 kg
- 120 m run
";

/// A wall that was let in, knows that house time and its own are the same, and has heard a state.
fn wall(state: State) -> Device {
    let mut device = asking();
    device.heard(&welcome(true), DeviceTime::from_micros(0));
    device.heard(&ToDevice::State(Box::new(state)), DeviceTime::from_micros(0));
    device
}

/// A wall that waits to be let in.
fn asking() -> Device {
    let mut device = Device::new(DeviceId(Uuid::from_u128(2)), Span::from_micros(1));
    let zero = HouseTime::from_micros(0);
    device.connected();
    device.heard(&welcome(false), DeviceTime::from_micros(0));
    let sync = ToDevice::Sync { t0: DeviceTime::from_micros(0), t1: zero, t2: zero };
    device.heard(&sync, DeviceTime::from_micros(0));
    device
}

fn welcome(accepted: bool) -> ToDevice {
    ToDevice::Welcome {
        role: Role::Wall { accepted, number: 3 },
        generation: Generation(Uuid::from_u128(3)),
        house: "Quayside Hall".into(),
        emergency: "Call 112.\nFirst aid: by the door.".into(),
        places: true,
    }
}

fn frame(number: u64, clock: Option<Clock>, rows: Vec<Row>) -> ToDevice {
    ToDevice::Frame(Box::new(Frame { number, clock, rows, ..Frame::default() }))
}

fn heard(device: &mut Device, message: &ToDevice) {
    device.heard(message, DeviceTime::from_micros(0));
}

fn seen(device: &Device, at: f64, columns: usize, rows: usize) -> String {
    picture(&Wall::of(device, None, Some(house(at))), Size { columns, rows }).text()
}

#[track_caller]
fn shows(device: &Device, at: f64, [columns, rows]: [usize; 2], expected: &str) {
    let seen = seen(device, at, columns, rows);
    assert!(seen == expected, "seen:\n{seen}\nexpected:\n{expected}");
}

/// The class with two people, one of whom has a tally.
fn class(clock: Clock) -> State {
    let mut state = state(SHEET, clock);
    state.now.rows = vec![row("Ansa", 0, Some(1), Some(rounds(3, 0))), row("Bo", 0, None, None)];
    state
}

#[test]
fn a_lead_in() {
    shows(
        &wall(class(running(0, 0.0, 0, 0))),
        3.0,
        [80, 18],
        "\
▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀
Lead-in                               First tide
▄▄▄▄▄▄▄▄                              As many rounds as possible in 4:00 · 2
▀▀▀▀▀▀██                              times, 1:30 rest between
      ██
      ██                                  8  goblet squat  24/16 kg
      ██                              120 m  run
      ██
      ██                              Aim: even.
      ▀▀
Next: Work 4:00 · 1 of 2

As written
  1 Ansa             3
    Bo",
    );
}

#[test]
fn work_with_an_announcement() {
    shows(
        &wall(class(running(0, 0.0, 0, 0))),
        131.0,
        [50, 16],
        "\
▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀
Work                                 Window 1 of 2
   ▄▄         ▄▄▄▄▄▄▄▄  ▄▄▄▄▄▄▄▄
   ██         ██▀▀▀▀▀▀  ██▀▀▀▀██
   ██     ██  ██        ██    ██
   ██         ██▄▄▄▄▄▄  ██▄▄▄▄██
   ██         ▀▀▀▀▀▀██  ▀▀▀▀▀▀██
   ██     ██        ██        ██
   ██         ▄▄▄▄▄▄██  ▄▄▄▄▄▄██
   ▀▀         ▀▀▀▀▀▀▀▀  ▀▀▀▀▀▀▀▀
 Half-way

As written
  1 Ansa             3
    Bo",
    );
}

#[test]
fn a_clock_that_waits_alone() {
    let mut device = wall(class(running(0, 0.0, 0, 0)));
    device.lost();
    shows(
        &device,
        590.0,
        [80, 16],
        "\
▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀
Work · over           Window 2 of 2   First tide
        ▄▄▄▄▄▄        ▄▄    ▄▄▄▄▄▄    As many rounds as possible in 4:00 · 2
        ██▀▀██        ██    ██▀▀██    times, 1:30 rest between
  ██    ██  ██  ██    ██    ██  ██
▄▄██▄▄  ██  ██        ██    ██  ██        8  goblet squat  24/16 kg
▀▀██▀▀  ██  ██        ██    ██  ██    120 m  run
  ██    ██  ██  ██    ██    ██  ██
        ██▄▄██        ██    ██▄▄██    Aim: even.
        ▀▀▀▀▀▀        ▀▀    ▀▀▀▀▀▀
Next: end of the class

As written
  1 Ansa             3
    Bo
On its own: no connection to the house",
    );
}

#[test]
fn a_block_without_a_score() {
    let sheet = "# Harbour evening\n\nWater is by the door.\n\n## Talk: the tides, 5 min\n\n\
                 ## Warm-up, 3 min\n\n- 10 squat\n\n## First tide: AMRAP 12 min\n\n- 8 squat\n";
    shows(
        &wall(state(sheet, running(1, 0.0, 0, 0))),
        0.0,
        [66, 16],
        "
Warm-up                             Today
▄▄▄▄▄▄▄▄      ▄▄▄▄▄▄▄▄  ▄▄▄▄▄▄▄▄      Talk: the tides         5:00
▀▀▀▀▀▀██      ██▀▀▀▀██  ██▀▀▀▀██    > Warm-up                 3:00
      ██  ██  ██    ██  ██    ██      First tide             12:10
▄▄▄▄▄▄██      ██    ██  ██    ██
▀▀▀▀▀▀██      ██    ██  ██    ██
      ██  ██  ██    ██  ██    ██
▄▄▄▄▄▄██      ██▄▄▄▄██  ██▄▄▄▄██
▀▀▀▀▀▀▀▀      ▀▀▀▀▀▀▀▀  ▀▀▀▀▀▀▀▀
Next: First tide

10  squat",
    );
}

#[test]
fn covers() {
    shows(
        &asking(),
        1.0,
        [60, 16],
        "
                       Quayside Hall
               This wall waits for the coach
                          ▄▄▄▄▄▄▄
                          ▀▀▀▀▀██
                               ██
                          ███████
                               ██
                          ▄▄▄▄▄██
                          ▀▀▀▀▀▀▀

           Wall 3: let it in on the coach device.",
    );
    shows(
        &wall(class(clock(Phase::Gathering))),
        1.0,
        [60, 16],
        "\
Quayside Hall
Harbour evening

CDFG-3479   quayside.local:7600


Today
  First tide                                            9:40

2 in
Ansa · Bo",
    );
    shows(
        &wall(class(clock(Phase::Done))),
        1.0,
        [60, 8],
        "\
Done                                              First tide

As written
  1 Ansa             3
    Bo",
    );
}

#[test]
fn the_stop_notice_stands_over_everything() {
    let stopped = Clock { stopped: true, ..running(0, 0.0, 0, 0) };
    shows(
        &wall(class(stopped)),
        1.0,
        [60, 16],
        "   \
▄▄▄▄▄▄▄▄▄▄▄   ▄▄▄▄▄▄▄▄▄▄▄   ▄▄▄▄▄▄▄▄▄▄▄   ▄▄▄▄▄▄▄▄▄▄▄
   ███████████   ███████████   ███████████   ███████████
   ███               ███       ███     ███   ███     ███
   ███               ███       ███     ███   ███     ███
   ███████████       ███       ███     ███   ███████████
   ▀▀▀▀▀▀▀▀███       ███       ███     ███   ███▀▀▀▀▀▀▀▀
           ███       ███       ███     ███   ███
           ███       ███       ███     ███   ███
   ███████████       ███       ███████████   ███
   ▀▀▀▀▀▀▀▀▀▀▀       ▀▀▀       ▀▀▀▀▀▀▀▀▀▀▀   ▀▀▀

          Put the gear down and look to the coach.

                         Call 112.
                  First aid: by the door.",
    );
}

#[test]
fn messages() {
    let nothing = Device::new(DeviceId(Uuid::from_u128(2)), Span::from_micros(1));
    let mut no_class = asking();
    heard(&mut no_class, &ToDevice::NoClass { text: "The next one shows here.".into() });
    heard(&mut no_class, &welcome(true));
    for (device, problem, expected) in [
        (
            &nothing,
            None,
            "Looking for the house|This wall comes in by itself as soon as it is found.",
        ),
        (&nothing, Some("Too many walls wait."), "This wall was not taken in|Too many walls wait."),
        (&no_class, None, "Quayside Hall|No class now|The next one shows here."),
    ] {
        let wall = Wall::of(device, problem, None);
        let text = picture(&wall, Size { columns: 70, rows: 10 }).text();
        let lines: Vec<&str> = text.lines().map(str::trim).filter(|it| !it.is_empty()).collect();
        assert_eq!(lines.join("|"), expected);
    }
}

#[test]
fn a_terminal_of_any_size_shows_what_has_room() {
    let mut devices: Vec<Device> = [
        clock(Phase::Gathering),
        running(0, 0.0, 0, 0),
        clock(Phase::Done),
        Clock { stopped: true, ..running(1, 0.0, 0, 0) },
    ]
    .map(|clock| wall(class(clock)))
    .into();
    devices.push(asking());
    for device in &devices {
        for columns in [0, 1, 2, 5, 12, 29, 30, 44, 59, 60, 61, 80, 250] {
            for rows in [0, 1, 2, 3, 4, 7, 11, 12, 13, 20, 80] {
                let screen =
                    picture(&Wall::of(device, None, Some(house(30.0))), Size { columns, rows });
                assert_eq!(screen.size(), Size { columns, rows });
            }
        }
    }
}

#[test]
fn names_cannot_move_the_cursor() {
    let mut state = class(running(1, 0.0, 0, 0));
    state.now.rows[0].name = "\u{1b}[2J\u{7}Ansa\n".into();
    let device = wall(state);
    let wall = Wall::of(&device, None, Some(house(1.0)));
    let screen = picture(&wall, Size { columns: 80, rows: 24 });
    assert!(screen.text().contains("\u{fffd}[2J\u{fffd}Ansa\u{fffd}"), "{}", screen.text());
    let painted = paint(Some(&picture(&wall, screen.size())), &screen);
    assert_eq!(painted, "");
    let painted = paint(None, &screen);
    assert!(!painted.contains('\u{7}') && !painted.contains('\n'));
    let lines = Lines::default().of(&wall);
    assert!(lines.iter().all(|line| !line.contains(char::is_control)), "{lines:?}");
}

#[test]
fn every_change_is_foreseen() {
    let mut state = class(running(0, 0.0, 0, 0));
    state.now.rows[0].scores[0].last_at = Some(house(60.5));
    let device = wall(state);
    let size = Size { columns: 80, rows: 24 };
    let at = |tenths: i64| {
        let at = HouseTime::from_micros(tenths * 100_000);
        Wall::of(&device, None, Some(at))
    };
    let mut next = at(0).next_change();
    let mut before = picture(&at(0), size);
    for tenths in 1..2_700 {
        let now = HouseTime::from_micros(tenths * 100_000);
        let after = picture(&at(tenths), size);
        let due = next.is_some_and(|next| next <= now);
        // The line along the top moves with the digits, and not of itself.
        let lines = |screen: &Screen| screen.text().lines().skip(1).collect::<String>();
        assert!(due || lines(&before) == lines(&after), "at {now:?} unforeseen: {}", after.text());
        if due {
            next = at(tenths).next_change();
        }
        before = after;
    }
}

#[test]
fn plain_lines_tell_each_change_once() {
    let mut lines = Lines::default();
    let mut told = |device: &Device, at: f64| {
        let told = lines.of(&Wall::of(device, None, Some(house(at))));
        told.join("\n")
    };
    assert_eq!(told(&asking(), 0.0), "-:--:--.---  Wall 3: let it in on the coach device.");
    let mut device = wall(class(clock(Phase::Gathering)));
    assert_eq!(
        told(&device, 3_600.25),
        "1:00:00.250  Gathering · Harbour evening · 2 in · CDFG-3479\n\
         1:00:00.250  First tide · As written · 1 Ansa · 3"
    );
    assert_eq!(told(&device, 3_601.0), "");
    heard(&mut device, &frame(2, Some(running(0, 3_601.0, 0, 0)), Vec::new()));
    assert_eq!(
        told(&device, 3_601.0),
        "1:00:01.000  Lead-in 10 · First tide · Next: Work 4:00 · 1 of 2"
    );
    assert_eq!(told(&device, 3_602.0), "");
    let work = "Work 4:00 · First tide · Window 1 of 2 · Next: Rest 1:30";
    assert_eq!(told(&device, 3_611.0), format!("1:00:11.000  {work}"));
    let bo = row("Bo", 0, Some(2), Some(rounds(1, 0)));
    heard(&mut device, &frame(3, None, vec![bo]));
    assert_eq!(told(&device, 3_660.0), "1:01:00.000  First tide · As written · 2 Bo · 1");
    assert_eq!(told(&device, 3_731.0), "1:02:11.000  Half-way");
    device.lost();
    assert_eq!(told(&device, 3_738.0), format!("1:02:18.000  {ALONE}"));
    device.connected();
    let phase = Phase::Held {
        segment: SegmentIndex(1),
        class_time: Span::from_secs(130),
        added: Span::ZERO,
    };
    let stopped = Clock { revision: Revision(2), phase, stopped: true };
    heard(&mut device, &ToDevice::Stop { clock: stopped, saved: true });
    assert_eq!(
        told(&device, 3_741.0),
        "1:02:21.000  Stop · Call 112. First aid: by the door.\n\
         1:02:21.000  Held 1:50 · First tide · Window 1 of 2 · The clock is held\n\
         1:02:21.000  Connected again"
    );
}

#[test]
fn bells_ring_once_each() {
    let device = wall(class(running(0, 0.0, 0, 0)));
    let rang =
        |from: f64, to: f64| Wall::of(&device, None, Some(house(to))).rang(house(from), house(to));
    assert!(rang(9.5, 10.0) && rang(9.999, 10.001) && rang(249.0, 251.0));
    assert!(!rang(10.0, 10.5) && !rang(129.0, 131.0));
}
