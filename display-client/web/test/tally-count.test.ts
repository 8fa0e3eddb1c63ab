import { describe, expect, it } from "vitest";
import type { OwnTaps } from "../src/counting/count";
import { SECOND } from "../src/shared/clock";
import type { OwnWindow, Scoring } from "../src/shared/wire";
import { type Count, count } from "../src/tally/count";
import { ANSA, AT, BIRK, counts, entry, told } from "./tally-make";

const NOTHING: OwnTaps = { taps: [], undone: new Map(), keptSince: new Set() };

function of(scoring: Scoring, own: OwnWindow | undefined, so: Partial<OwnTaps> = {}): Count {
  return count(
    { athlete: ANSA, segment: AT.tide, scoring, told: own, scheme: [21, 15, 9] },
    { ...NOTHING, ...so },
  );
}

const ROUNDS = { by: "rounds" } as const;
const rounds = (rounds: number, more: Partial<OwnWindow> = {}) =>
  told(AT.tide, { tally: { kind: "rounds", rounds, extra: 0 }, ...more });
const two = rounds(2, { last_tap: "b", last: 50 * SECOND });
const both = [entry("a", 10, {}, counts("a", 10)), entry("b", 50, {}, counts("b", 50))];

describe("rounds while messages come in, in whatever order", () => {
  it.each<[string, OwnWindow | undefined, Partial<OwnTaps>, number]>([
    ["nothing yet", undefined, {}, 0],
    ["a tap that waits", undefined, { taps: [entry("a", 10)] }, 1],
    ["told by the house alone", two, {}, 2],
    ["all told", two, { taps: both }, 2],
    ["one more waits", two, { taps: [...both, entry("c", 90)] }, 3],
    ["told before it is kept", two, { taps: [entry("a", 10, {}, counts("a", 10)), entry("b", 50)] }, 2],
    [
      "kept before it is told",
      two,
      { taps: [...both, entry("c", 90, {}, counts("c", 90))], keptSince: new Set(["c"]) },
      3,
    ],
    [
      "told, with a later tap of the athlete's own phone, before it is kept",
      rounds(2, { last_tap: "phone's", last: 60 * SECOND }),
      { taps: both, keptSince: new Set(["b"]) },
      2,
    ],
    ["set since by the coach", rounds(4), { taps: both }, 4],
    ["for somebody else", two, { taps: [...both, entry("c", 90, { athlete: BIRK })] }, 2],
    ["of another window", two, { taps: [...both, entry("c", 90, { segment: AT.again })] }, 2],
    ["an undo on its way", two, { taps: both, undone: new Map([["b", false]]) }, 1],
    ["an undo that is answered before it is told", two, { taps: both, undone: new Map([["b", true]]) }, 1],
    [
      "an undo that is told before it is answered",
      rounds(1, { last_tap: "a", last: 10 * SECOND }),
      { taps: both, undone: new Map([["b", false]]) },
      1,
    ],
    [
      "an undo of a tap that waits",
      two,
      { taps: [...both, entry("c", 90)], undone: new Map([["c", false]]) },
      2,
    ],
    [
      "a tap that does not count",
      two,
      {
        taps: [
          ...both,
          entry(
            "c",
            51,
            {},
            {
              at: 0,
              generation: "journal",
              standing: { type: "kept", tap: "c", standing: "not-counted", why: "twice", marked: false },
            },
          ),
        ],
      },
      2,
    ],
  ])("%s", (_, own, so, expected) => {
    expect(of(ROUNDS, own, so).rounds).toBe(expected);
  });
});

it("undo takes back the tablet's own last tap that counts", () => {
  const undoable = (own: OwnWindow | undefined, so: Partial<OwnTaps>) => of(ROUNDS, own, so).undoable;
  expect(undoable(undefined, {})).toBeNull();
  expect(undoable(two, { taps: both })).toBe("b");
  expect(undoable(two, { taps: [...both, entry("c", 90)] })).toBe("c");
  expect(undoable(two, { taps: both, undone: new Map([["b", false]]) })).toBe("a");
  // What was taken back before a reload is known by what the house names as the last.
  expect(undoable(rounds(1, { last_tap: "a", last: 10 * SECOND }), { taps: both })).toBe("a");
  expect(undoable(rounds(3, { last_tap: "phone's", last: 60 * SECOND }), { taps: both })).toBe("b");
});

it("taps that wait are told of", () => {
  expect(of(ROUNDS, two, { taps: [...both, entry("c", 90), entry("d", 91)] }).waiting).toBe(2);
});

describe("every format", () => {
  it("for time: rounds by the reps that the house tells, then finished", () => {
    const time = { by: "time", cap: 240 * SECOND, rounds: 3, reps: 90 } as const;
    const atCap = (reps: number) =>
      told(AT.tide, { scoring: time, tally: { kind: "at-cap", reps }, reps: [21, 21] });
    expect([0, 41, 42, 71, 72, 90].map((reps) => of(time, atCap(reps)).rounds)).toEqual([0, 0, 1, 1, 2, 3]);
    expect(of(time, atCap(42), { taps: [entry("c", 90)] }).rounds).toBe(2);
    const finish = entry("c", 90, { counts: { kind: "finish" } });
    expect(of(time, atCap(72), { taps: [finish] }).finished).toEqual({ time: null });
    const finished = told(AT.tide, { scoring: time, tally: { kind: "finished", time: 9 }, last_tap: "c" });
    expect(of(time, finished, { taps: [finish] })).toMatchObject({ finished: { time: 9 }, rounds: 3 });
    expect(of(time, finished, { taps: [finish], undone: new Map([["c", false]]) }).finished).toBeNull();
  });

  it("one thing: units and ones", () => {
    const trips = { by: "amount", unit: "metres", step: 120 } as const;
    const own = told(AT.tide, { scoring: trips, tally: { kind: "count", amount: 240 } });
    const more = [entry("a", 90), entry("b", 91, { counts: { kind: "amount", amount: 5 } })];
    expect(of(trips, own, { taps: more }).amount).toBe(240 + 120 + 5);
  });

  it("loads: the heaviest good attempt", () => {
    const load = { by: "load", reps: 3 } as const;
    const attempt = (id: string, grams: number, good: boolean) =>
      entry(id, 90, { counts: { kind: "attempt", grams, good } });
    const own = told(AT.tide, {
      scoring: load,
      tally: { kind: "load", grams: 80_000 },
      attempts: [{ tap: "a", grams: 80_000, good: true }],
      last_tap: "a",
    });
    const taps = [attempt("b", 85_000, false), attempt("c", 82_500, true)];
    const now = of(load, own, { taps });
    expect([now.best, now.attempts.length]).toEqual([82_500, 3]);
    expect(of(load, own, { taps, undone: new Map([["c", false]]) }).best).toBe(80_000);
    expect(of(load, undefined, { taps: taps.slice(0, 1) }).best).toBeNull();
  });

  it("made in its time, and done", () => {
    expect(of({ by: "made" }, told(AT.tide, { tally: { kind: "made", made: 1, of: 1 } })).rounds).toBe(1);
    expect(of({ by: "done" }, told(AT.tide, { tally: { kind: "done" } })).finished).toEqual({ time: null });
  });
});
