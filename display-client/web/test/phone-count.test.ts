import { describe, expect, it } from "vitest";
import { type Count, type Counted, count, type OwnTaps, roundsIn } from "../src/counting/count";
import { SECOND } from "../src/shared/clock";
import type { Attempt, Counts, OwnWindow, Scoring, Tally } from "../src/shared/wire";
import { AT, counted, entry, ME, ownWindow } from "./phone-make";

const NOTHING: OwnTaps = { taps: [], undone: new Map(), keptSince: new Set() };
const ROUNDS: Counted = {
  segment: AT.first,
  scoring: { by: "rounds" },
  athlete: ME,
  me: ME,
  told: undefined,
  scheme: [],
  run: null,
};
type Told = OwnWindow | undefined;

function counts(told: Told, so: Partial<OwnTaps>, more: Partial<Counted> = {}): Count {
  return count({ ...ROUNDS, told, ...more }, { ...NOTHING, ...so });
}

const two = ownWindow(AT.first, 2, { last_tap: "b" });
const told = [entry("a", 10, {}, counted("a")), entry("b", 50, {}, counted("b"))];

describe("rounds while messages come in, in whatever order", () => {
  it.each<[string, Told, Partial<OwnTaps>, number]>([
    ["nothing yet", undefined, {}, 0],
    ["a tap that waits", undefined, { taps: [entry("a", 10)] }, 1],
    ["told by the server alone", two, {}, 2],
    ["all told", two, { taps: told }, 2],
    ["one more waits", two, { taps: [...told, entry("c", 90)] }, 3],
    [
      "told before it is said to be kept",
      two,
      { taps: [entry("a", 10, {}, counted("a")), entry("b", 50)] },
      2,
    ],
    [
      "kept before it is told",
      two,
      { taps: [...told, entry("c", 90, {}, counted("c"))], keptSince: new Set(["c"]) },
      3,
    ],
    ["kept, and set since by the coach", ownWindow(AT.first, 4), { taps: told }, 4],
    ["of another window", two, { taps: [...told, entry("c", 300, { segment: AT.second })] }, 2],
    ["an undo on its way", two, { taps: told, undone: new Map([["b", false]]) }, 1],
    ["an undo that was answered before it is told", two, { taps: told, undone: new Map([["b", true]]) }, 1],
    [
      "an undo that was told",
      ownWindow(AT.first, 1, { last_tap: "a" }),
      { taps: told, undone: new Map([["b", true]]) },
      1,
    ],
    [
      "an undo that was told before it is answered",
      ownWindow(AT.first, 1, { last_tap: "a" }),
      { taps: told, undone: new Map([["b", false]]) },
      1,
    ],
    [
      "a later tap counts after an undo",
      ownWindow(AT.first, 2, { last_tap: "c" }),
      { taps: [...told, entry("c", 90, {}, counted("c"))], undone: new Map([["b", true]]) },
      2,
    ],
    [
      "a tap that waits and was taken back",
      two,
      { taps: [...told, entry("c", 90)], undone: new Map([["c", false]]) },
      2,
    ],
  ])("%s", (_, own, so, rounds) => {
    expect(counts(own, so).rounds).toBe(rounds);
  });

  it("leaves out a tap that the server kept and did not count", () => {
    const standing = { type: "kept", tap: "c", standing: "not-counted", why: "held", marked: false } as const;
    const not = entry("c", 90, {}, { at: 0, generation: "journal", standing });
    expect(counts(two, { taps: [...told, not], keptSince: new Set(["c"]) }).rounds).toBe(2);
  });
});

it("says how many taps wait", () => {
  expect(counts(two, { taps: [...told, entry("c", 90), entry("d", 130)] }).waiting).toBe(2);
});

describe("the tap that undo takes back", () => {
  it.each<[string, Told, Partial<OwnTaps>, string | null]>([
    ["none", undefined, {}, null],
    ["the newest that waits", two, { taps: [...told, entry("c", 90)] }, "c"],
    ["the last one told", two, { taps: told }, "b"],
    [
      "the one before, while an undo is on its way",
      two,
      { taps: told, undone: new Map([["b", false]]) },
      "a",
    ],
    ["none after the coach set the tally", ownWindow(AT.first, 4), { taps: told }, null],
  ])("%s", (_, own, so, tap) => {
    expect(counts(own, so).undoable).toBe(tap);
  });
});

describe("the last split", () => {
  const splits = { splits: [40 * SECOND, 41 * SECOND], last_tap: "b" };
  it.each<[string, Partial<OwnTaps>, number | null]>([
    ["is the server's where all is told", { taps: told }, 41],
    ["is the time between two taps", { taps: [...told, entry("c", 93)] }, 43],
    ["is not known over a call in between", { taps: [...told, entry("c", 93, { heard: 8 })] }, null],
    [
      "is none for a caught-up tap",
      { taps: [...told, entry("c", 93, { counts: { kind: "round-before" } })] },
      null,
    ],
    [
      "is none after a caught-up tap",
      { taps: [...told, entry("c", 60, { counts: { kind: "round-before" } }), entry("d", 93)] },
      null,
    ],
  ])("%s", (_, so, seconds) => {
    const { lastSplit } = counts(ownWindow(AT.first, 2, splits), so);
    expect(lastSplit).toBe(seconds === null ? null : seconds * SECOND);
  });
  it("of the first round is counted from the start of work", () => {
    const run = { zero: 10 * SECOND, from: 10 * SECOND };
    expect(counts(undefined, { taps: [entry("a", 55)] }, { run }).lastSplit).toBe(45 * SECOND);
    expect(counts(undefined, { taps: [entry("a", 55)] }).lastSplit).toBeNull();
  });
});

describe("what each format counts before the house has answered", () => {
  const tap = (id: string, at: number, counts: Counts, kept = false) =>
    entry(id, at, { counts }, kept ? counted(id) : null);
  const round: Counts = { kind: "round" };
  const run = { zero: 10 * SECOND, from: 10 * SECOND };
  const trips: Scoring = { by: "amount", unit: "metres", step: 120 };
  const ones: Scoring = { by: "amount", unit: "calories", step: 1 };
  const time: Scoring = { by: "time", cap: 600 * SECOND, rounds: 3, reps: 78 };
  const told = (scoring: Scoring, tally: Tally, more: Partial<OwnWindow> = {}) =>
    ownWindow(AT.first, 0, { scoring, tally, ...more });

  it("by trips: each touch is one of 120 m, and one that was forgotten too", () => {
    const window = told(trips, { kind: "count", amount: 240 });
    const taps = [tap("a", 50, round), tap("b", 60, { kind: "round-before" })];
    expect(counts(window, { taps }, { scoring: trips }).amount).toBe(480);
  });

  it("by ones, fives and tens", () => {
    const taps = [1, 5, 10].map((amount, at) => tap(`${at}`, 50 + at, { kind: "amount", amount }));
    expect(counts(undefined, { taps }, { scoring: ones }).amount).toBe(16);
    const undone = new Map([["2", false]]);
    expect(counts(undefined, { taps, undone }, { scoring: ones }).amount).toBe(6);
  });

  it("made once, however often it was touched, and not after an undo", () => {
    const made: Scoring = { by: "made" };
    const window = told(made, { kind: "made", made: 1, of: 1 }, { last_tap: "a" });
    const taps = [tap("a", 20, round, true)];
    expect(counts(undefined, { taps: [tap("a", 20, round)] }, { scoring: made }).rounds).toBe(1);
    expect(counts(window, { taps }, { scoring: made }).rounds).toBe(1);
    expect(counts(window, { taps, undone: new Map([["a", false]]) }, { scoring: made }).rounds).toBe(0);
  });

  it("finished at its time at once, by this phone's own clock", () => {
    const taps = [tap("a", 532, { kind: "finish" })];
    expect(counts(undefined, { taps }, { scoring: time, run }).finished).toEqual({ time: 522 * SECOND });
    expect(counts(undefined, { taps }, { scoring: time }).finished).toEqual({ time: null });
    const held = { zero: 10 * SECOND, from: 540 * SECOND };
    expect(counts(undefined, { taps }, { scoring: time, run: held }).finished).toEqual({ time: null });
  });

  it("not finished any more once that is taken back", () => {
    const window = told(time, { kind: "finished", time: 522 * SECOND }, { last_tap: "a" });
    const taps = [tap("a", 532, { kind: "finish" }, true)];
    expect(counts(window, { taps }, { scoring: time }).finished).toEqual({ time: 522 * SECOND });
    const undone = new Map([["a", false]]);
    expect(counts(window, { taps, undone }, { scoring: time }).finished).toBeNull();
  });

  it("rounds for time, out of the reps that the house tells", () => {
    const window = told(time, { kind: "at-cap", reps: 52 }, { last_tap: "a" });
    const taps = [tap("a", 100, round, true), tap("b", 200, round)];
    expect(counts(window, { taps }, { scoring: time }).rounds).toBe(3);
    expect(roundsIn(45, [16, 16], [20, 16, 12])).toBe(1);
    expect(roundsIn(72, [12, 12], [20, 16, 12])).toBe(2);
    expect(roundsIn(10, [], [])).toBe(0);
  });

  it("attempts, with the heaviest good one", () => {
    const load: Scoring = { by: "load", reps: 3 };
    const attempt = (id: string, grams: number, good: boolean): Attempt => ({ tap: id, grams, good });
    const window = told(
      load,
      { kind: "load", grams: 80_000 },
      { last_tap: "b", attempts: [attempt("a", 80_000, true), attempt("b", 85_000, false)] },
    );
    const kept = [
      tap("a", 20, { kind: "attempt", grams: 80_000, good: true }, true),
      tap("b", 40, { kind: "attempt", grams: 85_000, good: false }, true),
    ];
    const all = [...kept, tap("c", 60, { kind: "attempt", grams: 82_500, good: true })];
    const three = counts(window, { taps: all }, { scoring: load });
    expect(three.attempts.map(({ tap }) => tap)).toEqual(["a", "b", "c"]);
    expect(three.best).toBe(82_500);
    const undone = new Map([["a", false]]);
    expect(counts(window, { taps: kept, undone }, { scoring: load })).toMatchObject({ best: null });
  });

  it("done", () => {
    const taps = [tap("a", 50, { kind: "finish" })];
    expect(counts(undefined, { taps }, { scoring: { by: "done" } }).finished).not.toBeNull();
    expect(counts(undefined, {}, { scoring: { by: "done" } }).finished).toBeNull();
  });
});

describe("several people and phones", () => {
  const MATE = "a0000000-0000-4000-8000-000000000002";

  it("keeps the taps for one person apart from those for another", () => {
    const taps = [entry("a", 10), entry("b", 20, { athlete: MATE }), entry("c", 30, { athlete: MATE })];
    expect(counts(undefined, { taps }).rounds).toBe(1);
    expect(counts(undefined, { taps }, { athlete: MATE }).rounds).toBe(2);
  });

  it("counts own taps once where a team mate had the last round", () => {
    const shared = ownWindow(AT.first, 2, { last_tap: "theirs", last_by: MATE });
    const mine = entry("a", 10, {}, counted("a"));
    expect(counts(shared, { taps: [mine] }).rounds).toBe(2);
    expect(counts(shared, { taps: [mine, entry("b", 90)] })).toMatchObject({ rounds: 3, lastSplit: null });
  });

  it("takes back its own taps alone, never a team mate's", () => {
    const shared = ownWindow(AT.first, 2, { last_tap: "theirs", last_by: MATE });
    expect(counts(shared, { taps: [entry("a", 10, {}, counted("a"))] }).undoable).toBe("a");
    expect(counts(shared, {}).undoable).toBeNull();
  });

  it("takes back what another phone of the same person counted", () => {
    const window = ownWindow(AT.first, 2, { last_tap: "other-phone", last_by: ME });
    expect(counts(window, {}).undoable).toBe("other-phone");
  });
});
