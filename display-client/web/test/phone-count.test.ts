import { describe, expect, it } from "vitest";
import { type Count, count } from "../src/phone/count";
import { SECOND } from "../src/shared/clock";
import { AT, counted, entry, ownWindow } from "./phone-make";

const NOTHING = { taps: [], undone: new Map<string, boolean>(), keptSince: new Set<string>() };
type Case = Parameters<typeof count>[2];

function counts(own: Parameters<typeof count>[1], so: Partial<Case>, start: number | null = null): Count {
  return count(AT.first, own, { ...NOTHING, ...so }, start);
}

const two = ownWindow(AT.first, 2, { last_tap: "b" });
const told = [entry("a", 10, {}, counted("a")), entry("b", 50, {}, counted("b"))];

describe("rounds while messages come in, in whatever order", () => {
  it.each<[string, Parameters<typeof count>[1], Partial<Case>, number]>([
    ["nothing yet", undefined, {}, 0],
    ["a tap that waits", undefined, { taps: [entry("a", 10)] }, 1],
    ["told by the server alone", two, {}, 2],
    ["all told", two, { taps: told }, 2],
    ["one more waits", two, { taps: [...told, entry("c", 90)] }, 3],
    [
      "told before it is said to be kept",
      two,
      { taps: [entry("a", 10, {}, counted("a")), entry("b", 50)] },
      2,
    ],
    [
      "kept before it is told",
      two,
      { taps: [...told, entry("c", 90, {}, counted("c"))], keptSince: new Set(["c"]) },
      3,
    ],
    ["kept, and set since by the coach", ownWindow(AT.first, 4), { taps: told }, 4],
    ["of another window", two, { taps: [...told, entry("c", 300, { segment: AT.second })] }, 2],
    ["an undo on its way", two, { taps: told, undone: new Map([["b", false]]) }, 1],
    ["an undo that was answered before it is told", two, { taps: told, undone: new Map([["b", true]]) }, 1],
    [
      "an undo that was told",
      ownWindow(AT.first, 1, { last_tap: "a" }),
      { taps: told, undone: new Map([["b", true]]) },
      1,
    ],
    [
      "an undo that was told before it is answered",
      ownWindow(AT.first, 1, { last_tap: "a" }),
      { taps: told, undone: new Map([["b", false]]) },
      1,
    ],
    [
      "a later tap counts after an undo",
      ownWindow(AT.first, 2, { last_tap: "c" }),
      { taps: [...told, entry("c", 90, {}, counted("c"))], undone: new Map([["b", true]]) },
      2,
    ],
    [
      "a tap that waits and was taken back",
      two,
      { taps: [...told, entry("c", 90)], undone: new Map([["c", false]]) },
      2,
    ],
  ])("%s", (_, own, so, rounds) => {
    expect(counts(own, so).rounds).toBe(rounds);
  });

  it("leaves out a tap that the server kept and did not count", () => {
    const standing = { type: "kept", tap: "c", standing: "not-counted", why: "held", marked: false } as const;
    const not = entry("c", 90, {}, { at: 0, generation: "journal", standing });
    expect(counts(two, { taps: [...told, not], keptSince: new Set(["c"]) }).rounds).toBe(2);
  });
});

it("says how many taps wait", () => {
  expect(counts(two, { taps: [...told, entry("c", 90), entry("d", 130)] }).waiting).toBe(2);
});

describe("the tap that undo takes back", () => {
  it.each<[string, Parameters<typeof count>[1], Partial<Case>, string | null]>([
    ["none", undefined, {}, null],
    ["the newest that waits", two, { taps: [...told, entry("c", 90)] }, "c"],
    ["the last one told", two, { taps: told }, "b"],
    [
      "the one before, while an undo is on its way",
      two,
      { taps: told, undone: new Map([["b", false]]) },
      "a",
    ],
    ["none after the coach set the tally", ownWindow(AT.first, 4), { taps: told }, null],
  ])("%s", (_, own, so, tap) => {
    expect(counts(own, so).undoable).toBe(tap);
  });
});

describe("the last split", () => {
  const splits = { splits: [40 * SECOND, 41 * SECOND], last_tap: "b" };
  it.each<[string, Partial<Case>, number | null, number | null]>([
    ["is the server's where all is told", { taps: told }, null, 41],
    ["is the time between two taps", { taps: [...told, entry("c", 93)] }, null, 43],
    ["is not known over a call in between", { taps: [...told, entry("c", 93, { heard: 8 })] }, null, null],
    [
      "is none for a caught-up tap",
      { taps: [...told, entry("c", 93, { counts: { kind: "round-before" } })] },
      null,
      null,
    ],
    [
      "is none after a caught-up tap",
      { taps: [...told, entry("c", 60, { counts: { kind: "round-before" } }), entry("d", 93)] },
      null,
      null,
    ],
  ])("%s", (_, so, start, seconds) => {
    const { lastSplit } = counts(ownWindow(AT.first, 2, splits), so, start);
    expect(lastSplit).toBe(seconds === null ? null : seconds * SECOND);
  });
  it("of the first round is counted from the start of work", () => {
    expect(counts(undefined, { taps: [entry("a", 55)] }, 10 * SECOND).lastSplit).toBe(45 * SECOND);
    expect(counts(undefined, { taps: [entry("a", 55)] }).lastSplit).toBeNull();
  });
});
