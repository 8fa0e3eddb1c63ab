import { describe, expect, it } from "vitest";
import { scoringOf, touchOf, type Way } from "../src/phone/scoring";
import { SECOND } from "../src/shared/clock";
import type { Block, Format, Movement } from "../src/shared/wire";
import { movement, SESSION } from "./phone-make";

const [, , PIECE] = SESSION.blocks;

function way(format: Format, movements: Movement[], rounds: [number, number] | null = null): Way | null {
  if (PIECE?.kind.kind !== "piece") throw new Error("the third block is a piece");
  const aim = rounds === null ? null : { text: "steady", rounds };
  return scoringOf({ ...PIECE, kind: { ...PIECE.kind, format }, movements, aim } as Block);
}

const SPAN = 240 * SECOND;
const carry = movement("carry", { amount: { count: 120, unit: "metres" } });
const press = movement("press", { amount: { count: 6, unit: "reps" }, sides: "per-side" });
const row = movement("row", { amount: { count: 12, unit: "calories" } });
const hold = movement("plank", { amount: { count: 30, unit: "seconds" } });
const amrap = (ladder: { start: number; step: number } | null = null): Format => ({
  format: "amrap",
  window: SPAN,
  ladder,
});
const intervals = (score: "rounds-made" | "total" | "lowest"): Format => ({
  format: "intervals",
  work: SPAN,
  rest: SPAN,
  rounds: 8,
  score,
});

describe("how a piece is counted", () => {
  it.each<[string, Way | null, Way | null]>([
    ["several movements by rounds", way(amrap(), [carry, press]), { by: "rounds" }],
    ["one movement by what it gives", way(amrap(), [carry]), { by: "amount", unit: "metres", step: 120 }],
    ["both sides of one", way(amrap(), [press]), { by: "amount", unit: "reps", step: 12 }],
    ["one that is held by rounds", way(amrap(), [hold]), { by: "rounds" }],
    ["one whose aim speaks of rounds", way(amrap(), [carry], [5, 7]), { by: "rounds" }],
    ["a ladder by rounds", way(amrap({ start: 4, step: 4 }), [press]), { by: "rounds" }],
    [
      "for time",
      way({ format: "for-time", rounds: 3, scheme: [], cap: SPAN }, [carry]),
      { by: "time", cap: SPAN, rounds: 3 },
    ],
    ["stretches that are made", way(intervals("rounds-made"), [row]), { by: "made" }],
    ["a total in its unit", way(intervals("total"), [row]), { by: "amount", unit: "calories", step: 1 }],
    [
      "a total of unlike units in reps",
      way(intervals("lowest"), [row, carry]),
      { by: "amount", unit: "reps", step: 1 },
    ],
    [
      "the most of what the heading names",
      way({ format: "max-count", window: SPAN, unit: "metres" }, [carry]),
      { by: "amount", unit: "metres", step: 120 },
    ],
    [
      "the most of another unit by ones",
      way({ format: "max-count", window: SPAN, unit: "calories" }, [carry]),
      { by: "amount", unit: "calories", step: 1 },
    ],
    ["a load", way({ format: "max-load", window: SPAN, reps: 3 }, [press]), { by: "load" }],
    ["quality", way({ format: "quality", window: SPAN, rounds: 3 }, [press]), { by: "done" }],
    ["no piece", scoringOf(SESSION.blocks[0]), null],
  ])("%s", (_, found, expected) => expect(found).toEqual(expected));
});

describe("what a touch on the large area counts", () => {
  it.each<[Way, object | null]>([
    [{ by: "rounds" }, { kind: "round" }],
    [{ by: "made" }, { kind: "round" }],
    [{ by: "time", cap: SPAN, rounds: 3 }, { kind: "round" }],
    [{ by: "time", cap: SPAN, rounds: 1 }, { kind: "finish" }],
    [{ by: "amount", unit: "metres", step: 120 }, { kind: "round" }],
    [
      { by: "amount", unit: "reps", step: 1 },
      { kind: "amount", amount: 1 },
    ],
    [{ by: "done" }, { kind: "finish" }],
    [{ by: "load" }, null],
  ])("%j", (scoring, counts) => expect(touchOf(scoring).counts).toEqual(counts));
});
