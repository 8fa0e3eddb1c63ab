import { beforeEach, expect, it } from "vitest";
import type { Group } from "../src/wall/board";
import { Latest, STANDS_US } from "../src/wall/board-latest";
import { group } from "./wall-board-make";

let class_: Group;
let latest: Latest;
beforeEach(() => {
  class_ = group("As written", 20);
  latest = new Latest();
});

/** Who is shown in so many slots, by their number in the group. */
const shown = (slots: number, now: number) =>
  latest.choose(class_, slots, now).map(({ key }) => Number(key.split(" ")[2]));

function scores(number: number, at: number): void {
  const line = class_.lines[number - 1];
  if (line === undefined) throw new Error("nobody has this number");
  line.scoredAt = at;
}

it("shows the leaders, and others in order before anybody has scored", () => {
  expect(shown(8, 1)).toEqual([1, 2, 3, 4, 5, 6, 7, 8]);
});

it("takes in who scores, each in a slot of their own", () => {
  shown(4, 1);
  scores(15, 10);
  expect(shown(4, 10)).toEqual([1, 2, 15, 4]);
  scores(17, 20);
  expect(shown(4, 20)).toEqual([1, 2, 15, 17]);
});

it("lets everybody stand for some seconds, and then the latest take their turn", () => {
  shown(4, 1);
  scores(15, 10);
  scores(17, 11);
  shown(4, 11);
  scores(12, 12);
  scores(13, 13);
  scores(14, 14);
  expect(shown(4, 14)).toEqual(shown(4, 11));
  expect(latest.due).toBe(11 + STANDS_US);
  expect(new Set(shown(4, latest.due))).toEqual(new Set([1, 2, 13, 14]));
});

it("keeps who scores again where they stand", () => {
  shown(4, 1);
  scores(15, 10);
  scores(17, 11);
  const before = shown(4, 11);
  scores(15, 11 + STANDS_US);
  expect(shown(4, 11 + STANDS_US)).toEqual(before);
});

it("shows nobody twice who comes to lead", () => {
  scores(15, 10);
  expect(shown(4, 10)).toContain(15);
  const [moved] = class_.lines.splice(14, 1);
  if (moved !== undefined) class_.lines.unshift(moved);
  expect(shown(4, 11)).toEqual([15, 1, 2, 3]); // slots: 2 came for 15, 3 stayed
});

it("waits for nobody once all who scored are shown", () => {
  scores(15, 10);
  shown(4, 10);
  expect(latest.due).toBe(Number.POSITIVE_INFINITY);
});

it("gives all slots to who has just scored where no places are shown", () => {
  class_.placed = 0;
  scores(19, 10);
  expect(shown(4, 10)[0]).toBe(19);
});
