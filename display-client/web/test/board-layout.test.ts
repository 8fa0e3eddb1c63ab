import { describe, expect, it } from "vitest";
import type { Group } from "../src/wall/board";
import {
  type Grid,
  gridOf,
  isFew,
  type Needs,
  needsOf,
  type Page,
  pagesOf,
  type Room,
} from "../src/wall/board-layout";
import { pageWords } from "../src/wall/board-words";
import { group } from "./wall-board-make";

const WORK: Room = { width: 169.7, height: 47.2 };
const REST: Room = { width: 126, height: 70.6 };
const ROUNDS: Needs = { place: 1, name: 4, nameLeast: 3.6, tally: 1.3 };
const EXTRAS: Needs = { place: 2, name: 4, nameLeast: 3.6, tally: 3.9 };

const crowd = (written: number, scaled: number): Group[] =>
  [group("As written", written), group("Scaled", scaled)].filter(({ of }) => of > 0);
const keys = (page: Page | undefined) => (page ?? []).flatMap(({ lines }) => lines.map(({ key }) => key));

describe("the grid", () => {
  it("has four rows in two columns beside the clock, and six in one at rest", () => {
    expect(gridOf(WORK, ROUNDS)).toMatchObject({ columns: 2, rows: 4 });
    expect(gridOf(WORK, EXTRAS)).toMatchObject({ columns: 1, rows: 4 });
    expect(gridOf(REST, EXTRAS)).toMatchObject({ columns: 1, rows: 6 });
  });
  it("stays within the room", () => {
    for (const [room, needs] of [
      [WORK, ROUNDS],
      [WORK, EXTRAS],
      [REST, EXTRAS],
    ] as const) {
      const { columns, rows, width, pitch } = gridOf(room, needs);
      expect(rows * pitch).toBeLessThanOrEqual(room.height + 1e-9);
      expect(columns * width + (columns - 1) * 3).toBeLessThanOrEqual(room.width + 1e-9);
    }
  });
  it("leaves names of teams whole", () => {
    const [teams] = crowd(2, 0);
    if (teams === undefined) throw new Error("nobody is there");
    for (const line of teams.lines) line.team = true;
    const widths = () => 7;
    expect(gridOf(WORK, needsOf([teams], 1.3, widths)).columns).toBe(1);
    expect(gridOf(WORK, needsOf(crowd(2, 0), 1.3, widths)).columns).toBe(2);
  });
});

describe("pages", () => {
  const wide: Grid = gridOf(WORK, ROUNDS);
  const narrow: Grid = gridOf(REST, EXTRAS);

  it.each([
    [60, 0],
    [40, 20],
    [30, 30],
    [59, 1],
    [0, 7],
    [5, 0],
  ])("show each of %d as written and %d scaled, once, in one column and in two", (written, scaled) => {
    for (const grid of [wide, narrow]) {
      const pages = pagesOf(crowd(written, scaled), grid, 0, null);
      for (const page of pages) {
        expect(new Set(keys(page)).size).toBe(keys(page).length);
        for (const { lines, columns } of page) expect(lines.length).toBeLessThanOrEqual(columns * grid.rows);
      }
      expect(new Set(pages.flatMap(keys)).size).toBe(written + scaled);
    }
  });

  it("are of like size", () => {
    const pages = pagesOf(crowd(14, 0), narrow, 0, null);
    expect(pages.map((page) => keys(page).length)).toEqual([5, 5, 4]);
  });

  it("put the options side by side where there are columns for both", () => {
    const [page] = pagesOf(crowd(4, 3), wide, 0, null);
    expect(page?.map(({ group, column, columns }) => [group.title, column, columns])).toEqual([
      ["As written", 0, 1],
      ["Scaled", 1, 1],
    ]);
  });

  it("else give the options their pages by turns, and the first turn to each in its round", () => {
    const titles = (round: number) =>
      pagesOf(crowd(12, 4), narrow, round, null).map((page) => page.map(({ group }) => group.title).join());
    expect(titles(0)).toEqual(["As written", "Scaled", "As written"]);
    expect(titles(1)).toEqual(["Scaled", "As written", "As written"]);
    expect(titles(2)).toEqual(titles(0));
  });

  it("show whom they are told to while people work, and everybody where there is room", () => {
    const choose = ({ lines }: Group, slots: number) => lines.slice(-slots);
    expect(keys(pagesOf(crowd(20, 0), wide, 0, choose)[0])).toHaveLength(8);
    expect(pagesOf(crowd(20, 0), wide, 0, choose)).toHaveLength(1);
    expect(keys(pagesOf(crowd(8, 0), wide, 0, choose)[0])[0]).toBe("As written 1");
  });

  it("are named", () => {
    expect(pageWords(6, 6, 60)).toBe("7 to 12 of 60");
    expect(pageWords(59, 1, 60)).toBe("60 of 60");
    expect(pageWords(0, 5, 5)).toBe("");
  });
});

it("calls those few who all stand under the digits by their whole names", () => {
  const room: Room = { width: 72, height: 47.2 };
  const needs = { ...ROUNDS, name: 3.2 };
  expect([crowd(1, 0), crowd(4, 0), crowd(0, 3)].every((shown) => isFew(shown, room, needs))).toBe(true);
  expect([crowd(5, 0), crowd(2, 1), crowd(0, 0)].some((shown) => isFew(shown, room, needs))).toBe(false);
  expect(isFew(crowd(4, 0), room, { ...needs, name: 5 })).toBe(false);
});
