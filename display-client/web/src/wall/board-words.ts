/** The words of the wall's board, and the width that they need. Pure; widths are in em of the rows' type. */
import type { Format, Scoring, Tally } from "../shared/wire";
import { tallyWords } from "./tally-words";

/** A tally in its two parts. At the cap it is said so, since times stand beside it; a help (−20 kg) has its minus. */
export function tallyOnBoard(tally: Tally | null, scoring: Scoring | null): [main: string, rest: string] {
  const [main, rest] = tallyWords(tally, scoring);
  return tally?.kind === "at-cap" ? [main, "at cap"] : [main.replace("-", "−"), rest];
}

/**
 * Room for the widest tally that is likely, and of it for its second part where that may be missing, by the piece
 * alone, so that no count moves the rest: `12`, `12 + 23`, `18:41` or `184 at cap`, `102.5 kg`, `12 of 15`, `1250 m`.
 * B612's figures are 0.65 em wide. `extras` says whether there may be reps of an unfinished round.
 */
export function tallyWidth(
  format: Format | undefined,
  scoring: Scoring | null,
  extras: boolean,
): [whole: number, rest: number] {
  if (scoring?.by === "amount") return [4.6, 0];
  switch (format?.format) {
    case "amrap":
      if (format.ladder !== null) return [4.6, 0];
      return extras ? [3.9, 2.5] : [1.3, 0];
    case "for-time":
      return [5.6, 0];
    case "max-load":
      return [4.4, 0];
    case "every-n":
    case "intervals":
    case "max-count":
      return [4.6, 0];
    default:
      return [0, 0];
  }
}

/** Room for the reps of a whole class: `1250 reps`. */
export const TOTAL_WIDTH = 5;

/** Which of a list stand on a page: `7 to 12 of 60`, `60 of 60`; nothing where all do. */
export function pageWords(from: number, shown: number, of: number): string {
  if (shown === of) return "";
  const to = from + shown;
  return shown === 1 ? `${to} of ${of}` : `${from + 1} to ${to} of ${of}`;
}
