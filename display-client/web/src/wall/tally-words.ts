/** A tally in words, as the wall shows it. Plain text, never HTML. */
import { minutes, SECOND } from "../shared/clock";
import type { Scoring, Tally } from "../shared/wire";
import { UNIT_WORDS } from "../shared/words";

/** A tally in two parts, the second quieter: `5` and `+ 12`, `62.5` and `kg`. */
export function tallyWords(tally: Tally | null, scoring: Scoring | null): [main: string, rest: string] {
  if (tally === null) return ["", ""];
  switch (tally.kind) {
    case "rounds":
      return [`${tally.rounds}`, tally.extra > 0 ? `+ ${tally.extra}` : ""];
    case "finished":
      return [minutes(Math.floor(tally.time / SECOND)), ""];
    case "at-cap":
      return [`${tally.reps}`, "reps"];
    case "load":
      return [`${tally.grams / 1000}`, "kg"];
    case "count":
      return [`${tally.amount}`, scoring?.by === "amount" ? UNIT_WORDS[scoring.unit] : "reps"];
    case "made":
      return [`${tally.made}`, `of ${tally.of}`];
    case "done":
      return ["done", ""];
  }
}
