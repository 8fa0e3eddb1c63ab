import { describe, expect, it } from "vitest";
import { askOf, stepRounds } from "../src/phone/extra";
import { median, opensItself, promised, reachedOf, resultOf, suggestion } from "../src/phone/result";
import { type Entry, entryOf, type Known } from "../src/phone/view";
import { SECOND } from "../src/shared/clock";
import type { Ask, FromDevice, OwnWindow } from "../src/shared/wire";
import { AT, known, own, ownWindow, runs } from "./phone-make";

const inRest = (window: OwnWindow): Known => known(runs(AT.rest), { own: own([window]) });

function entry(so: Known, segment = AT.first): Entry {
  const found = entryOf(so, segment);
  if (found === null) throw new Error("no scored work");
  return found;
}

const five = ownWindow(AT.first, 5, {
  last: 215 * SECOND,
  splits: [40, 41, 44].map((each) => each * SECOND),
});

describe("what is asked after the bell", () => {
  it("is how far the unfinished round came", () => {
    const so = inRest(five);
    expect(opensItself(entry(so))).toBe(true);
    expect(resultOf(so, entry(so))).toMatchObject({
      kind: "reached",
      gives: "rounds",
      rounds: 5,
      reps: [11, 8, 7],
    });
  });
  it("is the same at the cap, and the time where all was finished", () => {
    const scoring = { by: "time", cap: 240 * SECOND, rounds: 3, reps: 78 } as const;
    const capped = ownWindow(AT.first, 0, { scoring, tally: { kind: "at-cap", reps: 52 } });
    const so = inRest(capped);
    expect(resultOf(so, entry(so))).toMatchObject({ kind: "reached", gives: "at-cap", rounds: 2 });
    const done = inRest({ ...capped, tally: { kind: "finished", time: 222 * SECOND } });
    expect(opensItself(entry(done))).toBe(false);
    expect(resultOf(done, entry(done))).toMatchObject({ of: { asks: "time" }, text: "3:42" });
  });
  it("begins with what was entered at the cap before", () => {
    const scoring = { by: "time", cap: 240 * SECOND, rounds: 3, reps: 78 } as const;
    const so = inRest(
      ownWindow(AT.first, 0, { scoring, tally: { kind: "at-cap", reps: 66 }, entered: true }),
    );
    expect(reachedOf(so, entry(so))).toMatchObject({
      rounds: 2,
      reached: { movement: 1, reps: 3 },
      again: true,
    });
  });
  it("is the rest of the last unit, and nothing by itself where ones were counted", () => {
    const tally = { kind: "count", amount: 840 } as const;
    const trips = inRest(
      ownWindow(AT.first, 0, { scoring: { by: "amount", unit: "metres", step: 120 }, tally }),
    );
    expect(opensItself(entry(trips))).toBe(true);
    expect(resultOf(trips, entry(trips))).toMatchObject({ of: { asks: "rest", units: 7 }, text: "0" });
    const ones = inRest(
      ownWindow(AT.first, 0, { scoring: { by: "amount", unit: "calories", step: 1 }, tally }),
    );
    expect(opensItself(entry(ones))).toBe(false);
  });
});

describe("about here", () => {
  const so = inRest(five);
  const draft = reachedOf(so, entry(so));
  it("is by the time since the last round and the usual split", () => {
    expect(suggestion(five, 240 * SECOND, draft)).toEqual({ movement: 1, reps: 5 });
  });
  it("is nothing where rounds were missed, or no split is known", () => {
    expect(suggestion(five, 240 * SECOND, stepRounds(draft, 1))).toBeNull();
    expect(suggestion({ ...five, splits: [] }, 240 * SECOND, draft)).toBeNull();
    expect(suggestion(undefined, 240 * SECOND, draft)).toBeNull();
  });
  it("is never entered by itself", () => {
    expect(draft.reached).toEqual({ movement: 0, reps: 0 });
  });
});

it("knows what an entry that waits comes to, for whom it was made", () => {
  const so = inRest(five);
  const here = entry(so);
  const asked = (ask: Ask): FromDevice[] => [{ type: "ask", id: "1", ...ask }];
  const draft = { ...reachedOf(so, here), reached: { movement: 2, reps: 4 } };
  expect(promised([], so, here)).toBeNull();
  expect(promised(asked(askOf(draft)), so, here)).toEqual({ kind: "rounds", rounds: 5, extra: 23 });
  expect(promised(asked(askOf(stepRounds(draft, 1))), so, here)).toMatchObject({ rounds: 6, extra: 23 });
  expect(promised(asked({ ...askOf(draft), segment: AT.second } as Ask), so, here)).toBeNull();
  expect(promised(asked({ ...askOf(draft), athlete: "another" } as Ask), so, here)).toBeNull();
});

it.each([
  [[], null],
  [[60], 60],
  [[58, 62, 60], 60],
  [[58, 62], 60],
])("the median of %j is %s", (numbers, middle) => expect(median(numbers)).toBe(middle));
