import { describe, expect, test } from "vitest";
import { projectedEnd, savings, spare, spareWords } from "../src/coach/plan";
import { SECOND, type Showing } from "../src/shared/clock";
import { at, held, SEGMENTS, SESSION, waiting } from "./coach-make";

/** Everything as planned: talk 60, lead-in 10, 240 + 90 + 240, cool-down 300. */
const WHOLE = 60 + 10 + 240 + 90 + 240 + 300;

describe("the projected end", () => {
  test.each<[string, Showing, number, number]>([
    ["before the start", { phase: "gathering" }, 5, 5 + WHOLE],
    ["in an open segment inside its plan", at(0, 20), 20, WHOLE],
    ["in an open segment that runs over", at(0, 80), 80, 80 + WHOLE - 60],
    ["in work", at(2, 100), 100, 240 + 90 + 240 + 300],
    ["held: it moves on with the present", held(2, 100), 500, 500 + 140 + 90 + 240 + 300],
    ["when the bell has gone", waiting(5, 40), 40, 40],
    ["when the class is done", { phase: "done" }, 9, 9],
  ])("%s", (_, showing, now, end) => {
    expect(projectedEnd(showing, SEGMENTS, now * SECOND) / SECOND).toBe(end);
  });

  test("passes over what was dropped", () => {
    const segments = SEGMENTS.map((segment, index) => ({ ...segment, dropped: index === 3 || index === 4 }));
    expect(projectedEnd(at(2, 100, segments), segments, 100 * SECOND) / SECOND).toBe(240 + 300);
  });
});

describe("against the slot", () => {
  test("counts from the start, or from now while people gather", () => {
    expect(spare(1700 * SECOND, 0, 900 * SECOND, SESSION)).toBe(100 * SECOND);
    expect(spare(1700 * SECOND, null, 100 * SECOND, SESSION)).toBe(200 * SECOND);
    expect(spare(1700 * SECOND, 0, 0, { ...SESSION, slot: null })).toBeNull();
  });

  test.each([
    [180, "3 min to spare"],
    [-240, "4 min over"],
    [-20, "20 s over"],
    [45, "45 s to spare"],
    [0.2, "just fits"],
  ])("%d s reads %j", (seconds, words) => {
    expect(spareWords(seconds * SECOND)).toBe(words);
  });
});

describe("what could give", () => {
  const offered = (showing: Showing) =>
    savings(showing, SEGMENTS, SESSION).map(({ words, saves }) => [words, saves / SECOND]);

  test("before the start: the talk, half a minute of the rest, the last round with its rest", () => {
    expect(offered({ phase: "gathering" })).toEqual([
      ["Leave out Piece A 2 of 2", 330],
      ["Leave out Welcome", 60],
      ["Rest before Piece A 2 of 2: 1:30 to 1:00", 30],
    ]);
  });

  test("nothing that has begun: in the rest only the round after it, by itself", () => {
    expect(offered(at(3, 10))).toEqual([["Leave out Piece A 2 of 2", 240]]);
  });

  test("the only round of a block stays", () => {
    const segments = SEGMENTS.map((segment, index) => ({ ...segment, dropped: index === 2 }));
    expect(savings({ phase: "gathering" }, segments, SESSION).map(({ words }) => words)).toEqual([
      "Leave out Welcome",
      "Rest before Piece A 2 of 2: 1:30 to 1:00",
    ]);
  });

  test("a rest is never cut under a minute", () => {
    const short = SEGMENTS.map((segment, index) =>
      index === 3 ? { ...segment, length: 80 * SECOND, planned: 80 * SECOND } : segment,
    );
    expect(savings(at(2, 10), short, SESSION).map(({ trim }) => trim)).toEqual([{ trim: "drop" }]);
  });

  test("nothing once the class is done", () => {
    expect(savings({ phase: "done" }, SEGMENTS, SESSION)).toEqual([]);
  });
});
