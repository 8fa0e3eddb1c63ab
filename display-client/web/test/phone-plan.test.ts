import { describe, expect, it } from "vitest";
import { AS_WRITTEN, asIDo, choose, chooseFor, reasonsIn, repsOfRound, serves } from "../src/counting/plan";
import { movementLine, optionWords } from "../src/phone/words";
import type { Block } from "../src/shared/wire";
import { movement, QUAY, SESSION } from "./phone-make";

const BLOCK = 2;
const block = SESSION.blocks[BLOCK] as Block;
const mine = (choice = AS_WRITTEN, swaps: Parameters<typeof asIDo>[0]["swaps"] = []) =>
  asIDo({ session: SESSION, swaps }, BLOCK, choice);

it("does the piece as written where nothing was chosen", () => {
  expect(mine().map(({ movement }) => movementLine(movement))).toEqual([
    "11 goblet squat · 16 kg",
    "8 alternating step-up · 50 cm",
    "7 kettlebell swing · 16/12 kg",
  ]);
});

it("does the athlete's own option before the one that the coach swapped for all", () => {
  const swaps = [
    { block: BLOCK, movement: 1, option: 0 },
    { block: BLOCK, movement: 2, option: 0 },
  ];
  const doing = mine(choose(AS_WRITTEN, BLOCK, 1, 1), swaps);
  expect(doing.map(({ movement, by }) => [movement.name, by])).toEqual([
    ["goblet squat", null],
    ["step-up on a stair", "me"],
    ["kettlebell deadlift", "coach"],
  ]);
});

it("keeps what stays of a movement with another load, and drops load and height with another movement", () => {
  const [squat, stepUp, deadlift] = mine(
    choose(choose(choose(AS_WRITTEN, BLOCK, 0, 1), BLOCK, 1, 0), BLOCK, 2, 0),
  );
  expect(deadlift && movementLine(deadlift.movement)).toBe("7 kettlebell deadlift");
  expect(squat && movementLine(squat.movement)).toBe("11 goblet squat · 8 kg");
  expect(stepUp && movementLine(stepUp.movement)).toBe("8 alternating step-up 30 cm");
});

it("is scaled with an option, and as written again without any", () => {
  const scaled = choose(AS_WRITTEN, BLOCK, 1, 0);
  expect(scaled.scaled).toBe(true);
  expect(choose(scaled, BLOCK, 1, null)).toEqual(AS_WRITTEN);
});

it("has one option for a movement: the last that was chosen", () => {
  expect(choose(choose(AS_WRITTEN, BLOCK, 1, 0), BLOCK, 1, 1).options).toEqual([
    { block: BLOCK, movement: 1, option: 1 },
  ]);
});

it("offers the reasons that the sheet's options serve", () => {
  expect(reasonsIn(SESSION.blocks)).toEqual(["mechanics", "lighter", "low-impact", "at-home"]);
});

it("takes the options of one reason with one touch, and gives them back with another", () => {
  const low = chooseFor(AS_WRITTEN, SESSION.blocks, "low-impact");
  expect(low.options.map(({ movement, option }) => [movement, option])).toEqual([
    [1, 0],
    [2, 0],
  ]);
  expect(serves(low, SESSION.blocks, "low-impact")).toBe(true);
  expect(serves(low, SESSION.blocks, "mechanics")).toBe(false);
  expect(chooseFor(low, SESSION.blocks, "low-impact")).toEqual(AS_WRITTEN);
});

it("says an option with what counts as one", () => {
  const swing = QUAY[2] ?? movement("none");
  const [deadlift] = swing.options;
  expect(deadlift && optionWords(swing, deadlift)).toBe("7 kettlebell deadlift · stand tall at the top");
});

describe("reps of a round", () => {
  const doing = (...movements: ReturnType<typeof movement>[]) =>
    movements.map((movement, index) => ({ index, movement, option: null, by: null }));
  it("count as the athlete does them", () => {
    expect(repsOfRound(block, mine(), 0)).toEqual([11, 8, 7]);
  });
  it.each([
    [
      "per-side reps on both sides",
      movement("a", { amount: { count: 6, unit: "reps" }, sides: "per-side" }),
      12,
    ],
    [
      "alternating reps in all",
      movement("a", { amount: { count: 12, unit: "reps" }, sides: "alternating" }),
      12,
    ],
    ["a distance as one", movement("a", { amount: { count: 120, unit: "metres" } }), 1],
    ["calories one by one", movement("a", { amount: { count: 9, unit: "calories" } }), 9],
    ["an open amount as one", movement("a"), 1],
  ])("count %s", (_, each, reps) => expect(repsOfRound(block, doing(each), 3)).toEqual([reps]));
  it("grow on a ladder: 4, 8, 12", () => {
    const window = { format: "amrap", window: 1, ladder: { start: 4, step: 4 } } as const;
    const ladder = { ...block, kind: { ...block.kind, format: window } } as Block;
    expect(
      [0, 1, 2].map((rounds) => repsOfRound(ladder, doing(movement("a"), movement("b")), rounds)),
    ).toEqual([
      [4, 4],
      [8, 8],
      [12, 12],
    ]);
  });
});
