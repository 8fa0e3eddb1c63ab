/**
 * How a window of work is counted, and what a touch then means. The house says it of each window that has begun; a
 * tablet has to know it in the lead-in, and when it goes through a bell alone. Pure.
 */
import type { Block, Counts, Movement, Scoring, SegmentIndex, State, Unit } from "../shared/wire";
import type { Count } from "./count";

/** How the windows of a block are counted; null where it is no piece. */
export function scoringOf(block: Block | undefined): Scoring | null {
  if (block?.kind.kind !== "piece") return null;
  const { format } = block.kind;
  const [first] = block.movements;
  switch (format.format) {
    case "amrap": {
      const one = block.movements.length === 1 && format.ladder === null && block.aim?.rounds == null;
      const step = one ? stepOf(first) : null;
      return step === null ? { by: "rounds" } : { by: "amount", ...step };
    }
    case "for-time":
      // What it comes to in all is the house's to say.
      return { by: "time", cap: format.cap, rounds: format.rounds, reps: 0 };
    case "every-n":
    case "intervals":
      if (format.score === "rounds-made") return { by: "made" };
      return { by: "amount", unit: commonUnit(block.movements) ?? "reps", step: 1 };
    case "max-load":
      return { by: "load", reps: format.reps };
    case "max-count": {
      const step = stepOf(first);
      return { by: "amount", unit: format.unit, step: step?.unit === format.unit ? step.step : 1 };
    }
    case "quality":
      return { by: "done" };
  }
}

/** How a segment's window is counted; null where it is no scored work. */
export function scoringAt({ session, segments }: State, segment: SegmentIndex): Scoring | null {
  const here = segments[segment];
  return here?.kind === "work" ? scoringOf(session.blocks[here.block]) : null;
}

/** What a touch on somebody counts; null where there is more to say than a touch can. */
export function touchOf(scoring: Scoring, { rounds }: Count): Counts | null {
  switch (scoring.by) {
    case "rounds":
    case "made":
      return { kind: "round" };
    case "time":
      return { kind: rounds + 1 < scoring.rounds ? "round" : "finish" };
    case "amount":
      return scoring.step > 1 ? { kind: "round" } : { kind: "amount", amount: 1 };
    case "done":
      return { kind: "finish" };
    case "load":
      return null;
  }
}

/** Why a window takes no more from anybody, as it has all that it can have; null where it takes more. */
export function fullBy(scoring: Scoring, { rounds, finished }: Count): string | null {
  if (finished !== null) return scoring.by === "done" ? "Done already." : "Finished already.";
  return scoring.by === "made" && rounds > 0 ? "Made already." : null;
}

/** What one touch counts where a window has a single movement: a trip of 120 m, ten reps. */
function stepOf(movement: Movement | undefined): { unit: Unit; step: number } | null {
  if (movement?.amount == null || movement.amount.unit === "seconds") return null;
  const { count, unit } = movement.amount;
  return { unit, step: movement.sides === "per-side" ? count * 2 : count };
}

function commonUnit(movements: readonly Movement[]): Unit | null {
  const units = new Set(movements.flatMap(({ amount }) => (amount === null ? [] : [amount.unit])));
  const [first, ...others] = units;
  return first !== undefined && others.length === 0 ? first : null;
}
