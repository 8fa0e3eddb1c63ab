/** The phone's own words: places, results, reasons. Plain text, never HTML. Pure. */
import { minutes, SECOND } from "../shared/clock";
import type { Movement, MovementOption, NameShown, Reason, Span, WhyNot } from "../shared/wire";
import { amountWords, loadWords, withOption } from "../shared/words";
import type { Count } from "./count";
import type { Standings } from "./view";

export const REASON_WORDS: Record<Reason, string> = {
  "no-running": "no running",
  "no-overhead": "nothing overhead",
  "low-impact": "low impact",
  mechanics: "working on the movement",
  gear: "gear is taken",
  lighter: "lighter",
  "at-home": "at home",
};

export const SHOWN_WORDS: Record<NameShown, string> = {
  whole: "My name",
  initial: "My initial",
  nothing: "Nothing",
};

/** Usual cautions, on every brief and result; the sheet's own stand beside them. */
export const CAUTION =
  "Pain, dizziness or a tight chest: stop, and tell the coach at once. Water is always allowed.";

/** Why a tap that was kept does not count; null where the athlete knows already. */
export function whyNot(why: WhyNot): string | null {
  switch (why) {
    case "held":
      return "The clock was held then: that round does not count. The coach can see it.";
    case "lead-in":
      return "Work had not begun then: that round does not count.";
    case "not-work":
      return "No work was under way then: that round does not count.";
    case "after-bell":
      return "That round came after the bell: enter it with your result.";
    case "repeated":
      return "The coach started this work anew: rounds count from the new start.";
    case "not-this-way":
      return "This piece is not counted in this way: tell the coach your result.";
    case "team-mate":
      return "Your team mate had tapped that round already: it counts once.";
    case "other-counts":
      return "Somebody else counted then: that tap is kept, and the coach can see it.";
    case "settled":
      return "The coach has looked at that tap: it does not count.";
    case "already":
    case "twice":
    case "undone":
    case "set-since":
      return null;
  }
}

/** 1st, 2nd, 3rd, 4th, 11th, 21st. */
export function ordinal(number: number): string {
  const tens = number % 100;
  const ending = tens > 10 && tens < 14 ? "th" : (["th", "st", "nd", "rd"][number % 10] ?? "th");
  return `${number}${ending}`;
}

export const roundsWord = (rounds: number): string => (rounds === 1 ? "round" : "rounds");

/** `5 + 11`, or `5` where there are no extra reps. */
export const scoreWords = ({ rounds, extra }: { rounds: number; extra: number }): string =>
  extra > 0 ? `${rounds} + ${extra}` : `${rounds}`;

/** A split as it is read on the move: whole seconds. */
export const splitWords = (split: Span): string => minutes(Math.round(split / SECOND));

/** `3rd of 9 · as written`; nothing before there is a place. */
export function placeWords({ place, of, scaled }: Standings): string {
  if (place === null) return "";
  return `${ordinal(place)} of ${Math.max(of, place)} · ${scaled ? "scaled" : "as written"}`;
}

/** What is read out when the count changes. */
export function countWords({ rounds, lastSplit }: Count, standing: Standings): string {
  const parts = [
    `${rounds} ${roundsWord(rounds)}`,
    lastSplit === null ? "" : `last ${splitWords(lastSplit)}`,
    placeWords(standing),
  ];
  return parts.filter((part) => part !== "").join(", ");
}

/** What became of the taps of a window. */
export function waitingWords({ rounds, waiting }: Count): string {
  if (waiting > 1) return `${waiting} taps wait on this phone`;
  if (waiting === 1) return "1 tap waits on this phone";
  return rounds > 0 ? "All kept" : "";
}

/** An option of a movement in a line: what is then done, and what counts as one. */
export function optionWords(movement: Movement, option: MovementOption): string {
  const line = movementLine(withOption(movement, option));
  return option.counts_as === null ? line : `${line} · ${option.counts_as}`;
}

export const reasonWords = (reasons: readonly Reason[]): string =>
  reasons.map((reason) => REASON_WORDS[reason]).join(", ");

/** A movement in a line: `11 goblet squat · 16 kg`. */
export function movementLine({ amount, sides, name, load, height, tempo }: Movement): string {
  const parts = [
    [amount === null ? "" : amountWords(amount, sides), name].filter((part) => part !== "").join(" "),
    loadWords(load, height),
    tempo === null ? "" : `tempo ${tempo.join("-")}`,
  ];
  return parts.filter((part) => part !== "").join(" · ");
}
