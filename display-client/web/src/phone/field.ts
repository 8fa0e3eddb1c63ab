/**
 * A number that is stepped or typed: a load, a count, the rest of the last unit, a time. It is checked where it
 * stands, with the range in its unit. Pure.
 */

import type { Way } from "../counting/scoring";
import { minutes, SECOND } from "../shared/clock";
import type { Ask, AthleteId, SegmentIndex, Span, Tally } from "../shared/wire";
import { UNIT_WORDS } from "../shared/words";

export type Asks =
  | { asks: "load" }
  | { asks: "count"; unit: string }
  /** What was done of the last unit, after so many whole ones. */
  | { asks: "rest"; unit: string; step: number; units: number; counted: number }
  | { asks: "time"; cap: Span };

/** A number under way. */
export interface Field {
  kind: "field";
  athlete: AthleteId;
  segment: SegmentIndex;
  /** Whether the window has an entry already, which this one takes the place of. */
  again: boolean;
  of: Asks;
  /** As it stands in the field. */
  text: string;
  /** What is wrong with it, once it was to be saved. */
  problem: string | null;
}

/** Least and most in grams, units or microseconds, as the house takes them; a team's metres exceed 10,000. */
function rangeOf(of: Asks): readonly [least: number, most: number] {
  switch (of.asks) {
    case "load":
      return [-1_000_000, 1_000_000];
    case "count":
      return [0, 100_000];
    case "rest":
      return [0, of.step];
    case "time":
      return [SECOND, of.cap];
  }
}

/** What the field holds, in grams, units or microseconds; or why it cannot be. */
export function read({ of, text }: Field): { value: number } | { problem: string } {
  const typed = text.trim().replace(",", ".").replace("−", "-");
  const [least, most] = rangeOf(of);
  const value = parse(of, typed);
  if (value >= least && value <= most) return { value };
  return { problem: `From ${write(of, least)} to ${write(of, most)} ${ofUnit(of)}.` };
}

function ofUnit(of: Asks): string {
  if (of.asks === "load") return "kg: 0 is unweighted, below zero is assistance";
  return of.asks === "time" ? "in minutes and seconds" : `${of.unit}, a whole number`;
}

function parse({ asks }: Asks, typed: string): number {
  const [, whole = "", rest = ""] = /^(-?\d{1,7})(?:[.:](\d{1,3}))?$/.exec(typed) ?? [];
  if (whole === "") return Number.NaN;
  switch (asks) {
    case "load":
      return Math.round(Number(typed) * 1000);
    case "time":
      return rest.length === 2 && Number(rest) < 60
        ? (Number(whole) * 60 + Number(rest)) * SECOND
        : Number.NaN;
    default:
      return rest === "" ? Number(whole) : Number.NaN;
  }
}

/** Steps that stand beside the field: the larger one outside. In kilograms, units, or seconds. */
export const stepsOf = ({ of }: Field): readonly [large: number, small: number] =>
  of.asks === "load" ? [2.5, 1] : [10, 1];

/** So much more or less, kept inside the range. From what cannot be read it starts anew. */
export function bump(field: Field, by: number): Field {
  const now = read(field);
  const unit = field.of.asks === "load" ? 1000 : field.of.asks === "time" ? SECOND : 1;
  const [least, most] = rangeOf(field.of);
  const to = Math.min(most, Math.max(least, ("value" in now ? now.value : 0) + by * unit));
  return { ...field, text: write(field.of, to), problem: null };
}

/** A value as it stands in the field. */
export function write(of: Asks, value: number): string {
  if (of.asks === "load") return kilograms(value);
  return of.asks === "time" ? minutes(Math.floor(value / SECOND)) : `${value}`;
}

/** `82.5`, `−15`: kilograms without a unit. */
export const kilograms = (grams: number): string => `${grams / 1000}`.replace("-", "−");

/** A unit that was not tapped, more or fewer. */
export function stepUnits(field: Field, by: number): Field {
  const { of } = field;
  if (of.asks !== "rest") return field;
  return { ...field, of: { ...of, units: Math.max(0, of.units + by) } };
}

/** What the window comes to with the field's value. */
export function tallyOfField({ of }: Field, value: number): Tally {
  switch (of.asks) {
    case "load":
      return { kind: "load", grams: value };
    case "count":
      return { kind: "count", amount: value };
    case "rest":
      return { kind: "count", amount: of.units * of.step + value };
    case "time":
      return { kind: "finished", time: value };
  }
}

/** The request that carries the value: the rest of the last unit as extra, all else as the tally outright. */
export function askOfField(field: Field, value: number): Ask {
  const { athlete, segment, of } = field;
  if (of.asks === "rest" && !field.again && of.units === of.counted)
    return { ask: "enter-extra", athlete, segment, reached: { movement: 0, reps: value } };
  return { ask: "set-tally", athlete, segment, tally: tallyOfField(field, value) };
}

/** What is asked after the bell of a count of one thing that has come to `amount`. */
export function asksOf({ unit, step }: Extract<Way, { by: "amount" }>, amount: number): Asks {
  if (step <= 1) return { asks: "count", unit: UNIT_WORDS[unit] };
  const units = Math.floor(amount / step);
  return { asks: "rest", unit: UNIT_WORDS[unit], step, units, counted: units };
}
