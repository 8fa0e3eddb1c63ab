import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { type Exchange, Sync } from "../src/shared/sync";

const MS = 1_000;
const S = 1_000_000;

type Step =
  | { exchange: [number, number, number, number]; taken: string }
  | { woke: [number, number] }
  | { now: number; estimate: number; bound: number; shown: number; shown_bound: number; round_trip: number };

describe("the cases that floorbell-core shares", () => {
  const recorded = readFileSync(new URL("../../cases/sync.json", import.meta.url), "utf8");
  const { cases } = JSON.parse(recorded) as { cases: { name: string; steps: Step[] }[] };
  const near = (got: number | null, expected: number) =>
    expect(Math.abs((got ?? Number.NaN) - expected)).toBeLessThanOrEqual(2);

  it.each(cases)("$name", ({ steps }) => {
    const sync = new Sync(1);
    let refused = 0;
    for (const step of steps) {
      if ("exchange" in step) {
        const [t0, t1, t2, t3] = step.exchange;
        expect(sync.take({ t0, t1, t2, t3 })).toBe(step.taken);
        refused += step.taken === "refused" ? 1 : 0;
        expect(sync.refused).toBe(refused);
        continue;
      }
      if ("woke" in step) {
        sync.woke(...step.woke);
        continue;
      }
      near(sync.estimate(step.now), step.estimate);
      near(sync.bound(step.now), step.bound);
      near(sync.shown(step.now), step.shown);
      near(sync.shownBound(step.now), step.shown_bound);
      near(sync.roundTrip, step.round_trip);
    }
  });
});

it("knows nothing before the first exchange", () => {
  const sync = new Sync(1);
  expect([sync.estimate(0), sync.bound(0), sync.shown(0), sync.roundTrip]).toEqual([null, null, null, null]);
});

it.each([Number.NaN, Number.POSITIVE_INFINITY])("refuses %d for a timestamp", (strange) => {
  const sync = new Sync(1);
  const whole = { t0: 0, t1: 5 * MS, t2: 5 * MS, t3: 10 * MS };
  sync.take(whole);
  const times = { t0: S, t1: S + 5 * MS, t2: S + 5 * MS, t3: S + 10 * MS };
  for (const time of ["t0", "t1", "t2", "t3"])
    expect(sync.take({ ...times, [time]: strange })).toBe("refused");
  expect(sync.refused).toBe(4);
  expect(sync.estimate(S)).toBeCloseTo(S, -1);
});

/** A device whose clock is `offset` behind house time and runs slow by `ppm`, seen over a network. */
function device(offset: number, ppm = 0) {
  const house = (now: number) => now + offset + now * ppm * 1e-6;
  const exchange = (at: number, out: number, back: number): Exchange => {
    const t1 = house(at + out);
    return { t0: at, t1, t2: t1, t3: at + out + back };
  };
  return { house, exchange };
}

it("moves on by a sleep, doubts it by as much, and is sure again after the next exchange", () => {
  const sync = new Sync(1);
  sync.take(device(0).exchange(0, MS, MS));
  sync.woke(40 * S, 40 * S);
  expect(sync.estimate(S)).toBeCloseTo(41 * S, 0);
  expect(sync.bound(S)).toBeGreaterThan(40 * S);
  sync.take(device(38 * S).exchange(S, MS, MS));
  expect(sync.estimate(2 * S)).toBeCloseTo(40 * S, 0);
  expect(sync.bound(2 * S)).toBeLessThan(2 * MS);
});

/** Chance from a seed: the minimal standard generator of Park and Miller, with the multiplier 48271. */
function seeded(seed: number): () => number {
  let state = seed * 7919;
  return () => {
    state = (state * 48271) % 0x7fffffff;
    return state / 0x7fffffff;
  };
}

describe.each([1, 2, 3, 4, 5])("over a bad network, seed %d", (seed) => {
  it("never exceeds its bound, and no shown second is shorter than 0.9 s or longer than 1.1 s", () => {
    const chance = seeded(seed);
    const { house, exchange } = device(1_000 * S * chance(), (chance() - 0.5) * 190);
    const sync = new Sync(100);
    const delay = () => 500 + (chance() < 0.2 ? 150 * MS : 4 * MS) * chance();
    const half = S / 2;
    let next = 0;
    let exchanges = 0;
    let before: number | null = null;
    for (let now = half; now < 900 * S; now += half) {
      if (now >= next) {
        sync.take(exchange(now - 320 * MS, delay(), delay()));
        exchanges += 1;
        next = now + (exchanges < 8 ? half : (5 + 5 * chance()) * S);
      }
      expect(Math.abs((sync.estimate(now) ?? 0) - house(now))).toBeLessThanOrEqual(sync.bound(now) ?? 0);
      expect(Math.abs((sync.shown(now) ?? 0) - house(now))).toBeLessThanOrEqual(sync.shownBound(now) ?? 0);
      const shown = sync.shown(now) ?? 0;
      if (before !== null) {
        expect(shown - before).toBeGreaterThan(0.9 * half);
        expect(shown - before).toBeLessThan(1.1 * half);
      }
      before = shown;
    }
  });
});
