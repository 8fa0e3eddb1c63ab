/** The plan in words, the same on every page: what a movement asks for, what a block is. Plain text, never HTML. */

import { minutes, SECOND } from "./clock";
import type {
  Amount,
  Block,
  Format,
  Ladder,
  Load,
  Movement,
  MovementOption,
  Piece,
  Segment,
  SegmentKind,
  Sides,
  Unit,
} from "./wire";

export const KIND_WORDS: Record<SegmentKind, string> = {
  open: "Open",
  "lead-in": "Lead-in",
  work: "Work",
  rest: "Rest",
};

/** `12`, `120 m`, `15 cal`, `20 s`. */
export function countWords({ count, unit }: Amount): string {
  switch (unit) {
    case "reps":
      return `${count}`;
    case "metres":
      return `${count} m`;
    case "calories":
      return `${count} cal`;
    case "seconds":
      return count < 60 ? `${count} s` : minutes(count);
  }
}

export const SIDES_WORDS: Record<Sides, string> = {
  both: "",
  "per-side": "per side",
  alternating: "alternating",
};

/** `12`, `8 per side`, `10 alternating`. */
export const amountWords = (amount: Amount, sides: Sides): string =>
  `${countWords(amount)} ${SIDES_WORDS[sides]}`.trim();

/** The weight as the sheet has it, and the height where there is one. */
export function loadWords(load: Load | null, height: string | null): string {
  return [load?.text, height].filter((part) => part != null && part !== "").join(" · ");
}

/**
 * The movement as everyone does it who does `option`. An amount that the option leaves open stays as written. Another
 * movement has a load and a standard of its own, or none, and its height and tempo stand in its name.
 */
export function withOption(movement: Movement, option: MovementOption | undefined): Movement {
  if (option === undefined) return movement;
  const { name, amount, sides, load } = option;
  const asked = amount === null ? {} : { amount, sides };
  if (name === movement.name) return { ...movement, ...asked, load: load ?? movement.load };
  return { ...movement, ...asked, name, load, height: null, tempo: null, standard: null };
}

/** One movement in parts, so that a page can set each in its own type. */
export function movementWords(movement: Movement): {
  amount: string;
  name: string;
  load: string;
  tempo: string;
} {
  return {
    amount: movement.amount === null ? "" : amountWords(movement.amount, movement.sides),
    name: movement.name,
    load: loadWords(movement.load, movement.height),
    tempo: movement.tempo === null ? "" : `tempo ${movement.tempo.join("-")}`,
  };
}

/** A unit as it stands behind a number. */
export const UNIT_WORDS: Record<Unit, string> = { reps: "reps", metres: "m", calories: "cal", seconds: "s" };

/** How a piece is timed and scored, where the block is one. */
export const formatOf = (block: Block | undefined): Format | undefined =>
  block?.kind.kind === "piece" ? block.kind.format : undefined;

const time = (micros: number): string => minutes(Math.round(micros / SECOND));

/** How a piece is timed and scored, in a line. */
export function formatWords(format: Format): string {
  switch (format.format) {
    case "amrap":
      return `As many rounds as possible in ${time(format.window)}${ladderWords(format.ladder)}`;
    case "for-time":
      return `${format.scheme.length > 0 ? format.scheme.join("-") : rounds(format.rounds)} for time, cap ${time(format.cap)}`;
    case "every-n":
      return `Every ${time(format.every)}, ${format.rounds} times`;
    case "intervals":
      return `${format.rounds} × ${time(format.work)} work, ${time(format.rest)} rest`;
    case "max-load":
      return `Heaviest ${format.reps === 1 ? "single" : `set of ${format.reps}`} in ${time(format.window)}`;
    case "max-count":
      return `Most ${format.unit} in ${time(format.window)}`;
    case "quality":
      return `${format.rounds === null ? "For quality" : `${rounds(format.rounds)} for quality`}, ${time(format.window)}`;
  }
}

const rounds = (count: number): string => (count === 1 ? "1 round" : `${count} rounds`);

/** `, reps 4-8-12-…`, where they grow. */
const ladderWords = (ladder: Ladder | null): string =>
  ladder === null ? "" : `, reps ${[0, 1, 2].map((round) => ladder.start + round * ladder.step).join("-")}-…`;

/** All that a piece says of time and sharing, in a line. */
export function pieceWords({ format, repeats, repeat_rest: rest, sharing }: Piece): string {
  const times = repeats > 1 ? `${repeats} times, ${time(rest)} rest between` : "";
  const shared = sharing.sharing === "team" ? `in teams of ${sharing.size}` : "";
  return [formatWords(format), times, shared].filter((part) => part !== "").join(" · ");
}

/** A length at the end of a heading: `3 min`, `: 5 min`, `1:30`. */
const LENGTH_AT_END = /[\s:]+(\d+:\d\d|\d+\s*(h|hours?|mins?|minutes?|s|secs?|seconds?))$/;
/** A comma outside brackets. */
const COMMA = /,(?![^(]*\))/;

/**
 * A block by its name alone: its heading without what it says of time and format. `Quay run: AMRAP 9 min` is
 * `Quay run`, `Talk: what we do tonight, 5 min` is `Talk: what we do tonight`, and `Rest 3 min` is `Rest`.
 */
export function titleOf({ name, kind }: Block): string {
  const ends = kind.kind === "piece" && name.includes(":") ? ":" : COMMA;
  const [title = name] = name.split(ends);
  return title.trim().replace(LENGTH_AT_END, "");
}

/** What runs in a segment: `Work`, or for open ones the block's own name. */
export function segmentWords(segment: Segment, block: Block | undefined): string {
  return segment.kind === "open" && block !== undefined ? titleOf(block) : KIND_WORDS[segment.kind];
}
