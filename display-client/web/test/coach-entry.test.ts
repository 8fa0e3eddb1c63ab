import { describe, expect, test } from "vitest";
import { entriesOf, type Read } from "../src/coach/entry";
import { tallyIn, tapsOf } from "../src/coach/scoring";
import { tallyText } from "../src/coach/words";
import { SECOND } from "../src/shared/clock";
import type { Scoring, Tally } from "../src/shared/wire";
import { own } from "./coach-make";

const TIME: Scoring = { by: "time", cap: 600 * SECOND, rounds: 3, reps: 78 };
const TRIPS: Scoring = { by: "amount", unit: "metres", step: 120 };
const CALORIES: Scoring = { by: "amount", unit: "calories", step: 1 };

/** For each format: what ends it, what can be tapped, and how a tally of it reads. */
const FORMATS: [Scoring, string[], string[], Tally, string][] = [
  [{ by: "rounds" }, ["Set"], ["+1 round", "+1 earlier"], { kind: "rounds", rounds: 5, extra: 12 }, "5 + 12"],
  [
    TIME,
    ["Finished", "At the cap"],
    ["Finished", "+1 round", "+1 earlier"],
    { kind: "finished", time: 522 * SECOND },
    "8:42",
  ],
  [{ by: "made" }, ["Made it", "Not made"], ["Made it"], { kind: "made", made: 1, of: 1 }, "made"],
  [TRIPS, ["Set"], ["+120 m", "+5 m", "+10 m", "+50 m"], { kind: "count", amount: 885 }, "885 m"],
  [CALORIES, ["Set"], ["+1 cal", "+5 cal", "+10 cal"], { kind: "count", amount: 48 }, "48 cal"],
  [{ by: "load", reps: 3 }, ["Set"], [], { kind: "load", grams: 82_500 }, "82.5 kg"],
  [{ by: "done" }, ["Done"], ["Done"], { kind: "done" }, "done"],
];

describe.each(FORMATS)("a window scored by %j", (scoring, ends, taps, tally, words) => {
  test("is ended by what its format gives", () => {
    expect(entriesOf(scoring).map(({ word }) => word)).toEqual(ends);
  });

  test("is tapped for in its own units", () => {
    expect(tapsOf(scoring).map(({ word }) => word)).toEqual(taps);
  });

  test("has nothing until something is counted, and then reads as people say it", () => {
    expect(tallyIn(own(2, scoring))).toBeNull();
    expect(tallyIn(own(2, scoring, { tally }))).toEqual(tally);
    expect(tallyText(tally, scoring)).toBe(words);
  });
});

test("a tally of nothing that was entered is a tally", () => {
  expect(tallyIn(own(2, { by: "rounds" }, { entered: true }))).toEqual({
    kind: "rounds",
    rounds: 0,
    extra: 0,
  });
  expect(tallyText(tallyIn(own(2, { by: "made" }, { entered: true })), { by: "made" })).toBe("not made");
});

function read(scoring: Scoring, key: string, typed: Record<string, string>): Read {
  const entry = entriesOf(scoring).find((entry) => entry.key === key);
  if (entry === undefined) throw new Error(`no ${key} in ${scoring.by}`);
  return entry.read((field) => typed[field] ?? "");
}

describe("what is typed", () => {
  test.each<[Scoring, string, Record<string, string>, Tally]>([
    [{ by: "rounds" }, "rounds", { rounds: "5", extra: "12" }, { kind: "rounds", rounds: 5, extra: 12 }],
    [{ by: "rounds" }, "rounds", { rounds: " 5 ", extra: "" }, { kind: "rounds", rounds: 5, extra: 0 }],
    [
      { by: "rounds" },
      "rounds",
      { rounds: "999", extra: "9999" },
      { kind: "rounds", rounds: 999, extra: 9_999 },
    ],
    [TIME, "finished", { time: "8:42" }, { kind: "finished", time: 522 * SECOND }],
    [TIME, "finished", { time: "8.42" }, { kind: "finished", time: 522 * SECOND }],
    [TIME, "finished", { time: "0:08:42" }, { kind: "finished", time: 522 * SECOND }],
    [TIME, "finished", { time: "55" }, { kind: "finished", time: 55 * SECOND }],
    [TIME, "finished", { time: "10:00" }, { kind: "finished", time: 600 * SECOND }],
    [TIME, "at-cap", { reps: "74" }, { kind: "at-cap", reps: 74 }],
    [{ by: "load", reps: 1 }, "load", { load: "62,5" }, { kind: "load", grams: 62_500 }],
    [{ by: "load", reps: 1 }, "load", { load: "0" }, { kind: "load", grams: 0 }],
    [{ by: "load", reps: 1 }, "load", { load: "−20" }, { kind: "load", grams: -20_000 }],
    [{ by: "load", reps: 1 }, "load", { load: "1000" }, { kind: "load", grams: 1_000_000 }],
    [TRIPS, "count", { count: "100000" }, { kind: "count", amount: 100_000 }],
    [{ by: "made" }, "not-made", {}, { kind: "made", made: 0, of: 1 }],
    [{ by: "done" }, "done", {}, { kind: "done" }],
  ])("%j as %s of %j", (scoring, key, typed, tally) => {
    expect(read(scoring, key, typed)).toEqual({ tally });
  });

  test.each<[Scoring, string, Record<string, string>, string, string]>([
    [
      { by: "rounds" },
      "rounds",
      { rounds: "", extra: "3" },
      "rounds",
      "Rounds: a whole number from 0 to 999.",
    ],
    [{ by: "rounds" }, "rounds", { rounds: "5.5" }, "rounds", "Rounds: a whole number from 0 to 999."],
    [{ by: "rounds" }, "rounds", { rounds: "1000" }, "rounds", "Rounds: a whole number from 0 to 999."],
    [
      { by: "rounds" },
      "rounds",
      { rounds: "5", extra: "-1" },
      "extra",
      "Extra reps: a whole number from 0 to 9,999.",
    ],
    [TIME, "finished", { time: "8:62" }, "time", "Time: minutes and seconds from 0:01 to the cap, 10:00."],
    [TIME, "finished", { time: "10:01" }, "time", "Time: minutes and seconds from 0:01 to the cap, 10:00."],
    [TIME, "finished", { time: "0:00" }, "time", "Time: minutes and seconds from 0:01 to the cap, 10:00."],
    [TIME, "finished", { time: "8:4" }, "time", "Time: minutes and seconds from 0:01 to the cap, 10:00."],
    [TIME, "at-cap", { reps: "1e3" }, "reps", "Reps: a whole number from 0 to 9,999."],
    [TRIPS, "count", { count: "100001" }, "count", "m: a whole number from 0 to 100,000."],
  ])("%j as %s of %j says which field, and the range", (scoring, key, typed, field, problem) => {
    expect(read(scoring, key, typed)).toEqual({ field, problem });
  });

  test.each(["62.5 kg", "1000.5", "-1001", "", "1.2345"])(
    "a load of %j is refused with the range",
    (load) => {
      const answer = read({ by: "load", reps: 1 }, "load", { load });
      expect("problem" in answer && answer.problem).toContain("from −1000 to 1000");
    },
  );
});
