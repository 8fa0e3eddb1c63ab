/** What the coach page says in words. Pure; plain text, never HTML. */
import { minutes, SECOND, secondsRun } from "../shared/clock";
import type {
  Call,
  Choice,
  Mark,
  MovementOption,
  Reason,
  Segment,
  Session,
  Tally,
  Unit,
} from "../shared/wire";
import { KIND_WORDS } from "../shared/words";

/** A segment by what one would call it on the floor: `Work 2 of 4`, `Rest`, `Warm-up: ring row`. */
export function segmentName(segment: Segment, session: Session): string {
  const block = session.blocks[segment.block];
  const window =
    segment.window === null || segment.window.of === 1
      ? ""
      : ` ${segment.window.number} of ${segment.window.of}`;
  if (segment.kind !== "open") {
    return segment.kind === "lead-in" && block !== undefined
      ? `${KIND_WORDS["lead-in"]}: ${block.name}`
      : `${KIND_WORDS[segment.kind]}${window}`;
  }
  const movement = segment.movement === null ? undefined : block?.movements[segment.movement];
  const name = block?.name ?? KIND_WORDS.open;
  return movement === undefined ? name : `${name}: ${movement.name}`;
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

/** A tally, as short as the floor says it: `7 + 23`, `12:04`, `80 kg`. `unit` is that of a max count. */
export function tallyWords(tally: Tally, unit: Unit = "reps"): string {
  switch (tally.kind) {
    case "rounds":
      return `${tally.rounds} + ${tally.extra}`;
    case "finished":
      return minutes(secondsRun(tally.time));
    case "at-cap":
      return `cap, ${tally.reps} reps`;
    case "load":
      return `${tally.grams / 1000} kg`;
    case "count":
      return `${tally.amount} ${UNITS[unit]}`;
    case "done":
      return "done";
  }
}

export const UNITS: Record<Unit, string> = { reps: "reps", metres: "m", calories: "cal", seconds: "s" };

export const REASONS: Record<Reason, string> = {
  "no-running": "no running",
  "no-overhead": "no overhead",
  "low-impact": "low impact",
  mechanics: "mechanics",
  gear: "gear",
  lighter: "lighter",
  "at-home": "at home",
};

export const MARKS: Record<Mark, string> = {
  "after-bell": "made just after the bell",
  "after-hold": "made just after a hold",
  "ahead-of-time": "stamped later than it can have been made",
  backdated: "came late from a connected device",
  quick: "implausibly quick",
  "other-segment": "made for another segment",
};

/** An option with what it serves: `step-up 40 cm (no overhead, lighter)`. */
export function optionWords({ name, reasons }: MovementOption): string {
  return reasons.length === 0 ? name : `${name} (${reasons.map((reason) => REASONS[reason]).join(", ")})`;
}

/** How somebody does the class: `as written`, or `scaled: ring row, step-up 40 cm`. */
export function choiceWords(choice: Choice, session: Session): string {
  const names = choice.options.flatMap(({ block, movement, option }) => {
    const name = session.blocks[block]?.movements[movement]?.options[option]?.name;
    return name === undefined ? [] : [name];
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
