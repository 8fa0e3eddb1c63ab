import { describe, expect, it } from "vitest";
import { type Exchange, Sync } from "../src/shared/sync";

const MS = 1_000;
const S = 1_000_000;

/** A device whose clock is `offset` behind house time and runs slow by `ppm`, seen over a network. */
function device(offset: number, ppm = 0) {
  const house = (now: number) => now + offset + now * ppm * 1e-6;
  const exchange = (at: number, out: number, back: number): Exchange => {
    const t0 = at;
    const t1 = house(t0 + out);
    return { t0, t1, t2: t1, t3: t0 + out + back };
  };
  return { house, exchange };
}

/** Chance from a seed: the minimal standard generator of Park and Miller, with the multiplier 48271. */
function seeded(seed: number): () => number {
  let state = seed * 7919;
  return () => {
    state = (state * 48271) % 0x7fffffff;
    return state / 0x7fffffff;
  };
}

it("computes offset and round trip as RFC 5905 section 8 has it", () => {
  const sync = new Sync(0);
  sync.take({ t0: 1000 * MS, t1: 1130 * MS, t2: 1135 * MS, t3: 1045 * MS });
  expect(sync.estimate(1045 * MS)).toBe((1045 + 110) * MS);
  expect(sync.roundTrip).toBe(40 * MS);
  expect(sync.bound(1045 * MS)).toBe(20 * MS);
});

it("stays within its bound where the ways there and back differ", () => {
  const { house, exchange } = device(5 * S);
  const sync = new Sync(0);
  sync.take(exchange(S, 40 * MS, 10 * MS));
  const now = S + 50 * MS;
  expect((sync.estimate(now) ?? 0) - house(now)).toBe(15 * MS);
  expect(sync.bound(now)).toBe(25 * MS);
});

it("trusts the exchange of least delay among the last eight", () => {
  const { exchange } = device(0);
  const sync = new Sync(0);
  sync.take(exchange(0, MS, MS));
  for (let number = 1; number <= 7; number += 1) sync.take(exchange(number * S, 30 * MS, 30 * MS));
  expect(sync.roundTrip).toBe(2 * MS);
  sync.take(exchange(8 * S, 30 * MS, 30 * MS));
  expect(sync.roundTrip).toBe(60 * MS);
});

it("ages by 100 ppm until the rate was measured, then by no less than 15 ppm", () => {
  const { house, exchange } = device(0, 60);
  const sync = new Sync(0);
  sync.take(exchange(0, MS, MS));
  expect((sync.bound(10 * S + 2 * MS) ?? 0) - MS).toBeCloseTo(1000, 6);
  for (let at = 10; at <= 300; at += 10) sync.take(exchange(at * S, MS, MS));
  const last = 300 * S + 2 * MS;
  expect((sync.bound(last + 100 * S) ?? 0) - (sync.bound(last) ?? 0)).toBeCloseTo(1500, 6);
  expect(Math.abs((sync.estimate(last + 100 * S) ?? 0) - house(last + 100 * S))).toBeLessThan(1500);
});

describe("what is shown", () => {
  it("steps at first, then slews at 5 % and arrives", () => {
    const sync = new Sync(0);
    expect(sync.take(device(0).exchange(0, 200 * MS, 0))).toBe("stepped");
    const wrong = sync.shown(200 * MS) ?? 0;
    expect(sync.take(device(0).exchange(S, MS, MS))).toBe("slewed");
    const now = S + 2 * MS;
    expect((sync.shown(now) ?? 0) - now).toBeCloseTo(wrong - 200 * MS, 0);
    expect(wrong - 200 * MS).toBe(100 * MS);
    const later = now + S;
    expect((sync.shown(later) ?? 0) - later).toBeCloseTo(50 * MS, 0);
    expect((sync.shown(now + 2 * S) ?? 0) - (now + 2 * S)).toBeCloseTo(0, 0);
    expect(sync.estimate(now)).toBe(now);
  });
  it("adds what is left to slew to its bound", () => {
    const sync = new Sync(0);
    sync.take(device(0).exchange(0, 200 * MS, 0));
    sync.take(device(0).exchange(S, MS, MS));
    const now = S + 2 * MS;
    expect(sync.shownBound(now)).toBeCloseTo((sync.bound(now) ?? 0) + 100 * MS, 0);
  });
  it("steps once when over 250 ms off", () => {
    const sync = new Sync(0);
    sync.take(device(0).exchange(0, 600 * MS, 0));
    expect(sync.take(device(0).exchange(S, MS, MS))).toBe("stepped");
    expect(sync.shown(S + 2 * MS)).toBe(S + 2 * MS);
  });
});

it("drops what a newer exchange proves wrong", () => {
  const sync = new Sync(0);
  for (let at = 0; at < 8; at += 1) sync.take(device(0).exchange(at * S, MS, MS));
  // The device slept 60 s without a sign of it.
  expect(sync.take(device(60 * S).exchange(9 * S, 5 * MS, 5 * MS))).toBe("stepped");
  expect(sync.estimate(9 * S + 10 * MS)).toBe(69 * S + 10 * MS);
  expect(sync.roundTrip).toBe(10 * MS);
});

it("moves on by a sleep, doubts it by as much, and is sure again after the next exchange", () => {
  const sync = new Sync(0);
  sync.take(device(0).exchange(0, MS, MS));
  sync.woke(40 * S, 40 * S);
  expect(sync.estimate(S)).toBe(41 * S);
  expect(sync.bound(S)).toBeGreaterThan(40 * S);
  sync.take(device(38 * S).exchange(S, MS, MS));
  expect(sync.estimate(2 * S)).toBe(40 * S);
  expect(sync.bound(2 * S)).toBeLessThan(2 * MS);
});

it("refuses an exchange that no clock could have made", () => {
  const sync = new Sync(0);
  expect(sync.take({ t0: 10, t1: 0, t2: 0, t3: 9 })).toBe("refused");
  expect(sync.take({ t0: 0, t1: 10, t2: 9, t3: 5 })).toBe("refused");
  expect(sync.take({ t0: 0, t1: 0, t2: 0, t3: 11 * S })).toBe("refused");
  expect(sync.estimate(0)).toBeNull();
});

describe.each([1, 2, 3, 4, 5])("over a bad network, seed %d", (seed) => {
  it("never exceeds its bound, and no shown second is shorter than 0.9 s or longer than 1.1 s", () => {
    const chance = seeded(seed);
    const ppm = (chance() - 0.5) * 190;
    const { house, exchange } = device(1_000 * S * chance(), ppm);
    const sync = new Sync(100);
    const delay = () => 500 + (chance() < 0.2 ? 150 * MS : 4 * MS) * chance();
    let next = 0;
    let exchanges = 0;
    let before: number | null = null;
    for (let now = 0; now < 900 * S; now += S / 2) {
      if (now >= next) {
        sync.take(exchange(now - 300 * MS, delay(), delay()));
        exchanges += 1;
        next = now + (exchanges < 8 ? S / 2 : (5 + 5 * chance()) * S);
      }
      expect(Math.abs((sync.estimate(now) ?? 0) - house(now))).toBeLessThanOrEqual(sync.bound(now) ?? 0);
      expect(Math.abs((sync.shown(now) ?? 0) - house(now))).toBeLessThanOrEqual(sync.shownBound(now) ?? 0);
      const shown = sync.shown(now) ?? 0;
      if (before !== null) {
        expect(shown - before).toBeGreaterThan(0.45 * S);
        expect(shown - before).toBeLessThan(0.55 * S);
      }
      before = shown;
    }
  });
});
