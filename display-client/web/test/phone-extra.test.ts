import { describe, expect, it } from "vitest";
import {
  aboutHere,
  askOf,
  type Draft,
  extraOf,
  pointAt,
  reachedBy,
  repsInAll,
  step,
  stepRounds,
  toEndOf,
  totals,
} from "../src/phone/extra";
import { AT, ME } from "./phone-make";

const REPS = [11, 8, 7];
const fresh = (extra = 0, again = false, more: Partial<Draft> = {}): Draft => ({
  kind: "reached",
  athlete: ME,
  segment: AT.first,
  gives: "rounds",
  again,
  counted: 5,
  rounds: 5,
  reps: REPS,
  scheme: [],
  reached: reachedBy(extra, REPS),
  ...more,
});

it("counts 11 + 8 + 4 where it stopped at 4 of the third movement", () => {
  let entry = pointAt(fresh(), 2);
  for (let rep = 0; rep < 4; rep += 1) entry = step(entry, 1);
  expect(extraOf(entry)).toBe(23);
  expect(totals(entry)).toEqual({ rounds: 5, extra: 23 });
  expect(askOf(entry)).toEqual({
    ask: "enter-extra",
    athlete: ME,
    segment: AT.first,
    reached: { movement: 2, reps: 4 },
  });
});

it("makes a round of extra reps of a whole one: 5 + 26 is 6 + 0", () => {
  expect(totals(toEndOf(fresh(), 2))).toEqual({ rounds: 6, extra: 0 });
});

it("never goes beyond the movement that is pointed at", () => {
  expect(step(pointAt(fresh(), 1), -1).reached).toEqual({ movement: 1, reps: 0 });
  expect(step(toEndOf(fresh(), 1), 1).reached).toEqual({ movement: 1, reps: 8 });
});

it("keeps the reps of a movement that is pointed at again", () => {
  const entry = step(pointAt(fresh(), 1), 3);
  expect(pointAt(entry, 1)).toBe(entry);
});

describe("where so many extra reps end", () => {
  it.each([
    [0, { movement: 0, reps: 0 }],
    [10, { movement: 0, reps: 10 }],
    [11, { movement: 1, reps: 0 }],
    [23, { movement: 2, reps: 4 }],
    [26, { movement: 2, reps: 7 }],
    [99, { movement: 2, reps: 7 }],
  ])("%d", (extra, reached) => expect(reachedBy(extra, REPS)).toEqual(reached));
});

it("sets the tally outright where a round was missed", () => {
  const entry = stepRounds(pointAt(fresh(), 1), 1);
  expect(askOf(entry)).toEqual({
    ask: "set-tally",
    athlete: ME,
    segment: AT.first,
    tally: { kind: "rounds", rounds: 6, extra: 11 },
  });
});

it("sets the tally outright where there is an entry already, which may have made a round", () => {
  expect(askOf(step(fresh(23, true), 1))).toMatchObject({
    ask: "set-tally",
    tally: { rounds: 5, extra: 24 },
  });
});

it("takes no fewer rounds than none, and no more missed ones than the coach should hear of", () => {
  expect(stepRounds(fresh(), -9).rounds).toBe(0);
  expect(stepRounds(fresh(), 100).rounds).toBe(14);
});

describe("at the cap", () => {
  const atCap = { gives: "at-cap", counted: 1, rounds: 1, reps: [16, 16], scheme: [20, 16, 12] } as const;

  it("counts the reps in all: a round of 20 and 20, and 5 of the next", () => {
    const entry = fresh(0, false, { ...atCap, reached: { movement: 0, reps: 5 } });
    expect(repsInAll(entry)).toBe(45);
    expect(askOf(entry)).toMatchObject({ ask: "enter-extra", reached: { movement: 0, reps: 5 } });
  });

  it("goes over to the reps of the round that was under way then", () => {
    const entry = stepRounds(fresh(0, false, { ...atCap, reached: { movement: 1, reps: 14 } }), 1);
    expect(entry).toMatchObject({ rounds: 2, reps: [12, 12], reached: { movement: 1, reps: 12 } });
    expect(askOf(entry)).toMatchObject({ ask: "set-tally", tally: { kind: "at-cap", reps: 96 } });
  });
});

describe("about where the bell came", () => {
  it.each<[string, number, number, ReturnType<typeof aboutHere>]>([
    ["half of a round of 26", 30, 60, { movement: 1, reps: 2 }],
    ["at the start of a movement", 25, 60, { movement: 1, reps: 0 }],
    ["a round that takes longer than it should", 90, 60, { movement: 2, reps: 6 }],
    ["a round just begun", 1, 60, null],
    ["nothing to go by", 30, 0, null],
  ])("%s", (_, since, usual, reached) => expect(aboutHere(REPS, since, usual)).toEqual(reached));
});
