import { describe, expect, it } from "vitest";
import type { Standing } from "../src/shared/clock";
import type { Row, State } from "../src/shared/wire";
import { turnsAtRest, turnsDone, turnsInWork } from "../src/wall/board-turns";
import { segment } from "./make";
import { AMRAP, counted, rounds, row } from "./wall-board-make";
import { block, piece } from "./wall-make";

const scored = (blocks: number[], more: Partial<Row["scores"][number]> = {}): Row => {
  const [score] = row("Ada", { place: 1, tally: rounds(4) }).scores;
  if (score === undefined) throw new Error("no score");
  return { ...row("Ada"), scores: blocks.map((block) => ({ ...score, ...more, block })) };
};

/** A piece of two windows (segments 0 and 2), and another of one (segment 3). */
function state(rows: Row[]): State {
  const window = (number: number) => ({ window: { number, of: 2 } });
  const { session } = counted(rows, AMRAP, { repeats: 2 });
  const second = block("Second tide", { kind: { kind: "piece", ...piece(AMRAP) } });
  return {
    session: { ...session, blocks: [...session.blocks, second] },
    scoring: [{ by: "rounds" }, { by: "rounds" }],
    segments: [
      segment("work", 60, "next", window(1)),
      segment("rest", 60, "next", window(1)),
      segment("work", 60, "next", window(2)),
      segment("work", 60, "next", { block: 1 }),
    ],
    rows,
  } as State;
}

const titles = (turns: { title: string }[]) => turns.map(({ title }) => title);
const standing = (state: State, index: number) => ({ index, segment: state.segments[index] }) as Standing;

describe("in work", () => {
  it("has the piece's board alone where no pace is known", () => {
    const made = state([scored([0])]);
    expect(titles(turnsInWork(made, 0, standing(made, 0)))).toEqual([""]);
  });
  it("gives the pace its turn, with the window that it is of", () => {
    const made = state([scored([0], { pace: rounds(7) })]);
    expect(titles(turnsInWork(made, 0, standing(made, 2)))).toEqual(["", "On pace for, window 2 of 2"]);
  });
  it("leaves room for extra reps once some may have been entered", () => {
    const made = state([scored([0])]);
    const [first, ...later] = [0, 1, 2].map((index) => turnsInWork(made, 0, standing(made, index))[0]);
    expect(first?.rest).toBe(0);
    for (const turn of later) expect(turn?.tally).toBeGreaterThan(first?.tally ?? 0);
  });
});

describe("at rest", () => {
  const windows = [0, 2].map((segment) => ({ segment, tally: rounds(2), place: 1 }));
  it("has all windows together, and the last by itself", () => {
    const made = state([scored([0], { windows })]);
    expect(titles(turnsAtRest(made, 0, 1, true))).toEqual(["First tide", "First tide, window 1 of 2"]);
    expect(titles(turnsAtRest(made, 0, 2, true))).toEqual(["First tide", "First tide, window 2 of 2"]);
  });
  it("has the whole class once two pieces were scored", () => {
    const made = state([scored([0, 1])]);
    expect(titles(turnsAtRest(made, 1, 3, true))).toEqual(["Second tide", "Whole class"]);
  });
  it("has no whole class by places in a house that shows none, but one by reps", () => {
    const made = state([scored([0, 1])]);
    expect(titles(turnsAtRest(made, 1, 3, false))).toEqual(["Second tide"]);
    made.session.whole_class = "reps";
    expect(titles(turnsAtRest(made, 1, 3, false))).toEqual(["Second tide", "Whole class"]);
  });
});

it("has the whole class and then each piece when the class is done", () => {
  expect(titles(turnsDone(state([scored([0, 1])]), true))).toEqual([
    "Whole class",
    "First tide",
    "Second tide",
  ]);
  expect(titles(turnsDone(state([scored([0])]), true))).toEqual(["First tide", "Second tide"]);
});
