import { describe, expect, it } from "vitest";
import { SECOND, showing } from "../src/shared/clock";
import type { Phase } from "../src/shared/wire";
import { type Known, type View, view } from "../src/tally/view";
import { ANSA, AT, BIRK, entry, known, line, runs, told } from "./tally-make";

function look(so: Known, seconds: number): View {
  const at = seconds * SECOND;
  return view(so, showing(so.state.clock, so.state.segments, at), at);
}

/** What a touch on Ansa does, in a word. */
function touch(phase: Phase, seconds: number, more: Partial<Known> = {}): string {
  const [card] = look(known(phase, more), seconds).cards;
  if (card === undefined) throw new Error("nobody is shown");
  const { touch, counted } = card;
  if (touch.touch === "nothing") return touch.why;
  return `${touch.touch === "count" ? touch.counts.kind : touch.touch} in ${counted?.segment}`;
}

const held = (segment: number): Phase => ({ phase: "held", segment, class_time: 60 * SECOND, added: 0 });

describe("what a touch does", () => {
  it.each<[string, Phase, number, Partial<Known>, string]>([
    ["before the class", { phase: "gathering" }, 0, {}, "The class has not begun."],
    ["in a lead-in", runs(AT.leadIn), 5, {}, "Work has not begun. It counts from the bell."],
    ["in work", runs(AT.leadIn), 20, {}, "round in 1"],
    ["held", held(AT.tide), 20, {}, "The coach holds the clock. All counts are safe."],
    ["held, as far as it heard before it was cut off", held(AT.tide), 20, { connected: false }, "round in 1"],
    ["in a rest", runs(AT.rest), 20, {}, "result in 1"],
    ["in the last seconds of a rest", runs(AT.rest), 85, {}, "Work has not begun. It counts from the bell."],
    ["a load", runs(AT.load), 20, {}, "attempt in 4"],
    ["trips", runs(AT.trips), 20, {}, "round in 6"],
    ["for time, in the first round", runs(AT.time), 20, {}, "round in 5"],
  ])("%s", (_, phase, seconds, more, expected) => {
    expect(touch(phase, seconds, more)).toBe(expected);
  });

  it("counts for two seconds after the bell for the work that it rang in", () => {
    const lastWork = { segment: AT.tide, until: 240 * SECOND, bell: 240 * SECOND };
    expect(touch(runs(AT.tide), 241, { lastWork })).toBe("round in 1");
    expect(touch(runs(AT.tide), 243, { lastWork })).toBe("result in 1");
    const now = look(known(runs(AT.tide), { lastWork }), 241);
    expect(now.until).toBe(242 * SECOND);
  });

  it("finishes with the last round for time, and then takes no more", () => {
    const scoring = { by: "time", cap: 240 * SECOND, rounds: 3, reps: 90 } as const;
    const lines = (tally: Parameters<typeof told>[1]) => [
      line(ANSA, [told(AT.time, { scoring, reps: [9, 9], ...tally })]),
    ];
    const last = lines({ tally: { kind: "at-cap", reps: 72 } });
    expect(touch(runs(AT.time), 20, { lines: last })).toBe("finish in 5");
    const finished = lines({ tally: { kind: "finished", time: 9 } });
    expect(touch(runs(AT.time), 20, { lines: finished })).toBe("Finished already.");
  });
});

it("shows who was counted for just now, for three seconds", () => {
  const taps = [entry("a", 20, { athlete: BIRK })];
  const just = (seconds: number) =>
    look(known(runs(AT.leadIn), { taps }), seconds).cards.map((card) => card.just);
  expect(just(21)).toEqual([false, true]);
  expect(just(24)).toEqual([false, false]);
  expect(look(known(runs(AT.leadIn), { taps }), 21).until).toBe(23 * SECOND);
});

it("keeps the count of the window that it shows", () => {
  const windows = [told(AT.tide, { tally: { kind: "rounds", rounds: 3, extra: 0 } })];
  const lines = [line(ANSA, windows), line(BIRK)];
  const counts = (phase: Phase) =>
    look(known(phase, { lines }), 20).cards.map(({ counted }) => counted?.count.rounds);
  expect(counts(runs(AT.tide))).toEqual([3, 0]);
  expect(counts(runs(AT.again))).toEqual([0, 0]);
});

it("says the segment on top", () => {
  expect(look(known(runs(AT.tide)), 20).head).toEqual({ kind: "work", word: "Work", window: "1 of 2" });
  expect(look(known(held(AT.tide)), 20).head.word).toBe("Held");
});
