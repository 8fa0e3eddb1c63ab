/** A result as the coach types it, for each format. Pure: words in, a tally or a sentence out. */
import { SECOND } from "../shared/clock";
import type { Format, Tally } from "../shared/wire";

/** What is typed in: one or two fields, by name. */
export interface Entry {
  kind: Tally["kind"];
  /** On the tab that chooses between two ways to end a piece. */
  word: string;
  fields: readonly { name: string; label: string; example: string }[];
}

const ROUNDS: Entry = {
  kind: "rounds",
  word: "Rounds",
  fields: [
    { name: "rounds", label: "Rounds", example: "5" },
    { name: "extra", label: "Extra reps", example: "12" },
  ],
};
const FINISHED: Entry = {
  kind: "finished",
  word: "Finished",
  fields: [{ name: "time", label: "Time", example: "8:42" }],
};
const AT_CAP: Entry = {
  kind: "at-cap",
  word: "At the cap",
  fields: [{ name: "reps", label: "Reps done", example: "74" }],
};
const LOAD: Entry = { kind: "load", word: "Load", fields: [{ name: "load", label: "kg", example: "62.5" }] };
const COUNT: Entry = {
  kind: "count",
  word: "Count",
  fields: [{ name: "count", label: "Count", example: "48" }],
};
const MADE: Entry = { kind: "made", word: "Made it", fields: [] };
const DONE: Entry = { kind: "done", word: "Done", fields: [] };

/** The ways in which a piece of this format can be entered, the usual one first. */
export function entriesOf(format: Format): readonly Entry[] {
  switch (format.format) {
    case "amrap":
      return [ROUNDS];
    case "for-time":
      return [FINISHED, AT_CAP];
    case "every-n":
    case "intervals":
      return format.score === "rounds-made" ? [MADE] : [COUNT];
    case "max-load":
      return [LOAD];
    case "max-count":
      return [COUNT];
    case "quality":
      return [DONE];
  }
}

/** The tally that was typed in, or what is wrong with it and what would work. */
export function readEntry(
  entry: Entry,
  typed: (name: string) => string,
): { tally: Tally } | { problem: string } {
  switch (entry.kind) {
    case "rounds": {
      const [rounds, extra] = [whole(typed("rounds")), whole(typed("extra") || "0")];
      if (rounds === null || extra === null)
        return { problem: "Rounds and extra reps are whole numbers: 5 and 12." };
      return { tally: { kind: "rounds", rounds, extra } };
    }
    case "finished": {
      const time = readTime(typed("time"));
      if (time === null) return { problem: "A time is minutes and seconds: 8:42." };
      return { tally: { kind: "finished", time } };
    }
    case "at-cap": {
      const reps = whole(typed("reps"));
      if (reps === null) return { problem: "Reps are a whole number: 74." };
      return { tally: { kind: "at-cap", reps } };
    }
    case "load": {
      const grams = readKilograms(typed("load"));
      if (grams === null) return { problem: "A load is in kilograms: 62.5." };
      return { tally: { kind: "load", grams } };
    }
    case "count": {
      const amount = whole(typed("count"));
      if (amount === null) return { problem: "A count is a whole number: 48." };
      return { tally: { kind: "count", amount } };
    }
    case "made":
      return { tally: { kind: "made", made: 1, of: 1 } };
    case "done":
      return { tally: { kind: "done" } };
  }
}

/** More digits than any count on a floor has. */
const WHOLE = /^\d{1,6}$/;

function whole(text: string): number | null {
  const trimmed = text.trim();
  return WHOLE.test(trimmed) ? Number(trimmed) : null;
}

/** `8:42` or `8.42`, hours allowed before it; also plain seconds under a minute. */
function readTime(text: string): number | null {
  const parts = text.trim().split(/[:.]/);
  const found =
    /^(\d{1,2}[:.])?\d{1,3}[:.]\d{2}$/.test(text.trim()) || (parts.length === 1 && WHOLE.test(text.trim()));
  const numbers = parts.map(Number);
  if (!found || numbers.slice(1).some((part) => part > 59)) return null;
  const seconds = numbers.reduce((sum, part) => sum * 60 + part, 0);
  return seconds > 0 ? seconds * SECOND : null;
}

/** `62.5` or `62,5`, to the gram that the sheet's weights have. */
function readKilograms(text: string): number | null {
  const trimmed = text.trim().replace(",", ".");
  if (!/^\d{1,4}(\.\d{1,3})?$/.test(trimmed)) return null;
  const grams = Math.round(Number(trimmed) * 1000);
  return grams > 0 ? grams : null;
}
