import { describe, expect, it } from "vitest";
import {
  type Asks,
  askOfField,
  asksOf,
  bump,
  type Field,
  read,
  stepUnits,
  tallyOfField,
} from "../src/phone/field";
import { SECOND } from "../src/shared/clock";
import { AT, ME } from "./phone-make";

const LOAD: Asks = { asks: "load" };
const COUNT: Asks = { asks: "count", unit: "cal" };
const TIME: Asks = { asks: "time", cap: 600 * SECOND };
const REST: Asks = { asks: "rest", unit: "m", step: 120, units: 7, counted: 7 };

const field = (of: Asks, text: string, again = false): Field => ({
  kind: "field",
  athlete: ME,
  segment: AT.first,
  again,
  of,
  text,
  problem: null,
});

describe("what is typed", () => {
  it.each<[Asks, string, number]>([
    [LOAD, "82.5", 82_500],
    [LOAD, " 62,5 ", 62_500],
    [LOAD, "0", 0],
    [LOAD, "−15", -15_000],
    [LOAD, "1000", 1_000_000],
    [COUNT, "0", 0],
    [COUNT, "100000", 100_000],
    [REST, "45", 45],
    [REST, "120", 120],
    [TIME, "8:42", 522 * SECOND],
    [TIME, "8.42", 522 * SECOND],
    [TIME, "10:00", 600 * SECOND],
  ])("%j: %s", (of, text, value) => expect(read(field(of, text))).toEqual({ value }));

  it.each<[Asks, string, string]>([
    [LOAD, "1001", "From −1000 to 1000 kg: 0 is unweighted, below zero is assistance."],
    [LOAD, "heavy", "From −1000 to 1000 kg"],
    [LOAD, "", "From −1000 to 1000 kg"],
    [COUNT, "-1", "From 0 to 100000 cal, a whole number."],
    [COUNT, "4.5", "From 0 to 100000 cal"],
    [REST, "121", "From 0 to 120 m"],
    [TIME, "10:01", "From 0:01 to 10:00 in minutes and seconds."],
    [TIME, "0:00", "From 0:01 to 10:00"],
    [TIME, "8:75", "From 0:01 to 10:00"],
    [TIME, "512", "From 0:01 to 10:00"],
  ])("%j: %j is refused with the range and its unit", (of, text, problem) => {
    expect(read(field(of, text))).toEqual({ problem: expect.stringContaining(problem) });
  });
});

describe("steps", () => {
  it.each<[Asks, string, number, string]>([
    [LOAD, "80", 2.5, "82.5"],
    [LOAD, "0", -1, "−1"],
    [LOAD, "999", 2.5, "1000"],
    [COUNT, "3", -10, "0"],
    [REST, "115", 10, "120"],
    [TIME, "9:55", 10, "10:00"],
    [TIME, "8:05", -10, "7:55"],
    [COUNT, "what", 1, "1"],
  ])("%j: %s and %d", (of, from, by, to) => expect(bump(field(of, from), by).text).toBe(to));
});

describe("seven trips of 120 m and 45 m are 885 m", () => {
  it("sends the rest as what was done of the last one", () => {
    expect(tallyOfField(field(REST, "45"), 45)).toEqual({ kind: "count", amount: 885 });
    expect(askOfField(field(REST, "45"), 45)).toMatchObject({
      ask: "enter-extra",
      reached: { movement: 0, reps: 45 },
    });
  });
  it("sets the count outright where a trip was missed, or it was entered before", () => {
    const tally = (amount: number) => ({ ask: "set-tally", tally: { kind: "count", amount } });
    expect(askOfField(stepUnits(field(REST, "45"), 1), 45)).toMatchObject(tally(1005));
    expect(askOfField(field(REST, "50", true), 50)).toMatchObject(tally(890));
  });
  it("asks by ones for the whole", () => {
    expect(asksOf({ by: "amount", unit: "metres", step: 120 }, 885)).toMatchObject({
      asks: "rest",
      units: 7,
    });
    expect(asksOf({ by: "amount", unit: "calories", step: 1 }, 34)).toEqual({ asks: "count", unit: "cal" });
  });
});

it("sets a load and a time outright", () => {
  expect(askOfField(field(LOAD, "80"), 80_000)).toMatchObject({ tally: { kind: "load", grams: 80_000 } });
  expect(askOfField(field(TIME, "8:42"), 522 * SECOND)).toMatchObject({
    tally: { kind: "finished", time: 522 * SECOND },
  });
});
