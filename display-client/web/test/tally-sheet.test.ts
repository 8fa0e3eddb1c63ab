import { describe, expect, it } from "vitest";
import type { Scoring } from "../src/shared/wire";
import {
  askOf,
  inAll,
  pointAt,
  result,
  stepFull,
  stepLoad,
  stepReps,
  toEndOf,
  totals,
} from "../src/tally/sheet";

const round = () => [11, 8, 7];
const ROUNDS: Scoring = { by: "rounds" };
const whom = { athlete: "ansa", segment: 1 };

describe("how far a round came", () => {
  it("is the movement reached and the reps of it: 11 + 8 + 4 = 23", () => {
    const stopped = stepReps(pointAt(result(5, 0, false, round), 2), 4, round);
    expect(totals(stopped, round)).toEqual({ full: 5, extra: 23 });
    expect(askOf({ ...whom, ...stopped }, ROUNDS, round)).toEqual({
      ask: "enter-extra",
      ...whom,
      reached: { movement: 2, reps: 4 },
    });
  });

  it("at the end of a movement is all of its reps, and at the end of the round one more: 5 + 26 is 6 + 0", () => {
    const begun = result(5, 0, false, round);
    expect(totals(toEndOf(begun, 1, round), round)).toEqual({ full: 5, extra: 19 });
    expect(totals(toEndOf(begun, 2, round), round)).toEqual({ full: 6, extra: 0 });
  });

  it("stays inside the movement", () => {
    const begun = result(0, 0, false, round);
    expect(stepReps(begun, 50, round).reached.reps).toBe(11);
    expect(stepReps(begun, -1, round).reached.reps).toBe(0);
  });

  it("begins with what was entered before, and then says it all", () => {
    const before = result(5, 23, true, round);
    expect(before.reached).toEqual({ movement: 2, reps: 4 });
    expect(askOf({ ...whom, ...before }, ROUNDS, round)).toMatchObject({
      ask: "set-tally",
      tally: { kind: "rounds", rounds: 5, extra: 23 },
    });
  });

  it("with a round that was missed, the tally is set outright", () => {
    const more = stepFull(result(5, 0, false, round), 1, round);
    expect(askOf({ ...whom, ...more }, ROUNDS, round)).toMatchObject({
      tally: { kind: "rounds", rounds: 6, extra: 0 },
    });
    expect(stepFull(result(0, 0, false, round), -1, round).full).toBe(0);
  });
});

it("at the cap, the reps of all rounds count, each with its own", () => {
  const scheme = [21, 15, 9];
  const repsOf = (full: number) => [scheme[full] ?? 0, scheme[full] ?? 0];
  const time: Scoring = { by: "time", cap: 1, rounds: 3, reps: 90 };
  const missed = stepReps(stepFull(result(0, 0, false, repsOf), 1, repsOf), 4, repsOf);
  expect(inAll(missed, repsOf)).toBe(42 + 4);
  expect(askOf({ ...whom, ...missed }, time, repsOf)).toMatchObject({ tally: { kind: "at-cap", reps: 46 } });
});

it("of one thing, units and the rest: seven trips of 120 m and 45 m are 885 m", () => {
  const trips: Scoring = { by: "amount", unit: "metres", step: 120 };
  const repsOf = () => [120];
  const counted = stepReps(result(7, 0, false, repsOf), 45, repsOf);
  expect(askOf({ ...whom, ...counted }, trips, repsOf)).toEqual({
    ask: "enter-extra",
    ...whom,
    reached: { movement: 0, reps: 45 },
  });
  const missed = stepFull(counted, 1, repsOf);
  expect(askOf({ ...whom, ...missed }, trips, repsOf)).toMatchObject({
    tally: { kind: "count", amount: 1005 },
  });
  const ones: Scoring = { by: "amount", unit: "reps", step: 1 };
  expect(askOf({ ...whom, ...result(48, 0, false, () => [1]) }, ones, () => [1])).toMatchObject({
    tally: { kind: "count", amount: 48 },
  });
});

it("a load stays within a tonne, either way", () => {
  expect(stepLoad(80_000, 2_500)).toBe(82_500);
  expect(stepLoad(995_000, 10_000)).toBe(1_000_000);
  expect(stepLoad(-995_000, -10_000)).toBe(-1_000_000);
});
