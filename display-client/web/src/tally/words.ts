/** The tablet's own words. Plain text, never HTML. Pure. */
import type { Way } from "../counting/scoring";
import { minutes, SECOND } from "../shared/clock";
import type { WhyNot } from "../shared/wire";
import type { Count } from "./count";

/** Why a tap that was kept does not count; null where who holds the tablet knows already. */
export function whyNot(why: WhyNot): string | null {
  switch (why) {
    case "held":
      return "the clock was held then, so that does not count. The coach can see it.";
    case "lead-in":
      return "work had not begun then, so that does not count.";
    case "not-work":
      return "no work was under way then, so that does not count.";
    case "after-bell":
      return "that came after the bell: enter it with the result.";
    case "repeated":
      return "the coach started this work anew; it counts from the new start.";
    case "not-this-way":
      return "this piece is not counted in this way: tell the coach.";
    case "team-mate":
      return "a team mate's phone had counted that round: it counts once.";
    case "other-counts":
      return "somebody else counted then. The coach can see it.";
    case "settled":
      return "the coach has looked at that tap: it does not count.";
    case "already":
    case "twice":
    case "undone":
    case "set-since":
      return null;
  }
}

const UNITS = { reps: "reps", metres: "m", calories: "cal", seconds: "s" } as const;

export const kilograms = (grams: number): string => `${grams / 1000}`;

/** What somebody has, in a large part and a small one: `5` and `rounds + 11`. */
export function countWords(scoring: Way, count: Count): [main: string, rest: string] {
  const { rounds, extra, amount, reps, finished, best, attempts } = count;
  switch (scoring.by) {
    case "rounds":
      return [`${rounds}`, `${rounds === 1 ? "round" : "rounds"}${extra > 0 ? ` + ${extra}` : ""}`];
    case "time":
      if (finished !== null)
        return finished.time === null ? ["done", ""] : [timeWords(finished.time), "finished"];
      if (scoring.rounds > 1) return [`${rounds}`, `of ${scoring.rounds} rounds`];
      return [reps > 0 ? `${reps}` : "–", reps > 0 ? "reps" : "not finished"];
    case "made":
      return rounds > 0 ? ["made", ""] : ["–", "not made yet"];
    case "amount":
      return [`${amount}`, UNITS[scoring.unit]];
    case "load":
      if (best !== null) return [kilograms(best), `kg · ${attemptWords(attempts.length)}`];
      return ["–", attempts.length === 0 ? "no attempt yet" : `no lift · ${attemptWords(attempts.length)}`];
    case "done":
      return finished === null ? ["–", "not done yet"] : ["done", ""];
  }
}

const attemptWords = (attempts: number): string => (attempts === 1 ? "1 attempt" : `${attempts} attempts`);

const timeWords = (time: number): string => minutes(Math.floor(time / SECOND));

/** What a touch does, for the line over the grid. */
export function touchWords(scoring: Way): string {
  switch (scoring.by) {
    case "rounds":
      return "Touch somebody when a round is done.";
    case "time":
      return scoring.rounds > 1
        ? "Touch somebody when a round is done; the last one finishes."
        : "Touch somebody when all of it is done.";
    case "made":
      return "Touch who has made it in time.";
    case "amount":
      return scoring.step > 1
        ? `Touch somebody for each ${scoring.step} ${UNITS[scoring.unit]}.`
        : `Touch somebody for each ${scoring.unit === "reps" ? "rep" : UNITS[scoring.unit]}.`;
    case "load":
      return "Touch who has tried a load.";
    case "done":
      return "Touch who is done.";
  }
}

export const amountWord = (scoring: Extract<Way, { by: "amount" }>): string => UNITS[scoring.unit];

export const waitingWords = (waiting: number): string =>
  waiting === 1 ? "1 tap waits on this tablet" : `${waiting} taps wait on this tablet`;
