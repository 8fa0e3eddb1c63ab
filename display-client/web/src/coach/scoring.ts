/** How a window of work is counted, for every format: what it has come to, and what can be tapped. Pure. */
import type { Counts, OwnWindow, Person, Scoring, SegmentIndex, Tally, Unit } from "../shared/wire";

export const UNITS: Record<Unit, string> = { reps: "reps", metres: "m", calories: "cal", seconds: "s" };

/** Ones, fives and tens, as one counts along; further out where the unit is a length. */
const STEPS: Record<Unit, readonly number[]> = {
  reps: [1, 5, 10],
  calories: [1, 5, 10],
  seconds: [1, 5, 10],
  metres: [5, 10, 50],
};

/** Something to tap for an athlete. */
export interface TapOffer {
  counts: Counts;
  word: string;
}

/** What can be tapped in a window, the usual one first; an attempt at a load has its own form. */
export function tapsOf(scoring: Scoring): readonly TapOffer[] {
  switch (scoring.by) {
    case "rounds":
      return [{ counts: { kind: "round" }, word: "+1 round" }, BEFORE];
    case "time":
      return [
        { counts: { kind: "finish" }, word: "Finished" },
        ...(scoring.rounds > 1 ? [{ counts: { kind: "round" }, word: "+1 round" } as const, BEFORE] : []),
      ];
    case "made":
      return [{ counts: { kind: "round" }, word: "Made it" }];
    case "amount":
      return [scoring.step, ...STEPS[scoring.unit].filter((step) => step !== scoring.step)].map((amount) => ({
        counts: { kind: "amount", amount },
        word: `+${amount}${scoring.unit === "reps" ? "" : ` ${UNITS[scoring.unit]}`}`,
      }));
    case "done":
      return [{ counts: { kind: "finish" }, word: "Done" }];
    case "load":
      return [];
  }
}

/** One that was forgotten: it counts, and gives no split (rule 3.6). */
const BEFORE: TapOffer = { counts: { kind: "round-before" }, word: "+1 earlier" };

/** What a window has come to; nothing where nothing was counted or set. */
export function tallyIn(window: OwnWindow | undefined): Tally | null {
  if (window === undefined) return null;
  const { tally, scoring, entered } = window;
  switch (scoring.by) {
    case "rounds":
      return entered || (tally.kind === "rounds" && tally.rounds + tally.extra > 0) ? tally : null;
    case "time":
      return entered || tally.kind !== "at-cap" || tally.reps > 0 ? tally : null;
    case "made":
      return entered || (tally.kind === "made" && tally.made > 0) ? tally : null;
    case "amount":
      return entered || (tally.kind === "count" && tally.amount > 0) ? tally : null;
    case "load":
      return tally.kind === "load" ? tally : null;
    case "done":
      return tally.kind === "done" ? tally : null;
  }
}

export const windowOf = (person: Person, segment: SegmentIndex): OwnWindow | undefined =>
  person.windows.find((window) => window.segment === segment);

/** How a window is counted; nothing before it has begun. */
export function scoringOf(people: readonly Person[], segment: SegmentIndex | null): Scoring | null {
  for (const { windows } of people) {
    const own = windows.find((window) => window.segment === segment);
    if (own !== undefined) return own.scoring;
  }
  return null;
}
