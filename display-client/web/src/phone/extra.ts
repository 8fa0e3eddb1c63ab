/**
 * Result entry after the bell (rule 3.7): rounds, and how far the unfinished one came, by the movement reached and
 * the reps of it done. Pure.
 */
import type { Ask, AthleteId, FromDevice, MovementIndex, Reached, SegmentIndex } from "../shared/wire";

/** An entry under way. */
export interface Draft {
  segment: SegmentIndex;
  /** Whether the window has an entry already, which this one takes the place of. */
  again: boolean;
  /** Full rounds as they were counted, and as the athlete says: more where a tap was missed. */
  counted: number;
  rounds: number;
  /** Reps that each movement of the unfinished round asks for. */
  reps: readonly number[];
  /** How far it came; before a movement is pointed at, the start of the round. */
  reached: Reached;
}

/** More missed rounds than this are a matter for the coach. */
const MISSED_MAX = 9;

/** An entry that begins with what the window has. */
export function draft(
  segment: SegmentIndex,
  { rounds, extra, entered }: { rounds: number; extra: number; entered: boolean },
  reps: readonly number[],
): Draft {
  return { segment, again: entered, counted: rounds, rounds, reps, reached: reachedBy(extra, reps) };
}

/** The movement and its reps at which `extra` reps of a round end. */
export function reachedBy(extra: number, reps: readonly number[]): Reached {
  let left = extra;
  for (const [movement, all] of reps.entries()) {
    if (left < all || movement === reps.length - 1) return { movement, reps: Math.min(left, all) };
    left -= all;
  }
  return { movement: 0, reps: 0 };
}

/** Extra reps in all. *Example: 11 + 8 + 7, stopped at 4 of the third: 23.* */
export function extraOf({ reps, reached }: Pick<Draft, "reps" | "reached">): number {
  return reps.slice(0, reached.movement).reduce((sum, each) => sum + each, 0) + reached.reps;
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

/** The movement that is pointed at was done whole. */
export function toItsEnd(entry: Draft): Draft {
  return step(entry, entry.reps[entry.reached.movement] ?? 0);
}

/** A round that was not tapped, more or fewer. */
export function stepRounds(entry: Draft, by: number): Draft {
  const rounds = Math.min(entry.counted + MISSED_MAX, Math.max(0, entry.rounds + by));
  return { ...entry, rounds };
}

/** What the entry comes to; extra reps of a whole round are a round (5 + 26 of 26 is 6 + 0). */
export function totals({ rounds, reps, reached }: Pick<Draft, "rounds" | "reps" | "reached">): {
  rounds: number;
  extra: number;
} {
  const extra = extraOf({ reps, reached });
  const whole = reps.reduce((sum, each) => sum + each, 0);
  return whole > 0 && extra >= whole ? { rounds: rounds + 1, extra: 0 } : { rounds, extra };
}

/**
 * The request that carries the entry: how far the unfinished round came; or the tally outright where rounds were
 * changed too, or a former entry may have made a round of its own.
 */
export function askOf(entry: Draft, athlete: AthleteId): Ask {
  const { segment, reached } = entry;
  if (!entry.again && entry.rounds === entry.counted)
    return { ask: "enter-extra", athlete, segment, reached };
  return { ask: "set-tally", athlete, segment, tally: { kind: "rounds", ...totals(entry) } };
}

/** What a window comes to with the entry that still waits on this phone; null where none waits. */
export function promised(
  waiting: readonly FromDevice[],
  segment: SegmentIndex,
  { rounds }: { rounds: number },
  reps: readonly number[],
): { rounds: number; extra: number } | null {
  for (const message of waiting) {
    if (message.type !== "ask" || !("segment" in message) || message.segment !== segment) continue;
    if (message.ask === "set-tally" && message.tally.kind === "rounds") return message.tally;
    if (message.ask === "enter-extra") return totals({ rounds, reps, reached: message.reached });
  }
  return null;
}
