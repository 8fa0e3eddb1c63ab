import { expect, it } from "vitest";
import { SECOND } from "../src/shared/clock";
import { cues } from "../src/shared/cues";
import type { Clock, Segment } from "../src/shared/wire";
import { running, segment } from "./make";

function told(clock: Clock, segments: Segment[], from = 0, to = 10_000): string[] {
  return cues(clock, segments, from * SECOND, to * SECOND).map(({ kind, at }) => `${at / SECOND} ${kind}`);
}

it("counts in before work and before its bell, and announces what is to go", () => {
  const segments = [segment("lead-in", 10, "next"), segment("work", 240, "wait")];
  expect(told(running(0, {}), segments)).toEqual([
    "7 three",
    "8 two",
    "9 one",
    "10 go",
    "130 half-way",
    "190 one-minute",
    "240 ten-seconds",
    "247 three",
    "248 two",
    "249 one",
    "250 bell",
  ]);
});

it("says nothing of half-way and the like where the sheet says not", () => {
  const quiet = [segment("work", 240, "wait", { announce: false })];
  expect(told(running(0, {}), quiet)).toEqual(["237 three", "238 two", "239 one", "240 bell"]);
});

it("leaves out the one minute beside half-way, and all of it in what is short", () => {
  expect(told(running(0, {}), [segment("work", 120, "wait")])).not.toContain("60 one-minute");
  expect(told(running(0, {}), [segment("work", 20, "wait")])).toEqual([
    "17 three",
    "18 two",
    "19 one",
    "20 bell",
  ]);
});

it("only rings at the end of a timed movement that the coach leads", () => {
  expect(told(running(0, {}), [segment("open", 20, "next"), segment("open", null, "wait")])).toEqual([
    "20 bell",
  ]);
});

it("counts in again where work goes on after a hold, with the bell moved", () => {
  const segments = [segment("work", 240, "wait")];
  expect(told(running(0, { anchor: 100, atAnchor: 170 }), segments, 90, 125)).toEqual([
    "97 three",
    "98 two",
    "99 one",
    "100 go",
    "110 one-minute",
  ]);
});

it("has none while held", () => {
  const held: Clock = {
    revision: 2,
    phase: { phase: "held", segment: 0, class_time: 0, added: 0 },
    stopped: true,
  };
  expect(told(held, [segment("work", 240, "wait")])).toEqual([]);
});
