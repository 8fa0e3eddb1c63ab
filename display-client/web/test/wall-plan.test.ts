import { describe, expect, it } from "vitest";
import { type Standing, showing } from "../src/shared/clock";
import type { Block, BlockKind, Clock, Segment, State } from "../src/shared/wire";
import { nextLine, planShown, scoredBlock, windowTitle } from "../src/wall/plan-words";
import { running, segment } from "./make";
import { block, movement, piece, TALK } from "./wall-make";

const REST: BlockKind = { kind: "rest", length: 180e6, after: "next" };
const unscored = (kind: "warm-up" | "set-up" | "drill"): BlockKind => ({ ...TALK, kind }) as BlockKind;
const quay: Block = block("Quay run: AMRAP 9 min", {
  kind: { kind: "piece", ...piece({ format: "amrap", window: 540e6, ladder: null }) },
  movements: [movement("goblet squat")],
  aim: { text: "steady", rounds: null },
});
const rope: Block = block("Coil the rope: quality for 10 min", {
  kind: { kind: "piece", ...piece({ format: "quality", window: 600e6, rounds: null }) },
  movements: [movement("plank")],
});

const BLOCKS: Block[] = [
  block("Talk: what we do tonight, 5 min"),
  block("Warm-up: casting off, 10 min", { kind: unscored("warm-up"), movements: [movement("easy row")] }),
  block("Set-up: gear, 3 min", { kind: unscored("set-up"), notes: ["Keep the lane free."] }),
  quay,
  block("Rest at the water, 5 min", { kind: REST }),
  rope,
  block("Rest 3 min", { kind: REST }),
];
const SEGMENTS: Segment[] = [
  segment("open", 300, "wait", { block: 0 }),
  segment("open", 600, "wait", { block: 1 }),
  segment("open", 180, "wait", { block: 2 }),
  segment("lead-in", 10, "next", { block: 3 }),
  segment("work", 540, "next", { block: 3 }),
  segment("rest", 300, "next", { block: 4 }),
  segment("work", 600, "wait", { block: 5 }),
  segment("rest", 180, "wait", { block: 6 }),
];

function state(clock: Clock): State {
  return {
    number: 1,
    class: "c",
    session: {
      title: "Harbour evening",
      date: null,
      slot: null,
      people: null,
      whole_class: "places",
      notes: ["Water stands by the door.", "Sharp pain: stop, tell the coach."],
      blocks: BLOCKS,
    },
    scoring: [],
    join: null,
    clock,
    segments: SEGMENTS,
    swaps: [],
    started: 0,
    closed: false,
    rows: [],
  };
}

/** The class as it stands at the start of a segment. */
function standing(index: number): [State, Standing] {
  const now = state(running(index, {}));
  const shown = showing(now.clock, now.segments, 0);
  if (shown.phase === "gathering" || shown.phase === "done") throw new Error("no segment stands");
  return [now, shown];
}

describe("what is told beside the clock", () => {
  const told = (index: number) => {
    const { text, title, movements } = planShown(...standing(index));
    return [text, title, movements.map(({ name }) => name).join()];
  };
  it("in a talk is what the sheet says for everyone", () => {
    expect(told(0)).toEqual(["Water stands by the door.\nSharp pain: stop, tell the coach.", "", ""]);
  });
  it("in a block with movements is those", () => {
    expect(told(1)).toEqual(["", "", "easy row"]);
  });
  it("in a block without movements is its text, and what comes", () => {
    expect(told(2)).toEqual(["Keep the lane free.", "Next: Quay run", "goblet squat"]);
  });
  it("in lead-in and work is the piece by name", () => {
    expect(told(3)).toEqual(["", "Quay run", "goblet squat"]);
    expect(told(4)).toEqual(["", "Quay run", "goblet squat"]);
    expect(planShown(...standing(4))).toMatchObject({
      how: "As many rounds as possible in 9:00",
      aim: "Aim: steady",
    });
  });
  it("in a rest between pieces is the one that comes", () => {
    expect(told(5)).toEqual(["", "Next: Coil the rope", "plank"]);
  });
});

it("shows the board of the piece, and in a rest that of the one before; quality has none", () => {
  expect(BLOCKS.map((_, index) => scoredBlock(state(running(0, {})), index))).toEqual([
    null,
    null,
    null,
    3,
    3,
    null,
    3,
  ]);
});

it.each([
  [0, "Next: Warm-up: casting off 10:00"],
  [2, "Next: Quay run"],
  [3, "Next: Work 9:00"],
  [4, "Next: Rest at the water 5:00"],
  [7, "Next: end of the class"],
])("after segment %d comes %j", (index, line) => {
  expect(nextLine(...standing(index))).toBe(line);
});

it("says which window of how many, but not in a rest or lead-in", () => {
  const window = { number: 2, of: 4 };
  expect(windowTitle(segment("work", 60, "next", { window }), quay)).toBe("Window 2 of 4");
  expect(windowTitle(segment("open", 60, "next", { window }), BLOCKS[1])).toBe("Round 2 of 4");
  expect(windowTitle(segment("rest", 60, "next", { window }), quay)).toBe("");
});
