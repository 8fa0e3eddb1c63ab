/**
 * How a window of work is counted, as the house says of each block, and what a touch then means. Pure.
 */
import type { Counts, Movement, Scoring, SegmentIndex, State } from "../shared/wire";
import { UNIT_WORDS } from "../shared/words";

/** A way of counting, as far as a phone goes by it. */
export type Way =
  | Exclude<Scoring, { by: "time" | "load" }>
  | Omit<Extract<Scoring, { by: "time" }>, "reps">
  | Omit<Extract<Scoring, { by: "load" }>, "reps">;

/** How a segment's window is counted; null where it is no scored work. */
export const scoringAt = ({ scoring, segments }: State, segment: SegmentIndex): Way | null =>
  segments[segment]?.kind === "work" ? (scoring[segments[segment].block] ?? null) : null;

/** What a touch on the large area counts, and when it is to be touched; null where there is more to say than that. */
export function touchOf(scoring: Way): { counts: Counts | null; say: string } {
  const round = { kind: "round" } as const;
  const finish = { counts: { kind: "finish" }, say: "Touch when all of it is done" } as const;
  switch (scoring.by) {
    case "time":
      if (scoring.rounds <= 1) return finish;
      break;
    case "made":
      return { counts: round, say: "Touch when you have made it" };
    case "amount": {
      const say = `Touch after each ${scoring.step} ${UNIT_WORDS[scoring.unit]}`;
      return { counts: scoring.step > 1 ? round : { kind: "amount", amount: 1 }, say };
    }
    case "done":
      return finish;
    case "load":
      return { counts: null, say: "" };
  }
  return { counts: round, say: "Touch when a round is done" };
}

/** What one movement adds to a count of reps: a distance or a held position is one (common practice). */
export function repsOf({ amount, sides }: Pick<Movement, "amount" | "sides">): number {
  if (amount === null) return 1;
  const whole = amount.unit === "reps" || amount.unit === "calories" ? amount.count : 1;
  return sides === "per-side" ? whole * 2 : whole;
}
