/** What a touch on somebody means, by how their window is counted. Pure. */
import type { Way } from "../counting/scoring";
import type { Counts } from "../shared/wire";
import type { Count } from "./count";

/** What a touch on somebody counts; null where there is more to say than a touch can. */
export function touchOf(scoring: Way, { rounds }: Count): Counts | null {
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
export function fullBy(scoring: Way, { rounds, finished }: Count): string | null {
  if (finished !== null) return scoring.by === "done" ? "Done already." : "Finished already.";
  return scoring.by === "made" && rounds > 0 ? "Made already." : null;
}
