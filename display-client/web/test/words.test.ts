import { describe, expect, it } from "vitest";
import type { Block, BlockKind, Format } from "../src/shared/wire";
import { formatWords, pieceWords, segmentWords, titleOf } from "../src/shared/words";
import { segment } from "./make";
import { block, piece } from "./wall-make";

describe("a block's title", () => {
  const TALK: BlockKind["kind"] = "talk";
  it.each<[string, BlockKind["kind"], string]>([
    ["Talk: what we do tonight, 5 min", TALK, "Talk: what we do tonight"],
    ["Talk: two short tides, 10 s", TALK, "Talk: two short tides"],
    ["Drill: the goblet squat, 10 min, coach-led, 2 rounds", "drill", "Drill: the goblet squat"],
    ["Cool-down: 5 min", "cool-down", "Cool-down"],
    ["Rest 3 min", "rest", "Rest"],
    ["Rest 1:30", "rest", "Rest"],
    ["Rest and clear the bars, 5 min, then wait", "rest", "Rest and clear the bars"],
    ["Quay run: as many rounds as possible in 9 min", "piece", "Quay run"],
    ["Mooring line: 8 × (20 s work, 10 s rest)", "piece", "Mooring line"],
    ["8 × (20 s work, 10 s rest)", "piece", "8 × (20 s work, 10 s rest)"],
    ["AMRAP 7 min, ladder 4-8-12-…", "piece", "AMRAP"],
  ])("of %j, a %s", (name, kind, title) => {
    expect(titleOf({ ...block(name), kind: { kind } as BlockKind } as Block)).toBe(title);
  });

  it("stands for an open segment, and the kind for any other", () => {
    const talk = block("Talk: how to build, 4 min");
    expect(segmentWords(segment("open", 240, "wait"), talk)).toBe("Talk: how to build");
    expect(segmentWords(segment("work", 240, "wait"), talk)).toBe("Work");
  });
});

it.each<[Format, string]>([
  [
    { format: "amrap", window: 420e6, ladder: { start: 4, step: 4 } },
    "As many rounds as possible in 7:00, reps 4-8-12-…",
  ],
  [{ format: "amrap", window: 540e6, ladder: null }, "As many rounds as possible in 9:00"],
  [{ format: "for-time", rounds: 3, scheme: [20, 16, 12], cap: 600e6 }, "20-16-12 for time, cap 10:00"],
  [{ format: "for-time", rounds: 3, scheme: [], cap: 600e6 }, "3 rounds for time, cap 10:00"],
])("%j is told as %j", (format, words) => {
  expect(formatWords(format)).toBe(words);
});

it("tells of a piece how often it comes and who does it together", () => {
  const format: Format = { format: "amrap", window: 240e6, ladder: null };
  expect(pieceWords(piece(format))).toBe("As many rounds as possible in 4:00");
  expect(
    pieceWords({ ...piece(format), repeats: 4, repeat_rest: 90e6, sharing: { sharing: "team", size: 2 } }),
  ).toBe("As many rounds as possible in 4:00 · 4 times, 1:30 rest between · in teams of 2");
});
