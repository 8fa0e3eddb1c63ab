import { describe, expect, it } from "vitest";
import { scoringAt, touchOf, type Way } from "../src/counting/scoring";
import { SECOND } from "../src/shared/clock";
import { state } from "./phone-make";

const SPAN = 240 * SECOND;

it("is what the house says of the block, where there is scored work", () => {
  const { gathering, segments } = { gathering: state({ phase: "gathering" }), segments: [0, 4, 5, 8] };
  expect(segments.map((segment) => scoringAt(gathering, segment)?.by ?? null)).toEqual([
    null,
    "rounds",
    null,
    "amount",
  ]);
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
