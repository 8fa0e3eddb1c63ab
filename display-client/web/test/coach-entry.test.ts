import { describe, expect, test } from "vitest";
import { type Entry, entriesOf, readEntry } from "../src/coach/entry";
import { SECOND } from "../src/shared/clock";
import type { Format, Tally } from "../src/shared/wire";

const window = 600 * SECOND;
const FORMATS: [Format, Tally["kind"][]][] = [
  [{ format: "amrap", window, ladder: null }, ["rounds"]],
  [{ format: "for-time", rounds: 3, scheme: [], cap: window }, ["finished", "at-cap"]],
  [{ format: "every-n", every: window, rounds: 8, score: "rounds-made" }, ["made"]],
  [{ format: "every-n", every: window, rounds: 8, score: "lowest" }, ["count"]],
  [{ format: "intervals", work: window, rest: window, rounds: 8, score: "total" }, ["count"]],
  [{ format: "max-load", window, reps: 1 }, ["load"]],
  [{ format: "max-count", window, unit: "calories" }, ["count"]],
  [{ format: "quality", window, rounds: null }, ["done"]],
];

test.each(FORMATS)("%j is entered as %j", (format, kinds) => {
  expect(entriesOf(format).map(({ kind }) => kind)).toEqual(kinds);
});

function entry(kind: Tally["kind"]): Entry {
  const found = FORMATS.flatMap(([format]) => [...entriesOf(format)]).find((entry) => entry.kind === kind);
  if (found === undefined) throw new Error(`no format is entered as ${kind}`);
  return found;
}

const read = (kind: Tally["kind"], typed: Record<string, string>) =>
  readEntry(entry(kind), (name) => typed[name] ?? "");

describe("what is typed", () => {
  test.each<[Tally["kind"], Record<string, string>, Tally]>([
    ["rounds", { rounds: "5", extra: "12" }, { kind: "rounds", rounds: 5, extra: 12 }],
    ["rounds", { rounds: " 5 ", extra: "" }, { kind: "rounds", rounds: 5, extra: 0 }],
    ["finished", { time: "8:42" }, { kind: "finished", time: 522 * SECOND }],
    ["finished", { time: "8.42" }, { kind: "finished", time: 522 * SECOND }],
    ["finished", { time: "1:02:03" }, { kind: "finished", time: 3723 * SECOND }],
    ["finished", { time: "55" }, { kind: "finished", time: 55 * SECOND }],
    ["at-cap", { reps: "74" }, { kind: "at-cap", reps: 74 }],
    ["load", { load: "62,5" }, { kind: "load", grams: 62_500 }],
    ["load", { load: "80" }, { kind: "load", grams: 80_000 }],
    ["count", { count: "885" }, { kind: "count", amount: 885 }],
    ["done", {}, { kind: "done" }],
  ])("%s of %j", (kind, typed, tally) => {
    expect(read(kind, typed)).toEqual({ tally });
  });

  test.each<[Tally["kind"], Record<string, string>]>([
    ["rounds", { rounds: "", extra: "3" }],
    ["rounds", { rounds: "5.5", extra: "" }],
    ["rounds", { rounds: "-1", extra: "" }],
    ["finished", { time: "8:62" }],
    ["finished", { time: "eight" }],
    ["finished", { time: "0:00" }],
    ["finished", { time: "8:4" }],
    ["at-cap", { reps: "1e3" }],
    ["load", { load: "0" }],
    ["load", { load: "62.5 kg" }],
    ["count", { count: "1234567" }],
  ])("%s of %j says what would work", (kind, typed) => {
    const answer = read(kind, typed);
    expect("problem" in answer && answer.problem).toMatch(/\d/);
  });
});
