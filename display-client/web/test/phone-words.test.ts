import { describe, expect, it } from "vitest";
import { brought } from "../src/phone/join";
import { characters, nameProblem, questionProblem } from "../src/phone/name";
import { ordinal, placeWords, waitingWords } from "../src/phone/words";

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
  const count = { rounds: 5, extra: 0, waiting: 0, lastSplit: null, undoable: null };
  expect(waitingWords(count)).toBe("All kept");
  expect(waitingWords({ ...count, rounds: 0 })).toBe("");
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
