/** The phone's own words: places, results, reasons. Plain text, never HTML. Pure. */

import type { Count } from "../counting/count";
import type { Way } from "../counting/scoring";
import { minutes, SECOND } from "../shared/clock";
import type {
  Aim,
  Movement,
  MovementOption,
  NameShown,
  Reason,
  Span,
  Tally,
  Unit,
  WhyNot,
} from "../shared/wire";
import { amountWords, loadWords, UNIT_WORDS, withOption } from "../shared/words";
import { kilograms } from "./field";
import { median, tallyFrom } from "./result";
import type { Counting, Standings } from "./view";

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
      return "The clock was held then: it does not count. The coach can see it.";
    case "lead-in":
      return "Work had not begun then: it does not count.";
    case "not-work":
      return "No work was under way then: it does not count.";
    case "after-bell":
      return "It came after the bell: enter it with your result.";
    case "repeated":
      return "The coach began this work anew: count from there.";
    case "not-this-way":
      return "This piece is not counted in this way: tell the coach.";
    case "team-mate":
      return "A team mate has that round: it counts once.";
    case "other-counts":
      return "Somebody else counted then: it does not count. The coach can see it.";
    case "settled":
      return "The coach has looked at it: it does not count.";
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

/** `round`, `rounds`. */
export const roundsWord = (rounds: number): string => (rounds === 1 ? "round" : "rounds");

/** A tally in two parts, the second quieter: `5 + 11` and `rounds`, `885` and `m`. */
export function resultWords(tally: Tally | null, scoring: Way): [main: string, unit: string] {
  switch (tally?.kind) {
    case "rounds":
      if (scoring.by !== "rounds") break;
      return tally.extra > 0
        ? [`${tally.rounds} + ${tally.extra}`, ""]
        : [`${tally.rounds}`, roundsWord(tally.rounds)];
    case "finished":
      return [minutes(Math.floor(tally.time / SECOND)), "finished"];
    case "at-cap":
      return [`${tally.reps}`, "reps at the cap"];
    case "load":
      return [kilograms(tally.grams), "kg"];
    case "count":
      return [`${tally.amount}`, scoring.by === "amount" ? UNIT_WORDS[scoring.unit] : ""];
    case "made":
      if (tally.of > 1) return [`${tally.made}`, `made of ${tally.of}`];
      return tally.made > 0 ? ["Made", ""] : ["–", "not made"];
    case "done":
      return ["Done", ""];
  }
  return ["–", "no result"];
}

/** What is counted so far, as it stands on the touch area. */
export function countedWords(count: Count, scoring: Way): [main: string, unit: string] {
  const tally = tallyFrom(count, scoring);
  if (tally !== null) return resultWords(tally, scoring);
  switch (scoring.by) {
    case "time":
      if (count.finished !== null) return ["…", "finished"];
      return scoring.rounds > 1 ? [`${count.rounds}`, `of ${scoring.rounds} rounds`] : ["–", "under way"];
    case "load":
      return ["–", "no good attempt yet"];
    default:
      return ["–", "not yet done"];
  }
}

/** What one touch counts: `120 m`, `10 reps`. */
export const unitWords = ({ unit, step }: { unit: Unit; step: number }): string =>
  `${step} ${UNIT_WORDS[unit]}`;

/** A split as it is read on the move: whole seconds. */
export const splitWords = (split: Span): string => minutes(Math.round(split / SECOND));

/** `3rd of 9 · as written`; nothing before there is a place. */
export function placeWords({ place, of, scaled }: Standings): string {
  if (place === null) return "";
  return `${ordinal(place)} of ${Math.max(of, place)} · ${scaled ? "scaled" : "as written"}`;
}

/** What is read out when a count changes: short, and for whom where it is not for oneself. */
export function spokenWords({ count, scoring, whose }: Counting): string {
  const [main, unit] = countedWords(count, scoring);
  const split =
    count.lastSplit === null || scoring.by !== "rounds" ? "" : `, last ${splitWords(count.lastSplit)}`;
  return `${whose.me ? "" : `${whose.name}: `}${main} ${unit}`.trim() + split;
}

/** The last split against the own median. */
export function paceWords(last: Span | null, splits: readonly Span[]): string {
  if (last === null) return "";
  const usual = splits.length < 2 ? null : median(splits);
  return usual === null
    ? `last ${splitWords(last)}`
    : `last ${splitWords(last)}, median ${splitWords(usual)}`;
}

/** `on pace for 7 + 4`, `on pace for 98`; nothing where it is not known. */
export function onPaceWords(pace: Tally | null): string {
  if (pace?.kind === "rounds") return `on pace for ${pace.rounds}${pace.extra > 0 ? ` + ${pace.extra}` : ""}`;
  return pace?.kind === "count" ? `on pace for ${pace.amount}` : "";
}

/** `aim 5 to 7 rounds`. */
export function aimWords(aim: Aim | null | undefined): string {
  if (aim?.rounds == null) return "";
  const [least, most] = aim.rounds;
  return `aim ${least === most ? least : `${least} to ${most}`} rounds`;
}

/** Rounds as written and scaled in one window, as equals. */
export function mixedWords(rounds: number, asWritten: number | null | undefined): string {
  return asWritten == null || asWritten > rounds
    ? ""
    : `${asWritten} as written, ${rounds - asWritten} scaled`;
}

/** What became of the taps of a window. */
export function waitingWords({ undoable, waiting }: Pick<Count, "undoable" | "waiting">): string {
  if (waiting > 1) return `${waiting} taps wait on this phone`;
  if (waiting === 1) return "1 tap waits on this phone";
  return undoable === null ? "" : "All kept";
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
