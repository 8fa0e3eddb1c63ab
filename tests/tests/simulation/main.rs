//! A class and its devices over networks that lose, repeat, reorder and delay, with crashes of both
//! ends: no tap is lost, none counts twice, and the tallies are those that a plain model reads off the
//! journal.
//!
//! Everything runs in virtual time from a seed. A seed that fails is printed, and
//! `FLOORBELL_SEED=17 cargo test --package floorbell-tests --test simulation` runs it alone;
//! `FLOORBELL_SEEDS` says how many are run.

mod coach;
mod model;
mod network;
mod phone;
mod server;
mod world;

use std::collections::{BTreeMap, BTreeSet};
use std::env;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};

use floorbell_core::class::Class;
use floorbell_core::class::command::Tap;
use floorbell_core::class::event::{Event, Stamped};
use floorbell_core::ids::{AthleteId, RequestId, Seq, TapId};
use floorbell_core::score::{Standing, Tally};

use crate::model::{Model, WORK};
use crate::world::{ATHLETES, World, athlete};

/// Seeds of one run.
const SEEDS: u64 = 1_000;
/// Taps made in each, before the five of the phone that is cut off when the class is closed.
const TAPS: usize = 95;

fn number(variable: &str) -> Option<u64> {
    let value = env::var(variable).ok()?;
    Some(value.parse().unwrap_or_else(|_| panic!("{variable} is a whole number, not {value:?}")))
}

#[test]
fn no_tap_is_lost_or_doubled_on_any_network() {
    let seeds = match number("FLOORBELL_SEED") {
        Some(seed) => seed..seed + 1,
        None => 0..number("FLOORBELL_SEEDS").unwrap_or(SEEDS),
    };
    let (mut taps, count) = (0, seeds.end - seeds.start);
    for seed in seeds {
        taps += catch_unwind(AssertUnwindSafe(|| run(seed))).unwrap_or_else(|failed| {
            eprintln!("seed {seed} fails; to run it alone:");
            eprintln!("FLOORBELL_SEED={seed} cargo test -p floorbell-tests --test simulation");
            resume_unwind(failed)
        });
    }
    println!("{taps} taps over {count} seeds");
    assert!(taps as u64 >= 100 * count);
}

/// Runs one seed; gives how many taps were made.
fn run(seed: u64) -> usize {
    let mut world = World::new(seed);
    world.run_until_made(TAPS);
    world.close_while_five_wait();
    world.calm_down();
    check_devices(&world);
    check_journal(&world);
    check_tallies(&world.server.journal, &world.server.class);
    check_order(&mut world);
    world.made()
}

/// Nothing waits anywhere, and all that was made is called safe by the journal that there is.
fn check_devices(world: &World) {
    for phone in &world.phones {
        let device = phone.device.as_ref().expect("every device is up");
        assert_eq!((device.taps_waiting(), phone.waiting()), (0, 0));
        for entry in phone.disk.values() {
            let kept = entry.kept.as_ref().expect("nothing waits");
            assert_eq!(kept.generation, world.server.generation);
        }
    }
}

/// Each tap that was made stands in the journal once and as it was made, and nothing else does; so
/// does each request that was acknowledged.
fn check_journal(world: &World) {
    let mut made: BTreeMap<TapId, &Tap> = BTreeMap::new();
    for entry in world.phones.iter().flat_map(|phone| phone.disk.values()) {
        assert!(made.insert(entry.tap.id, &entry.tap).is_none(), "one tap is on one device");
    }
    let journal = &world.server.journal;
    let mut carried_out: BTreeSet<RequestId> = BTreeSet::new();
    for stamped in journal {
        match &stamped.event {
            Event::Tapped { tap, .. } => {
                assert_eq!(made.remove(&tap.id), Some(tap), "it was made, and stands here once");
            }
            Event::Called { id, .. } | Event::TakenBack { id, .. } => {
                carried_out.insert(*id);
            }
            _ => {}
        }
    }
    assert!(made.is_empty(), "lost: {made:?}");
    let missing: Vec<_> = world.acknowledged.difference(&carried_out).collect();
    assert!(missing.is_empty(), "acknowledged and not in the journal: {missing:?}");
    let replayed = Class::replay(journal.iter().cloned()).expect("the journal is whole");
    assert_eq!(replayed, world.server.class);
}

/// Who has what, and by which taps, as a plain model has it.
fn check_tallies(journal: &[Stamped], class: &Class) {
    let model = Model::new(journal);
    for athlete in (0..ATHLETES).map(athlete) {
        let mut by_model = BTreeSet::new();
        for (segment, window) in model.windows(journal, athlete) {
            let tally = window.rounds.map(|rounds| Tally::Rounds { rounds, extra: 0 });
            assert_eq!(class.tally(athlete, segment), tally, "{athlete} in segment {segment}");
            by_model.extend(window.taps);
        }
        assert_eq!(counted(journal, class, athlete), by_model);
    }
}

/// The taps of an athlete that the class counts.
fn counted(journal: &[Stamped], class: &Class, athlete: AthleteId) -> BTreeSet<TapId> {
    let taps = journal.iter().filter_map(|stamped| match &stamped.event {
        Event::Tapped { tap, .. } if tap.athlete == athlete => Some(tap.id),
        _ => None,
    });
    taps.filter(|&tap| matches!(class.standing(athlete, tap), Some(Standing::Counted { .. })))
        .collect()
}

/// Taps and undos that arrive in another order, each when it did by its stamp, are worth the same.
fn check_order(world: &mut World) {
    let arrives =
        |stamped: &Stamped| matches!(stamped.event, Event::Tapped { .. } | Event::Undone { .. });
    let (mut arriving, mut journal): (Vec<_>, Vec<_>) =
        world.server.journal.iter().cloned().partition(arrives);
    for last in (1..arriving.len()).rev() {
        arriving.swap(last, world.chance.index(last + 1));
    }
    journal.append(&mut arriving);
    for (stamped, seq) in journal.iter_mut().zip(1..) {
        stamped.seq = Seq(seq);
    }
    let again = Class::replay(journal.iter().cloned()).expect("it is numbered anew");
    let before = &world.server.class;
    for athlete in (0..ATHLETES).map(athlete) {
        for segment in WORK {
            assert_eq!(again.tally(athlete, segment), before.tally(athlete, segment));
        }
        assert_eq!(again.windows(athlete), before.windows(athlete));
    }
    for stamped in &journal {
        if let Event::Tapped { tap, .. } = &stamped.event {
            let standing = |class: &Class| class.standing(tap.athlete, tap.id);
            assert_eq!(standing(&again), standing(before));
        }
    }
}
