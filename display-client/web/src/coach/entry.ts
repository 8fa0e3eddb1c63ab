/** A result as the coach types it, for each format. Pure: words in, a tally or a sentence with the range out. */
import { minutes, SECOND } from "../shared/clock";
import type { Scoring, Tally } from "../shared/wire";
import { UNITS } from "./scoring";

export interface Field {
  name: string;
  label: string;
  example: string;
  keys: "numeric" | "decimal" | "text";
}

/** One way to end a window: what is typed in, none to two fields, and what it comes to. */
export interface Entry {
  key: string;
  /** What is done, on the button. */
  word: string;
  fields: readonly Field[];
  read(typed: (field: string) => string): Read;
}

export type Read = { tally: Tally } | Problem;

/** What is wrong in a field, and what would work. */
export interface Problem {
  field: string;
  problem: string;
}

/** The bounds of the house (`core::score::scoring`). */
const ROUNDS_MAX = 999;
const REPS_MAX = 9_999;
const COUNT_MAX = 100_000;
const KILOGRAMS_MAX = 1_000;

/** The ways in which a window that is counted like this can be entered, the usual one first. */
export function entriesOf(scoring: Scoring): readonly Entry[] {
  switch (scoring.by) {
    case "rounds":
      return [ROUNDS];
    case "time":
      return [finished(scoring.cap), AT_CAP];
    case "made":
      return [MADE, NOT_MADE];
    case "amount":
      return [amount(UNITS[scoring.unit])];
    case "load":
      return [LOAD];
    case "done":
      return [DONE];
  }
}

const ROUNDS: Entry = {
  key: "rounds",
  word: "Set",
  fields: [
    { name: "rounds", label: "Rounds", example: "5", keys: "numeric" },
    { name: "extra", label: "Extra reps", example: "12", keys: "numeric" },
  ],
  read(typed) {
    const rounds = whole("rounds", "Rounds", typed("rounds"), ROUNDS_MAX);
    if (typeof rounds !== "number") return rounds;
    const extra = whole("extra", "Extra reps", typed("extra").trim() || "0", REPS_MAX);
    return typeof extra === "number" ? { tally: { kind: "rounds", rounds, extra } } : extra;
  },
};

const finished = (cap: number): Entry => ({
  key: "finished",
  word: "Finished",
  fields: [{ name: "time", label: "Time", example: "8:42", keys: "text" }],
  read(typed) {
    const time = readTime(typed("time"));
    if (time !== null && time > 0 && time <= cap) return { tally: { kind: "finished", time } };
    const most = minutes(Math.floor(cap / SECOND));
    return { field: "time", problem: `Time: minutes and seconds from 0:01 to the cap, ${most}.` };
  },
});

const AT_CAP: Entry = {
  key: "at-cap",
  word: "At the cap",
  fields: [{ name: "reps", label: "Reps done", example: "74", keys: "numeric" }],
  read(typed) {
    const reps = whole("reps", "Reps", typed("reps"), REPS_MAX);
    return typeof reps === "number" ? { tally: { kind: "at-cap", reps } } : reps;
  },
};

const amount = (unit: string): Entry => ({
  key: "count",
  word: "Set",
  fields: [{ name: "count", label: unit, example: "48", keys: "numeric" }],
  read(typed) {
    const amount = whole("count", unit, typed("count"), COUNT_MAX);
    return typeof amount === "number" ? { tally: { kind: "count", amount } } : amount;
  },
});

const LOAD: Entry = {
  key: "load",
  word: "Set",
  fields: [{ name: "load", label: "kg", example: "62.5", keys: "decimal" }],
  read(typed) {
    const grams = readGrams(typed("load"));
    return grams === null ? { field: "load", problem: LOAD_RANGE } : { tally: { kind: "load", grams } };
  },
};
const LOAD_RANGE = "kg: from −1000 to 1000, such as 62.5. 0 is unweighted, assistance is below 0.";

const MADE: Entry = {
  key: "made",
  word: "Made it",
  fields: [],
  read: () => ({ tally: { kind: "made", made: 1, of: 1 } }),
};
const NOT_MADE: Entry = {
  key: "not-made",
  word: "Not made",
  fields: [],
  read: () => ({ tally: { kind: "made", made: 0, of: 1 } }),
};
const DONE: Entry = { key: "done", word: "Done", fields: [], read: () => ({ tally: { kind: "done" } }) };

function whole(field: string, what: string, text: string, most: number): number | Problem {
  const trimmed = text.trim();
  const number = /^\d{1,7}$/.test(trimmed) ? Number(trimmed) : Number.NaN;
  if (number <= most) return number;
  return { field, problem: `${what}: a whole number from 0 to ${most.toLocaleString("en")}.` };
}

/** `8:42` or `8.42`, hours allowed before it; also plain seconds. */
function readTime(text: string): number | null {
  const trimmed = text.trim();
  if (!/^((\d{1,2}[:.])?\d{1,3}[:.]\d{2}|\d{1,5})$/.test(trimmed)) return null;
  const numbers = trimmed.split(/[:.]/).map(Number);
  if (numbers.slice(1).some((part) => part > 59)) return null;
  return numbers.reduce((sum, part) => sum * 60 + part, 0) * SECOND;
}

/** `62.5` or `62,5` kilograms, to the gram; assistance is below zero. */
export function readGrams(text: string): number | null {
  const trimmed = text.trim().replace(",", ".").replace("−", "-");
  if (!/^-?\d{1,4}(\.\d{0,3})?$/.test(trimmed)) return null;
  const kilograms = Number(trimmed);
  // `+ 0` for −0, which is no load that JSON keeps apart.
  return Math.abs(kilograms) <= KILOGRAMS_MAX ? Math.round(kilograms * 1000) + 0 : null;
}
