//! Following house time: the recorded cases that the web client shares, and a simulation in which
//! true time is known, so that errors and bounds can be held against it.

mod cases;
mod figures;
mod world;

use world::{Way, World};

/// Any path at all: in one of two worlds all of the delay is on one way, the worst that can be.
fn anything(seed: u64) -> World {
    World::new(seed, if seed.is_multiple_of(2) { 1 } else { 100 }, |chance| {
        let mut ways = [(); 2].map(|()| {
            let (least, scale) = (chance.between(0.0, 40e3), chance.between(0.0, 30e3));
            Way::tailed(least, scale, chance.between(1.1, 3.0))
        });
        if let Some(way) = ways.get_mut(chance.bits() as usize % 4) {
            *way = Way::even(0.0, 0.0);
        }
        ways
    })
}

#[test]
fn the_bound_always_holds_and_shown_time_never_jumps() {
    for seed in 0..2_000 {
        let mut world = anything(seed);
        for number in 0..60 {
            if world.chance.share() > 0.1 {
                world.exchange();
            }
            let alone = number > 8 && world.chance.share() < 0.05;
            let gap = match number {
                0..8 => 60e3,
                _ if alone => 600e6,
                _ => world.chance.between(5e6, 10e6),
            };
            world.pass(gap);
        }
    }
}

#[test]
fn the_bound_holds_through_sleep() {
    for seed in 0..1_000 {
        let mut world = anything(seed);
        for _ in 0..10 {
            for _ in 0..8 {
                world.exchange();
                world.now += 60e3;
                world.check();
            }
            let (awake, asleep) =
                (world.chance.between(0.0, 60e6), world.chance.between(0.0, 3600e6));
            world.now += awake;
            world.sleep(asleep);
            world.check();
            world.now += 1e6;
            world.check();
        }
    }
}
