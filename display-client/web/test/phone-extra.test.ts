import { describe, expect, it } from "vitest";
import {
  askOf,
  draft,
  extraOf,
  pointAt,
  promised,
  reachedBy,
  step,
  stepRounds,
  toItsEnd,
  totals,
} from "../src/phone/extra";
import type { FromDevice } from "../src/shared/wire";
import { AT, ME } from "./phone-make";

const REPS = [11, 8, 7];
const fresh = (extra = 0, entered = false) => draft(AT.first, { rounds: 5, extra, entered }, REPS);

it("counts 11 + 8 + 4 where it stopped at 4 of the third movement", () => {
  let entry = pointAt(fresh(), 2);
  for (let rep = 0; rep < 4; rep += 1) entry = step(entry, 1);
  expect(extraOf(entry)).toBe(23);
  expect(totals(entry)).toEqual({ rounds: 5, extra: 23 });
  expect(askOf(entry, ME)).toEqual({
    ask: "enter-extra",
    athlete: ME,
    segment: AT.first,
    reached: { movement: 2, reps: 4 },
  });
});

it("makes a round of extra reps of a whole one: 5 + 26 is 6 + 0", () => {
  expect(totals(toItsEnd(pointAt(fresh(), 2)))).toEqual({ rounds: 6, extra: 0 });
});

it("never goes beyond the movement that is pointed at", () => {
  expect(step(pointAt(fresh(), 1), -1).reached).toEqual({ movement: 1, reps: 0 });
  expect(step(toItsEnd(pointAt(fresh(), 1)), 1).reached).toEqual({ movement: 1, reps: 8 });
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
  expect(askOf(entry, ME)).toEqual({
    ask: "set-tally",
    athlete: ME,
    segment: AT.first,
    tally: { kind: "rounds", rounds: 6, extra: 11 },
  });
});

it("sets the tally outright where there is an entry already, which may have made a round", () => {
  expect(askOf(step(fresh(23, true), 1), ME)).toMatchObject({
    ask: "set-tally",
    tally: { rounds: 5, extra: 24 },
  });
});

it("takes no fewer rounds than none, and no more missed ones than the coach should hear of", () => {
  expect(stepRounds(fresh(), -9).rounds).toBe(0);
  expect(stepRounds(fresh(), 100).rounds).toBe(14);
});

it("knows what an entry that waits comes to", () => {
  const ask = (entry: Parameters<typeof askOf>[0]): FromDevice => ({
    type: "ask",
    id: "1",
    ...askOf(entry, ME),
  });
  const window = { rounds: 5 };
  expect(promised([], AT.first, window, REPS)).toBeNull();
  expect(promised([ask(fresh(23))], AT.second, window, REPS)).toBeNull();
  expect(promised([ask(fresh(23))], AT.first, window, REPS)).toEqual({ rounds: 5, extra: 23 });
  expect(promised([ask(stepRounds(fresh(), 1))], AT.first, window, REPS)).toMatchObject({
    rounds: 6,
    extra: 0,
  });
});
