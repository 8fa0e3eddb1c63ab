/** What the coach page says in words. Pure; plain text, never HTML. */
import { minutes, SECOND } from "../shared/clock";
import type {
  BlockIndex,
  Call,
  Choice,
  MovementOption,
  Reason,
  Scoring,
  Segment,
  Session,
  Tally,
} from "../shared/wire";
import { amountWords, KIND_WORDS, titleOf } from "../shared/words";
import { UNITS } from "./scoring";

/** A segment by what one would call it on the floor: `Four tides 2 of 4`, `Rest`, `squat to box`. */
export function segmentName(segment: Segment, session: Session): string {
  const block = session.blocks[segment.block];
  const title = block === undefined ? "" : titleOf(block);
  switch (segment.kind) {
    case "work":
      return segment.window === null ? title : `${title} ${segment.window.number} of ${segment.window.of}`;
    case "rest":
      return block?.kind.kind === "rest" ? title : KIND_WORDS.rest;
    case "lead-in":
      return `${KIND_WORDS["lead-in"]} to ${title}`;
    case "open":
      return (segment.movement === null ? undefined : block?.movements[segment.movement]?.name) ?? title;
  }
}

/** The title of a block by its place; nothing where there is none. */
export function blockTitle(index: BlockIndex, session: Session): string {
  const block = session.blocks[index];
  return block === undefined ? "" : titleOf(block);
}

/** A call in a word or two, as it stands in sentences. */
export function callWord(call: Call): string {
  switch (call.call) {
    case "add-time": {
      const seconds = Math.abs(call.span) / SECOND;
      const amount = seconds < 60 ? `${seconds} s` : minutes(seconds);
      return call.span < 0 ? `${amount} taken away` : `${amount} added`;
    }
    case "finish":
      return "finish block";
    default:
      return call.call;
  }
}

/** A tally, as short as the floor says it: `7 + 23`, `12:04`, `80 kg`; a dash where nothing was counted. */
export function tallyText(tally: Tally | null, scoring: Scoring | null): string {
  switch (tally?.kind) {
    case undefined:
      return "–";
    case "rounds":
      return tally.extra > 0 ? `${tally.rounds} + ${tally.extra}` : `${tally.rounds}`;
    case "finished":
      return minutes(Math.floor(tally.time / SECOND));
    case "at-cap":
      return `${tally.reps} reps`;
    case "load":
      return `${tally.grams / 1000} kg`.replace("-", "−");
    case "count":
      return `${tally.amount} ${UNITS[scoring?.by === "amount" ? scoring.unit : "reps"]}`;
    case "made":
      if (tally.of > 1) return `${tally.made} of ${tally.of}`;
      return tally.made > 0 ? "made" : "not made";
    case "done":
      return "done";
  }
}

/** Names in a sentence: `Ada`, `Ada and Bo`, `Ada, Bo and Mei`. */
export function namesWords(names: readonly string[]): string {
  const last = names.at(-1) ?? "";
  return names.length < 2 ? last : `${names.slice(0, -1).join(", ")} and ${last}`;
}

export const REASONS: Record<Reason, string> = {
  "no-running": "no running",
  "no-overhead": "no overhead",
  "low-impact": "low impact",
  mechanics: "mechanics",
  gear: "gear",
  lighter: "lighter",
  "at-home": "at home",
};

/** An option by what tells it from the others: `goblet squat 8 kg`, which may differ by its load alone. */
export const optionName = ({ name, load }: MovementOption): string =>
  load === null ? name : `${name} ${load.text}`;

/** An option with its amount and what it serves: `8 alternating step-up 40 cm (no overhead, lighter)`. */
export function optionWords(option: MovementOption): string {
  const { amount, sides, reasons } = option;
  const line = amount === null ? optionName(option) : `${amountWords(amount, sides)} ${optionName(option)}`;
  return reasons.length === 0 ? line : `${line} (${reasons.map((reason) => REASONS[reason]).join(", ")})`;
}

/** How somebody does the class: `as written`, or `scaled: ring row, step-up 40 cm`. */
export function choiceWords(choice: Choice, session: Session): string {
  const names = choice.options.flatMap(({ block, movement, option }) => {
    const chosen = session.blocks[block]?.movements[movement]?.options[option];
    return chosen === undefined ? [] : [optionName(chosen)];
  });
  if (names.length > 0) return `scaled: ${[...new Set(names)].join(", ")}`;
  return choice.scaled ? "scaled" : "as written";
}

/** A length in minutes and seconds with its units: `45 s`, `3 min`, `1 min 30 s`. */
export function spanWords(span: number): string {
  const seconds = Math.round(Math.abs(span) / SECOND);
  const [mins, rest] = [Math.floor(seconds / 60), seconds % 60];
  if (mins === 0) return `${rest} s`;
  return rest === 0 ? `${mins} min` : `${mins} min ${rest} s`;
}

/** How long ago something was: `just now`, `40 s`, `3 min`. */
export function agoWords(span: number): string {
  const seconds = Math.max(0, Math.floor(span / SECOND));
  if (seconds < 5) return "just now";
  return seconds < 100 ? `${seconds} s ago` : `${Math.round(seconds / 60)} min ago`;
}

/** The time on this device's wall clock, so far from now; with seconds where they matter. */
export function wallClock(fromNow: number, seconds = false): string {
  const options = { hour: "2-digit", minute: "2-digit", hourCycle: "h23" } as const;
  const at = new Date(Date.now() + fromNow / 1000);
  return at.toLocaleTimeString(undefined, seconds ? { ...options, second: "2-digit" } : options);
}
