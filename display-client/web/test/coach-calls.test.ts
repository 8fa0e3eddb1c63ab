import { describe, expect, test } from "vitest";
import { callsNow, keyOffer, type Offer } from "../src/coach/calls";
import type { Showing } from "../src/shared/clock";
import { at, held, SEGMENTS, SESSION, waiting } from "./coach-make";

const GATHERING: Showing = { phase: "gathering" };
const DONE: Showing = { phase: "done" };

const calls = (showing: Showing) => callsNow(showing, SEGMENTS, SESSION);
const words = (offer: Offer | null) => offer && `${offer.word}: ${offer.detail}`;

describe("the two calls at the thumb", () => {
  test.each<[string, Showing, string | null, string | null, "still" | "onward" | null]>([
    ["while people gather", GATHERING, null, "Start: Welcome", "onward"],
    ["in a talk that counts up", at(0, 20), "Hold: Welcome", "Next: Lead-in to Piece A", "onward"],
    ["in a lead-in", at(1, 4), "Hold: Lead-in to Piece A", "Next: Piece A 1 of 2", "still"],
    ["in work", at(2, 30), "Hold: Piece A 1 of 2", "Next: Rest", "still"],
    ["in a rest", at(3, 30), "Hold: Rest", "Next: Piece A 2 of 2, after a lead-in", "still"],
    ["in the lead-in that a rest holds", at(3, 85), "Hold: Rest", "Next: Piece A 2 of 2", "still"],
    ["in work whose bell waits for the coach", at(4, 30), "Hold: Piece A 2 of 2", "Next: Cool-down", "still"],
    [
      "in the last segment, which waits",
      at(5, 30),
      "Hold: Cool-down",
      "Next: the end of the class",
      "onward",
    ],
    ["held in work", held(2, 30), "Resume: Piece A 1 of 2, after a lead-in", "Next: Rest", "still"],
    ["held in a rest", held(3, 30), "Resume: Rest", "Next: Piece A 2 of 2, after a lead-in", "still"],
    ["when the bell has gone", waiting(5, 12), null, "Next: the end of the class", "onward"],
    ["when the class is done", DONE, null, null, null],
  ])("%s", (_, showing, still, onward, main) => {
    const now = calls(showing);
    expect([words(now.still), words(now.onward), now.main]).toEqual([still, onward, main]);
  });
});

describe("the others at hand", () => {
  const others = (showing: Showing) => calls(showing).others.map(words);

  test("in work: back to its start, time either way, restart, finish", () => {
    expect(others(at(2, 30))).toEqual([
      "Back: Piece A 1 of 2",
      "+ 30 s: add time",
      "+ 1 min: add time",
      "− 30 s: take time away",
      "− 1 min: take time away",
      "Restart: Piece A",
      "Finish: block, on to Cool-down",
    ]);
  });

  test("within the first 2 s, back goes to the segment before", () => {
    expect(words(calls(at(2, 1.9)).others[0] ?? null)).toBe("Back: Lead-in to Piece A");
    expect(words(calls(at(2, 2)).others[0] ?? null)).toBe("Back: Piece A 1 of 2");
  });

  test("in the first segment back stays there", () => {
    expect(words(calls(at(0, 0.5)).others[0] ?? null)).toBe("Back: Welcome");
  });

  test("no more time is offered to be taken away than remains", () => {
    expect(others(at(2, 200))).toContain("− 30 s: take time away");
    expect(others(at(2, 200))).not.toContain("− 1 min: take time away");
    expect(others(at(2, 215)).filter((text) => text?.startsWith("−"))).toEqual([]);
  });

  test("what counts up has no bell to move, nor has a clock whose bell has gone", () => {
    for (const showing of [at(0, 20), waiting(5, 3)]) {
      expect(calls(showing).others.map(({ call }) => call.call)).toEqual(["back", "restart", "finish"]);
    }
  });

  test("a jump leads anywhere but here, and to nothing that is dropped", () => {
    const segments = SEGMENTS.map((segment, index) =>
      index === 4 ? { ...segment, dropped: true } : segment,
    );
    expect(callsNow(at(2, 30), segments, SESSION).jumps).toEqual([0, 1, 3, 5]);
  });

  test("none before the start", () => {
    expect(calls(GATHERING).others).toEqual([]);
    expect(calls(GATHERING).jumps).toEqual([]);
  });

  test("after the end, back or a jump", () => {
    expect(others(DONE)).toEqual(["Back: Cool-down"]);
    expect(calls(DONE).jumps).toEqual([0, 1, 2, 3, 4, 5]);
  });

  test("while the stop notice stands, nothing but the resume that takes it away", () => {
    for (const showing of [GATHERING, held(2, 30), waiting(5, 3), DONE]) {
      const now = callsNow(showing, SEGMENTS, SESSION, true);
      expect(words(now.still)).toBe("Resume: takes the stop notice away");
      expect([now.onward, now.main, now.others, now.jumps]).toEqual([null, "still", [], []]);
    }
  });
});

describe("what a clicker calls", () => {
  test.each<[string, Showing, string | undefined, string | undefined]>([
    ["while people gather", GATHERING, "start", undefined],
    ["in work", at(2, 30), "next", "hold"],
    ["held", held(2, 30), "resume", undefined],
    ["when the bell has gone", waiting(5, 3), "next", undefined],
    ["when the class is done", DONE, undefined, undefined],
  ])("%s", (_, showing, onward, hold) => {
    const now = calls(showing);
    expect(keyOffer("onward", now, false)?.call.call).toBe(onward);
    expect(keyOffer("hold", now, false)?.call.call).toBe(hold);
  });

  test("a stop is never ended by a key", () => {
    expect(keyOffer("onward", calls(held(2, 30)), true)).toBeNull();
    expect(keyOffer("hold", calls(held(2, 30)), true)).toBeNull();
  });
});
