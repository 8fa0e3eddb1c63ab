/**
 * What lies over the grid for one person: a try at a load, a result after the bell, or more ways to count. Pure.
 *
 * A result is full rounds (or units of one thing) and how far the unfinished one came (rules 3.7 and 3.9).
 */
import type { Way } from "../counting/scoring";
import type { Ask, AthleteId, MovementIndex, Reached, SegmentIndex } from "../shared/wire";

export type Sheet =
  | { sheet: "more"; athlete: AthleteId; segment: SegmentIndex }
  | { sheet: "attempt"; athlete: AthleteId; segment: SegmentIndex; grams: number }
  | ({ sheet: "result"; athlete: AthleteId; segment: SegmentIndex } & Result);

export interface Result {
  /** Full rounds, or units, as they were counted, and as they are to be. */
  counted: number;
  full: number;
  /** Whether the window has an entry already, which this one takes the place of. */
  again: boolean;
  reached: Reached;
}

/** Reps of each movement in the round after so many full ones; of one thing, what is counted at once. */
export type RepsOf = (full: number) => readonly number[];

/** 1,000 kg, and as much in assistance, which is below zero. */
const GRAMS_MAX = 1_000_000;
const FULL_MAX = 999;

export const sum = (numbers: readonly number[]): number => numbers.reduce((all, each) => all + each, 0);

/** A result that begins with what was counted, and with the extra reps that were entered before. */
export function result(full: number, extra: number, again: boolean, repsOf: RepsOf): Result {
  return { counted: full, full, again, reached: reachedBy(extra, repsOf(full)) };
}

/** The movement and its reps at which `extra` reps of a round end. */
function reachedBy(extra: number, reps: readonly number[]): Reached {
  let left = extra;
  for (const [movement, all] of reps.entries()) {
    if (left < all || movement === reps.length - 1) return { movement, reps: Math.min(left, all) };
    left -= all;
  }
  return { movement: 0, reps: 0 };
}

/** So many full rounds more or fewer. */
export function stepFull<R extends Result>(it: R, by: number, repsOf: RepsOf): R {
  const full = Math.min(FULL_MAX, Math.max(0, it.full + by));
  const most = repsOf(full)[it.reached.movement] ?? 0;
  return { ...it, full, reached: { ...it.reached, reps: Math.min(it.reached.reps, most) } };
}

/** Points at a movement: at its start, or where it is the one pointed at, as it was. */
export function pointAt<R extends Result>(it: R, movement: MovementIndex): R {
  return it.reached.movement === movement ? it : { ...it, reached: { movement, reps: 0 } };
}

/** So many reps more or fewer of the movement that is pointed at, never beyond it. */
export function stepReps<R extends Result>(it: R, by: number, repsOf: RepsOf): R {
  const { movement, reps } = it.reached;
  const most = repsOf(it.full)[movement] ?? 0;
  return { ...it, reached: { movement, reps: Math.min(most, Math.max(0, reps + by)) } };
}

/** A movement was done whole, and no more. */
export function toEndOf<R extends Result>(it: R, movement: MovementIndex, repsOf: RepsOf): R {
  return { ...it, reached: { movement, reps: repsOf(it.full)[movement] ?? 0 } };
}

/** Reps of the unfinished round. *Example: 11 + 8 + 7, stopped at 4 of the third: 23.* */
export function extraOf({ full, reached }: Result, repsOf: RepsOf): number {
  return sum(repsOf(full).slice(0, reached.movement)) + reached.reps;
}

/** What a result comes to; extra reps of a whole round are a round (5 + 26 of 26 is 6 + 0). */
export function totals(it: Result, repsOf: RepsOf): { full: number; extra: number } {
  const extra = extraOf(it, repsOf);
  const whole = sum(repsOf(it.full));
  return whole > 0 && extra >= whole ? { full: it.full + 1, extra: 0 } : { full: it.full, extra };
}

/** Reps, or the amount of one thing, in all. */
export function inAll(it: Result, repsOf: RepsOf): number {
  return sum(Array.from({ length: it.full }, (_, round) => sum(repsOf(round)))) + extraOf(it, repsOf);
}

/** The request that carries a result; a tally outright where more than the unfinished round is said. */
export function askOf(
  it: Result & { athlete: AthleteId; segment: SegmentIndex },
  scoring: Way,
  repsOf: RepsOf,
): Ask {
  const { athlete, segment, reached } = it;
  // Units of one are counted whole, and have no rest.
  const units = scoring.by === "amount" && scoring.step === 1;
  if (!it.again && it.full === it.counted && !units) return { ask: "enter-extra", athlete, segment, reached };
  const to = { ask: "set-tally", athlete, segment } as const;
  if (scoring.by === "amount") return { ...to, tally: { kind: "count", amount: inAll(it, repsOf) } };
  if (scoring.by === "time") return { ...to, tally: { kind: "at-cap", reps: inAll(it, repsOf) } };
  const { full, extra } = totals(it, repsOf);
  return { ...to, tally: { kind: "rounds", rounds: full, extra } };
}

/** A load so much heavier or lighter. */
export const stepLoad = (grams: number, by: number): number =>
  Math.min(GRAMS_MAX, Math.max(-GRAMS_MAX, grams + by));
