/**
 * How a window of work is counted, and what a touch then means. The house says it of each window that has begun; a
 * phone has to know it in the lead-in, and when it goes through a bell alone. Pure.
 */
import type { Block, Counts, Movement, SegmentIndex, Span, State, Unit } from "../shared/wire";
import { UNIT_WORDS } from "../shared/words";

/** A way of counting, as far as a phone goes by it. */
export type Way =
  | { by: "rounds" | "made" | "load" | "done" }
  | { by: "time"; cap: Span; rounds: number }
  | { by: "amount"; unit: Unit; step: number };

/** How the windows of a block are counted; null where it is no piece. */
export function scoringOf(block: Block | undefined): Way | null {
  if (block?.kind.kind !== "piece") return null;
  const { format } = block.kind;
  const { movements } = block;
  const step = stepOf(movements[0]);
  switch (format.format) {
    case "amrap": {
      const one = movements.length === 1 && format.ladder === null && block.aim?.rounds == null;
      return one && step !== null ? { by: "amount", ...step } : { by: "rounds" };
    }
    case "for-time":
      return { by: "time", cap: format.cap, rounds: format.rounds };
    case "every-n":
    case "intervals": {
      if (format.score === "rounds-made") return { by: "made" };
      const units = new Set(movements.flatMap(({ amount }) => amount?.unit ?? []));
      const [unit] = units.size === 1 ? units : [];
      return { by: "amount", unit: unit ?? "reps", step: 1 };
    }
    case "max-load":
      return { by: "load" };
    case "max-count":
      return { by: "amount", unit: format.unit, step: step?.unit === format.unit ? step.step : 1 };
    case "quality":
      return { by: "done" };
  }
}

/** How a segment's window is counted; null where it is no scored work. */
export const scoringAt = ({ session, segments }: State, segment: SegmentIndex): Way | null =>
  segments[segment]?.kind === "work" ? scoringOf(session.blocks[segments[segment].block]) : null;

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

/** What one touch counts where a window has a single movement: a trip of 120 m, ten reps. */
function stepOf(movement: Movement | undefined): { unit: Unit; step: number } | null {
  if (movement?.amount == null || movement.amount.unit === "seconds") return null;
  const { count, unit } = movement.amount;
  return { unit, step: movement.sides === "per-side" ? count * 2 : count };
}
