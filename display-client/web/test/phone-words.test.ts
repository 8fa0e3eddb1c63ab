import { describe, expect, it } from "vitest";
import type { Count } from "../src/counting/count";
import type { Way } from "../src/counting/scoring";
import { brought } from "../src/phone/join";
import { characters, nameProblem, questionProblem } from "../src/phone/name";
import {
  aimWords,
  countedWords,
  mixedWords,
  onPaceWords,
  ordinal,
  paceWords,
  placeWords,
  resultWords,
  waitingWords,
} from "../src/phone/words";
import { SECOND } from "../src/shared/clock";
import type { Tally } from "../src/shared/wire";

describe("a name", () => {
  it.each([
    ["Ines", null],
    ["  Ines  ", null],
    ["", "Type the name"],
    ["   ", "Type the name"],
    ["x".repeat(40), null],
    ["x".repeat(41), "up to 40 characters: this one has 41"],
    ["👨‍👩‍👧‍👦".repeat(40), null],
    ["a\u0007b", "cannot be shown"],
    ["a\u202eb", "cannot be shown"],
    ["<b>Ines</b>", null],
  ])("%j", (name, expected) => {
    const problem = nameProblem(name);
    if (expected === null) expect(problem).toBeNull();
    else expect(problem).toContain(expected);
  });
  it("is counted as a person reads it", () => {
    expect(characters("e\u0301")).toBe(1);
    expect(characters("🇫🇮🇸🇪")).toBe(2);
  });
});

it("takes a question of 280 characters and no more", () => {
  expect(questionProblem("x".repeat(280))).toBeNull();
  expect(questionProblem("x".repeat(281))).toContain("this one has 281");
  expect(questionProblem(" ")).not.toBeNull();
});

it.each([
  [1, "1st"],
  [2, "2nd"],
  [3, "3rd"],
  [4, "4th"],
  [11, "11th"],
  [12, "12th"],
  [13, "13th"],
  [21, "21st"],
  [102, "102nd"],
  [111, "111th"],
])("place %d is %s", (place, word) => expect(ordinal(place)).toBe(word));

it("says a place with the group it is in, and nothing before there is one", () => {
  const standing = { place: 3, of: 9, scaled: false, pace: null, marked: false };
  expect(placeWords(standing)).toBe("3rd of 9 · as written");
  expect(placeWords({ ...standing, scaled: true })).toBe("3rd of 9 · scaled");
  expect(placeWords({ ...standing, place: null })).toBe("");
});

it("says what became of the taps", () => {
  const count = { waiting: 0, undoable: "a" };
  expect(waitingWords(count)).toBe("All kept");
  expect(waitingWords({ ...count, undoable: null })).toBe("");
  expect(waitingWords({ ...count, waiting: 1 })).toBe("1 tap waits on this phone");
  expect(waitingWords({ ...count, waiting: 3 })).toBe("3 taps wait on this phone");
});

it.each([
  ["#c=TIDE42", { by: "code", code: "TIDE42" }],
  ["#me=abc", { by: "link", token: "abc" }],
  ["", { by: "nothing" }],
  ["#c=", { by: "nothing" }],
  ["#else", { by: "nothing" }],
])("the fragment %j brings along %j", (fragment, expected) => expect(brought(fragment)).toEqual(expected));

describe("a tally", () => {
  const metres: Way = { by: "amount", unit: "metres", step: 120 };
  it.each<[Tally | null, Way, string]>([
    [{ kind: "rounds", rounds: 5, extra: 23 }, { by: "rounds" }, "5 + 23"],
    [{ kind: "rounds", rounds: 1, extra: 0 }, { by: "rounds" }, "1 round"],
    [{ kind: "finished", time: 522 * SECOND }, { by: "time", cap: 0, rounds: 3 }, "8:42 finished"],
    [{ kind: "at-cap", reps: 87 }, { by: "time", cap: 0, rounds: 3 }, "87 reps at the cap"],
    [{ kind: "load", grams: 82_500 }, { by: "load" }, "82.5 kg"],
    [{ kind: "load", grams: -15_000 }, { by: "load" }, "−15 kg"],
    [{ kind: "count", amount: 885 }, metres, "885 m"],
    [{ kind: "made", made: 7, of: 10 }, { by: "made" }, "7 made of 10"],
    [{ kind: "made", made: 1, of: 1 }, { by: "made" }, "Made"],
    [{ kind: "done" }, { by: "done" }, "Done"],
    [null, { by: "load" }, "– no result"],
    [{ kind: "rounds", rounds: 0, extra: 0 }, { by: "load" }, "– no result"],
  ])("%j by %j is %s", (tally, scoring, words) => {
    expect(resultWords(tally, scoring).join(" ").trim()).toBe(words);
  });
});

describe("a count so far", () => {
  const none: Count = {
    rounds: 0,
    extra: 0,
    amount: 0,
    finished: null,
    attempts: [],
    best: null,
    waiting: 0,
    lastSplit: null,
    undoable: null,
  };
  const time: Way = { by: "time", cap: 0, rounds: 3 };
  it.each<[Partial<Count>, Way, string]>([
    [{ rounds: 2 }, time, "2 of 3 rounds"],
    [{ finished: { time: null } }, time, "… finished"],
    [{ finished: { time: 83 * SECOND } }, time, "1:23 finished"],
    [{ amount: 34 }, { by: "amount", unit: "calories", step: 1 }, "34 cal"],
    [{}, { by: "load" }, "– no good attempt yet"],
    [{}, { by: "done" }, "– not yet done"],
    [{ rounds: 2 }, { by: "made" }, "Made"],
  ])("%j by %j", (count, scoring, words) => {
    expect(
      countedWords({ ...none, ...count }, scoring)
        .join(" ")
        .trim(),
    ).toBe(words);
  });
});

it("says the last split against the own median, and what it is on pace for", () => {
  const splits = [60, 61, 66].map((each) => each * SECOND);
  expect(paceWords(66 * SECOND, splits)).toBe("last 1:06, median 1:01");
  expect(paceWords(66 * SECOND, [])).toBe("last 1:06");
  expect(paceWords(null, splits)).toBe("");
  expect(onPaceWords({ kind: "rounds", rounds: 7, extra: 4 })).toBe("on pace for 7 + 4");
  expect(onPaceWords({ kind: "count", amount: 98 })).toBe("on pace for 98");
  expect(onPaceWords(null)).toBe("");
});

it("says the aim, and rounds that were done both ways as equals", () => {
  expect(aimWords({ text: "steady", rounds: [5, 7] })).toBe("aim 5 to 7 rounds");
  expect(aimWords({ text: "steady", rounds: null })).toBe("");
  expect(mixedWords(7, 4)).toBe("4 as written, 3 scaled");
  expect(mixedWords(7, null)).toBe("");
});
