/** What is asked of a window after its bell, by how it is counted, and what an answer on its way will make. Pure. */

import type { Count } from "../counting/count";
import { asIDo, repsOfRound } from "../counting/plan";
import type { Way } from "../counting/scoring";
import { SECOND } from "../shared/clock";
import type { FromDevice, OwnWindow, Reached, Span, Tally } from "../shared/wire";
import { formatOf } from "../shared/words";
import { aboutHere, type Draft, reachedBy, repsInAll, tallyOf } from "./extra";
import { asksOf, type Field, kilograms, write } from "./field";
import type { Entry, Known } from "./view";
import { windowOf } from "./who";

export type Result = Draft | Field;

/** Whether the entry opens by itself straight after the bell: where taps alone leave something to say. */
export function opensItself({ scoring, count, entered }: Entry): boolean {
  if (entered) return false;
  if (scoring.by === "amount") return scoring.step > 1;
  return scoring.by === "rounds" || (scoring.by === "time" && count.finished === null);
}

/** An entry that begins with what the window has; null where two buttons say all there is. */
export function resultOf(known: Known, entry: Entry): Result | null {
  const { scoring, count } = entry;
  switch (scoring.by) {
    case "rounds":
      return reachedOf(known, entry);
    case "time":
      return count.finished === null ? reachedOf(known, entry) : timeOf(entry);
    case "amount": {
      const of = asksOf(scoring, count.amount);
      const value = of.asks === "rest" ? count.amount - of.units * of.step : count.amount;
      return fieldOf(entry, of, write(of, value));
    }
    case "load":
      return fieldOf(entry, { asks: "load" }, count.best === null ? "" : kilograms(count.best));
    case "made":
    case "done":
      return null;
  }
}

/** How far the unfinished round came; at the cap too. */
export function reachedOf(known: Known, entry: Entry): Draft {
  const { segment, scoring, whose, count, entered } = entry;
  const { reps, scheme } = roundOf(known, entry);
  const told = windowOf(whose, segment)?.tally;
  const sofar = { rounds: count.rounds, reps, scheme, reached: { movement: 0, reps: 0 } };
  const extra = told?.kind === "at-cap" && entered ? told.reps - repsInAll(sofar) : count.extra;
  return {
    kind: "reached",
    athlete: whose.athlete,
    segment,
    gives: scoring.by === "time" ? "at-cap" : "rounds",
    again: entered,
    counted: count.rounds,
    rounds: count.rounds,
    reps,
    scheme,
    reached: reachedBy(Math.max(0, extra), reps),
  };
}

/** The time of finishing, where the tap for it was missed or is wrong. */
export function timeOf(entry: Entry): Field {
  const cap = entry.scoring.by === "time" ? entry.scoring.cap : 0;
  const of = { asks: "time", cap } as const;
  const time = entry.count.finished?.time ?? null;
  return fieldOf(entry, of, time === null ? "" : write(of, Math.max(time, SECOND)));
}

function fieldOf({ segment, whose, entered }: Entry, of: Field["of"], text: string): Field {
  return { kind: "field", athlete: whose.athlete, segment, again: entered, of, text, problem: null };
}

/** Reps of each movement in the round that was under way: as the server says, else worked out here. */
function roundOf(
  { state }: Known,
  { segment, block, count, whose }: Entry,
): { reps: readonly number[]; scheme: readonly number[] } {
  const told = windowOf(whose, segment);
  const here = state.session.blocks[block];
  const format = formatOf(here);
  const scheme = format?.format === "for-time" ? format.scheme : [];
  const same = told?.tally.kind !== "rounds" || told.tally.rounds === count.rounds;
  if (told !== undefined && same && scheme.length === 0) return { reps: told.reps, scheme };
  return { reps: repsOfRound(here, asIDo(state, block, whose.choice), count.rounds), scheme };
}

/** About where the bell came in the unfinished round; null where nothing can be said. */
export function suggestion(window: OwnWindow | undefined, length: Span | null, draft: Draft): Reached | null {
  const usual = median((window?.splits ?? []).slice(-3));
  const told = window?.last ?? null;
  const same = window?.tally.kind !== "rounds" || window.tally.rounds === draft.rounds;
  if (usual === null || told === null || length === null || !same) return null;
  return aboutHere(draft.reps, length - told, usual);
}

export function median(numbers: readonly number[]): number | null {
  const sorted = [...numbers].sort((a, b) => a - b);
  const half = sorted.length / 2;
  const [low, high] = [sorted[Math.ceil(half) - 1], sorted[Math.floor(half)]];
  return low === undefined || high === undefined ? null : (low + high) / 2;
}

/** What a window comes to with the entry that still waits on this phone; null where none waits. */
export function promised(waiting: readonly FromDevice[], known: Known, entry: Entry): Tally | null {
  const { segment, whose, count, scoring } = entry;
  for (const message of waiting) {
    if (message.type !== "ask" || !("segment" in message) || message.segment !== segment) continue;
    if (!("athlete" in message) || message.athlete !== whose.athlete) continue;
    if (message.ask === "set-tally") return message.tally;
    if (message.ask !== "enter-extra") continue;
    const { reached } = message;
    if (scoring.by === "amount") return { kind: "count", amount: count.amount + reached.reps };
    return tallyOf({ ...reachedOf(known, entry), reached });
  }
  return null;
}

/** The count as a tally; null where there is none, or it has to be known at the cap first. */
export function tallyFrom(count: Count, { by }: Way): Tally | null {
  switch (by) {
    case "rounds":
      return { kind: "rounds", rounds: count.rounds, extra: count.extra };
    case "time":
      return count.finished?.time == null ? null : { kind: "finished", time: count.finished.time };
    case "made":
      return { kind: "made", made: Math.min(1, count.rounds), of: 1 };
    case "amount":
      return { kind: "count", amount: count.amount };
    case "load":
      return count.best === null ? null : { kind: "load", grams: count.best };
    case "done":
      return count.finished === null ? null : { kind: "done" };
  }
}
