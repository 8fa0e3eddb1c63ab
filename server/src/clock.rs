//! House time, and the only place that reads the machine's clocks.
//!
//! House time runs on the boot-time clock, which nobody can set and which goes on through sleep, so
//! a step of the wall clock moves no bell. That clock begins anew with each boot. The store
//! therefore keeps an [`Anchor`], one reading of all clocks at once, written at start and each
//! minute. After a restart in the same boot house time continues from the anchor as if nothing had
//! happened; after a reboot it is the anchor plus what the wall clock says has passed, and never
//! before the last event, which is proof that house time had come that far.

use std::io;
use std::sync::Arc;

use floorbell_core::time::{HouseTime, Span};
use rustix::time::{ClockId, Timespec, clock_gettime};

/// A reading of the wall clock: microseconds since 1970-01-01T00:00Z. It may jump either way, so
/// it dates things for people and orders nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct WallTime(i64);

impl WallTime {
    /// The instant `micros` microseconds after 1970-01-01T00:00Z.
    pub const fn from_micros(micros: i64) -> Self {
        Self(micros)
    }

    /// Microseconds since 1970-01-01T00:00Z.
    pub const fn as_micros(self) -> i64 {
        self.0
    }

    fn plus(self, span: Span) -> Self {
        Self(self.0 + span.as_micros())
    }

    fn since(self, earlier: Self) -> Span {
        Span::from_micros(self.0 - earlier.0)
    }
}

/// The clocks of the machine that the server runs on.
pub trait Machine: Send + Sync {
    /// Time since the machine booted, sleep included; it never goes back within a boot.
    fn boot_time(&self) -> Span;
    /// The wall clock, as it stands now.
    fn wall(&self) -> WallTime;
    /// Names the current boot; every boot has another one.
    fn boot_id(&self) -> &str;
}

/// The machine itself.
#[derive(Debug)]
pub struct ThisMachine {
    boot_id: String,
}

impl ThisMachine {
    /// Reads the id of the current boot, which stays the same for as long as the program can run.
    ///
    /// # Errors
    /// Where the kernel does not tell it, that is, where this is not Linux with `/proc` mounted.
    pub fn new() -> io::Result<Self> {
        let boot_id = std::fs::read_to_string("/proc/sys/kernel/random/boot_id")?;
        Ok(Self { boot_id: boot_id.trim().to_owned() })
    }
}

impl Machine for ThisMachine {
    fn boot_time(&self) -> Span {
        Span::from_micros(micros(read(ClockId::Boottime)))
    }

    fn wall(&self) -> WallTime {
        WallTime(micros(read(ClockId::Realtime)))
    }

    fn boot_id(&self) -> &str {
        &self.boot_id
    }
}

#[expect(clippy::disallowed_methods, reason = "this is the one place")]
fn read(clock: ClockId) -> Timespec {
    clock_gettime(clock)
}

fn micros(time: Timespec) -> i64 {
    time.tv_sec * 1_000_000 + time.tv_nsec / 1_000
}

/// One reading of all clocks at once.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Anchor {
    /// The boot in which it was read.
    pub boot_id: String,
    /// The boot-time clock.
    pub boot_time: Span,
    /// The wall clock.
    pub wall: WallTime,
    /// House time.
    pub house: HouseTime,
}

/// How house time came back when the server started.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Start {
    /// There was no anchor: house time begins at its zero.
    First,
    /// Same boot: house time is where it would have been had the server run on.
    Continued,
    /// The machine had rebooted: house time was rebuilt from the wall clock. The coach is told.
    Rebuilt {
        /// House time that passed since what was last known of it.
        away: Span,
    },
    /// The machine had rebooted and its wall clock stands earlier than what the journal proves
    /// (no battery clock, say). House time goes on from there; how long the machine was off is
    /// unknown, so a running class comes back held. The coach is told.
    WallRanBackwards {
        /// How much too early the wall clock stands, at least.
        by: Span,
    },
}

/// The house's own steady time line: it never goes back and never jumps while the server runs.
#[derive(Clone)]
pub struct HouseClock {
    machine: Arc<dyn Machine>,
    /// House time at which the boot-time clock of this boot stood at zero; may be negative.
    at_boot: HouseTime,
}

impl HouseClock {
    /// Takes house time up again from the last anchor and the time of the last event on disk.
    pub fn start(
        machine: Arc<dyn Machine>,
        last_anchor: Option<&Anchor>,
        last_event: Option<HouseTime>,
    ) -> (Self, Start) {
        let boot_time = machine.boot_time();
        let (house, start) = match last_anchor {
            None => (last_event.unwrap_or_default(), Start::First),
            Some(anchor)
                if anchor.boot_id == machine.boot_id() && anchor.boot_time <= boot_time =>
            {
                (anchor.house + (boot_time - anchor.boot_time), Start::Continued)
            }
            Some(anchor) => rebuild(anchor, last_event, machine.wall()),
        };
        (Self { machine, at_boot: house - boot_time }, start)
    }

    /// House time now.
    pub fn now(&self) -> HouseTime {
        self.at_boot + self.machine.boot_time()
    }

    /// The wall clock now, to date what has no house time.
    pub fn wall(&self) -> WallTime {
        self.machine.wall()
    }

    /// What the wall clock would show at a house time if it ran as it stands now; for people to read.
    pub fn wall_of(&self, time: HouseTime) -> WallTime {
        self.machine.wall().plus(time - self.now())
    }

    /// A reading of all clocks, for the store to keep at start and each minute.
    pub fn anchor(&self) -> Anchor {
        let boot_time = self.machine.boot_time();
        Anchor {
            boot_id: self.machine.boot_id().to_owned(),
            boot_time,
            wall: self.machine.wall(),
            house: self.at_boot + boot_time,
        }
    }
}

/// House time after a reboot, from the wall clock.
fn rebuild(anchor: &Anchor, last_event: Option<HouseTime>, wall: WallTime) -> (HouseTime, Start) {
    let known = last_event.map_or(anchor.house, |event| event.max(anchor.house));
    let told = anchor.house + wall.since(anchor.wall);
    if told < known {
        (known, Start::WallRanBackwards { by: known - told })
    } else {
        (told, Start::Rebuilt { away: told - known })
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Mutex;

    use super::*;

    /// A machine whose clocks a test sets by hand.
    struct TestMachine {
        boot_id: &'static str,
        /// The boot-time clock and the wall clock.
        clocks: Mutex<(Span, WallTime)>,
    }

    const NOON: WallTime = WallTime::from_micros(1_700_000_000_000_000);
    const HOUR: Span = Span::from_mins(60);

    impl TestMachine {
        fn new(boot_id: &'static str, boot_time: Span, wall: WallTime) -> Arc<Self> {
            Arc::new(Self { boot_id, clocks: Mutex::new((boot_time, wall)) })
        }

        fn pass(&self, span: Span) {
            let mut clocks = self.clocks.lock().unwrap();
            *clocks = (clocks.0 + span, clocks.1.plus(span));
        }

        fn step_wall(&self, by: Span) {
            let mut clocks = self.clocks.lock().unwrap();
            clocks.1 = clocks.1.plus(by);
        }
    }

    impl Machine for TestMachine {
        fn boot_time(&self) -> Span {
            self.clocks.lock().unwrap().0
        }

        fn wall(&self) -> WallTime {
            self.clocks.lock().unwrap().1
        }

        fn boot_id(&self) -> &str {
            self.boot_id
        }
    }

    fn at(secs: i64) -> HouseTime {
        HouseTime::from_micros(secs * 1_000_000)
    }

    /// An anchor at house time 1,000 s, boot "a", 5,000 s after that boot, at noon.
    fn anchor() -> Anchor {
        Anchor {
            boot_id: "a".into(),
            boot_time: Span::from_secs(5_000),
            wall: NOON,
            house: at(1_000),
        }
    }

    fn started(machine: Arc<TestMachine>, last_event: Option<HouseTime>) -> (HouseTime, Start) {
        let (clock, start) = HouseClock::start(machine, Some(&anchor()), last_event);
        (clock.now(), start)
    }

    #[test]
    fn house_time_begins_at_zero_and_runs_with_the_boot_time_clock() {
        let machine = TestMachine::new("a", Span::from_secs(77), NOON);
        let (clock, start) = HouseClock::start(machine.clone(), None, None);
        assert_eq!((clock.now(), start), (at(0), Start::First));
        machine.pass(Span::from_secs(90));
        assert_eq!(clock.now(), at(90));
        assert_eq!(clock.wall_of(at(60)), NOON.plus(Span::from_secs(60)));
    }

    #[test]
    fn an_hour_on_the_wall_clock_moves_nothing() {
        for step in [HOUR, -HOUR] {
            let machine = TestMachine::new("a", Span::from_secs(77), NOON);
            let (clock, _) = HouseClock::start(machine.clone(), None, None);
            machine.pass(Span::from_secs(10));
            let before = clock.anchor();
            machine.step_wall(step);
            assert_eq!(clock.now(), at(10));
            let (restarted, start) = HouseClock::start(machine, Some(&before), Some(at(10)));
            assert_eq!((restarted.now(), start), (at(10), Start::Continued));
        }
    }

    #[test]
    fn a_restart_in_the_same_boot_is_exact() {
        let machine = TestMachine::new("a", Span::from_micros(5_000_123_456), NOON);
        assert_eq!(
            started(machine, Some(at(900))),
            (HouseTime::from_micros(1_000_123_456), Start::Continued)
        );
    }

    #[test]
    fn after_a_reboot_the_wall_clock_tells_how_long_it_took() {
        let reboot = |boot_id| TestMachine::new(boot_id, Span::from_secs(20), NOON.plus(HOUR));
        let rebuilt = |away| Start::Rebuilt { away: Span::from_secs(away) };
        assert_eq!(started(reboot("b"), None), (at(4_600), rebuilt(3_600)));
        assert_eq!(started(reboot("b"), Some(at(1_030))), (at(4_600), rebuilt(3_570)));
        // The same id with a younger boot-time clock is a reboot too.
        assert_eq!(started(reboot("a"), None), (at(4_600), rebuilt(3_600)));
    }

    #[test]
    fn house_time_never_comes_back_before_what_is_known() {
        let early = |secs| TestMachine::new("b", Span::ZERO, NOON.plus(Span::from_secs(secs)));
        let backwards = |by| Start::WallRanBackwards { by: Span::from_secs(by) };
        assert_eq!(started(early(-3_600), None), (at(1_000), backwards(3_600)));
        assert_eq!(started(early(5), Some(at(1_030))), (at(1_030), backwards(25)));
    }

    #[test]
    fn the_real_machine_runs_forward_and_knows_its_boot() {
        let machine = ThisMachine::new().unwrap();
        let (first, second) = (machine.boot_time(), machine.boot_time());
        assert!(Span::ZERO < first && first <= second);
        assert_eq!(machine.boot_id(), ThisMachine::new().unwrap().boot_id());
        assert_eq!(machine.boot_id().len(), 36);
        assert!(machine.wall() > WallTime::from_micros(1_600_000_000_000_000));
    }
}
