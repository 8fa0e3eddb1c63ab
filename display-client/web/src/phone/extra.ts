/**
 * Result entry after the bell (rule 3.7): rounds, and how far the unfinished one came, by the movement reached and
 * the reps of it done. Pure.
 */
import type { Ask, AthleteId, MovementIndex, Reached, SegmentIndex, Span, Tally } from "../shared/wire";

/** An entry under way. */
export interface Draft {
  kind: "reached";
  athlete: AthleteId;
  segment: SegmentIndex;
  /** What it makes: rounds and extra reps, or the reps at the cap. */
  gives: "rounds" | "at-cap";
  /** Whether the window has an entry already, which this one takes the place of. */
  again: boolean;
  /** Full rounds as they were counted, and as the athlete says: more where a tap was missed. */
  counted: number;
  rounds: number;
  /** Reps that each movement of the unfinished round asks for. */
  reps: readonly number[];
  /** Reps of each movement round by round, where they change. */
  scheme: readonly number[];
  /** How far it came; before a movement is pointed at, the start of the round. */
  reached: Reached;
}

/** More missed rounds than this are a matter for the coach. */
const MISSED_MAX = 9;

/** The movement and its reps at which `extra` reps of a round end. */
export function reachedBy(extra: number, reps: readonly number[]): Reached {
  let left = extra;
  for (const [movement, all] of reps.entries()) {
    if (left < all || movement === reps.length - 1) return { movement, reps: Math.min(left, all) };
    left -= all;
  }
  return { movement: 0, reps: 0 };
}

/**
 * About where the bell came, by how long the unfinished round had been under way and by what a round usually takes:
 * a suggestion, no more. Null where nothing can be said. As if every rep took as long (common practice).
 */
export function aboutHere(reps: readonly number[], since: Span, usual: Span): Reached | null {
  const whole = sum(reps);
  if (usual <= 0 || since < 0 || whole === 0) return null;
  const done = Math.min(whole - 1, Math.round((since / usual) * whole));
  return done < 1 ? null : reachedBy(done, reps);
}

/** Extra reps in all. *Example: 11 + 8 + 7, stopped at 4 of the third: 23.* */
export function extraOf({ reps, reached }: Pick<Draft, "reps" | "reached">): number {
  return sum(reps.slice(0, reached.movement)) + reached.reps;
}

/** Points at a movement: at its start, or where it is the one pointed at, as it was. */
export function pointAt(entry: Draft, movement: MovementIndex): Draft {
  return entry.reached.movement === movement ? entry : { ...entry, reached: { movement, reps: 0 } };
}

/** So many reps more or fewer of the movement that is pointed at, never beyond it. */
export function step(entry: Draft, by: number): Draft {
  const { movement, reps } = entry.reached;
  const most = entry.reps[movement] ?? 0;
  return { ...entry, reached: { movement, reps: Math.min(most, Math.max(0, reps + by)) } };
}

/** A movement was done whole, and no more. */
export function toEndOf(entry: Draft, movement: MovementIndex): Draft {
  return { ...entry, reached: { movement, reps: entry.reps[movement] ?? 0 } };
}

/** A round that was not tapped, more or fewer; where rounds change, so does the one that was under way. */
export function stepRounds(entry: Draft, by: number): Draft {
  const rounds = Math.min(entry.counted + MISSED_MAX, Math.max(0, entry.rounds + by));
  const each = entry.scheme[rounds];
  if (rounds === entry.rounds || each === undefined) return { ...entry, rounds };
  const reps = entry.reps.map(() => each);
  const { movement } = entry.reached;
  return { ...entry, rounds, reps, reached: { movement, reps: Math.min(entry.reached.reps, each) } };
}

/** What the entry comes to; extra reps of a whole round are a round (5 + 26 of 26 is 6 + 0). */
export function totals({ rounds, reps, reached }: Pick<Draft, "rounds" | "reps" | "reached">): {
  rounds: number;
  extra: number;
} {
  const extra = extraOf({ reps, reached });
  const whole = sum(reps);
  return whole > 0 && extra >= whole ? { rounds: rounds + 1, extra: 0 } : { rounds, extra };
}

/** Reps in all, up to the one reached. *Example: one round of 20-16-12 with two movements, and 5: 45.* */
export function repsInAll({
  rounds,
  reps,
  scheme,
  reached,
}: Pick<Draft, "rounds" | "reps" | "scheme" | "reached">): number {
  const whole = Array.from({ length: rounds }, (_, round) => {
    const each = scheme[round];
    return each === undefined ? sum(reps) : each * reps.length;
  });
  return sum(whole) + extraOf({ reps, reached });
}

/** The entry as a tally. */
export const tallyOf = (entry: Draft): Tally =>
  entry.gives === "rounds"
    ? { kind: "rounds", ...totals(entry) }
    : { kind: "at-cap", reps: repsInAll(entry) };

/**
 * The request that carries the entry: how far the unfinished round came; or the tally outright where rounds were
 * changed too, or a former entry may have made a round of its own.
 */
export function askOf(entry: Draft): Ask {
  const { athlete, segment, reached } = entry;
  return entry.again || entry.rounds !== entry.counted
    ? { ask: "set-tally", athlete, segment, tally: tallyOf(entry) }
    : { ask: "enter-extra", athlete, segment, reached };
}

const sum = (numbers: readonly number[]): number => numbers.reduce((all, each) => all + each, 0);
