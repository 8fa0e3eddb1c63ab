import { describe, expect, it } from "vitest";
import type { Group } from "../src/wall/board";
import { isFew, type Layout, lay, type Room, rowWidth, tallyWidth } from "../src/wall/board-layout";

/** Groups of so many people; the later somebody stands, the later they scored. */
function crowd(written: number, scaled: number): Group[] {
  const lines = (title: string, count: number) =>
    Array.from({ length: count }, (_, index) => ({
      athlete: `${title}${index}`,
      name: "",
      atHome: false,
      place: index + 1,
      main: "",
      rest: "",
      scoredAt: index,
    }));
  const all: Group[] = [
    { title: "As written", lines: lines("w", written) },
    { title: "Scaled", lines: lines("s", scaled) },
  ];
  return all.filter((group) => group.lines.length > 0);
}

/** Nobody stands on another, beyond the columns, or below the room. */
function checkSlots({ slots, columns, pitch }: Layout, room: Room): void {
  const places = [...slots.values()].map(({ column, row }) => `${column}/${row}`);
  expect(new Set(places).size).toBe(places.length);
  for (const { column, row } of slots.values()) {
    expect(column).toBeLessThan(columns);
    expect((row + 1) * pitch).toBeLessThanOrEqual(room.height + 1e-9);
  }
}

/** B612's capitals, in em. */
const CAPITAL = 0.75;
const WORK: Room = { width: 169.7, height: 49.2 };
const DONE: Room = { width: 169.7, height: 78.4 };

describe("the lay-out", () => {
  const still = { turn: 0, working: false, room: WORK, needs: 10 };

  it.each([
    [1, 0],
    [0, 1],
    [5, 5],
    [10, 6],
    [14, 7],
    [18, 18],
    [36, 0],
    [40, 12],
  ])("shows all of %d as written and %d scaled at once", (written, scaled) => {
    const layout = lay(crowd(written, scaled), still);
    expect(layout.slots.size).toBe(written + scaled);
    expect(layout.pages).toBe(1);
    checkSlots(layout, WORK);
  });

  it.each([
    [4, 0, 4.2],
    [8, 8, 4.2],
    [16, 0, 4.2],
    [9, 4, 3.8],
    [12, 4, 3.8],
  ])("reads %d and %d from afar: capitals of %d %% of the picture", (written, scaled, least) => {
    expect(lay(crowd(written, scaled), still).type * CAPITAL).toBeGreaterThanOrEqual(least);
  });

  it("is never smaller with fewer people, and never smaller than what is read from 15 m", () => {
    const types = Array.from({ length: 60 }, (_, index) => lay(crowd(index + 1, 0), still).type);
    for (const [index, type] of types.entries()) {
      expect(type).toBeLessThanOrEqual(types[index - 1] ?? type);
      expect(type).toBeGreaterThanOrEqual(3.1);
    }
    expect(new Set(types).size).toBeGreaterThan(3);
  });

  it("keeps its sizes whatever the tallies are", () => {
    const before = lay(crowd(12, 3), { ...still, working: true });
    const after = crowd(12, 3).map((group) => ({
      ...group,
      lines: group.lines.map((line) => ({ ...line, main: "14", scoredAt: 99 })),
    }));
    expect(lay(after, { ...still, working: true })).toEqual(before);
  });

  it("leaves a row what its name and tally need in width", () => {
    for (const needs of [8, 11, 14]) {
      const { type, columns } = lay(crowd(20, 8), { ...still, needs });
      expect(type * needs).toBeLessThanOrEqual((WORK.width - (columns - 1) * 3) / columns + 1e-9);
    }
  });

  it("gives every column to the one group that there is", () => {
    expect(lay(crowd(20, 0), still)).toMatchObject({ columns: 3, headings: [{ columns: 3, column: 0 }] });
  });

  it.each([
    [40, 20],
    [59, 1],
    [60, 0],
    [30, 30],
  ])("shows everybody of %d and %d within its pages", (written, scaled) => {
    const shown = crowd(written, scaled);
    const { pages } = lay(shown, still);
    const seen = new Set<string>();
    for (let turn = 0; turn < pages; turn += 1) {
      const layout = lay(shown, { ...still, turn });
      checkSlots(layout, WORK);
      for (const athlete of layout.slots.keys()) seen.add(athlete);
    }
    expect(pages).toBeGreaterThan(1);
    expect(seen.size).toBe(written + scaled);
  });

  it("shows the first and whoever scored last while people work", () => {
    const layout = lay(crowd(70, 0), { ...still, working: true });
    const shown = [...layout.slots.keys()];
    expect(shown.slice(0, 8)).toEqual(["w0", "w1", "w2", "w3", "w4", "w5", "w6", "w7"]);
    expect(shown.slice(8)).toEqual(Array.from({ length: 48 }, (_, index) => `w${22 + index}`));
    expect(layout.pages).toBe(1);
    expect(layout.headings).toMatchObject([{ shown: 56, of: 70 }]);
    checkSlots(layout, WORK);
  });

  it("shows sixty at once when the class is done", () => {
    const layout = lay(crowd(40, 20), { ...still, room: DONE });
    expect([layout.slots.size, layout.pages]).toEqual([60, 1]);
    checkSlots(layout, DONE);
  });
});

describe("what a row needs in width", () => {
  const amrap = { block: 0, format: { format: "amrap", window: 1, ladder: null } } as const;

  it("is that of the widest name and of the house of who is at home", () => {
    const shown = crowd(2, 1);
    const [first, second] = shown[0]?.lines ?? [];
    if (first === undefined || second === undefined) throw new Error("nobody is there");
    first.name = "Ada";
    second.name = "Bo";
    const widths = (name: string) => name.length;
    expect(rowWidth(shown, 0, widths)).toBe(rowWidth(crowd(1, 0), 0, widths) + 3);
    first.atHome = true;
    expect(rowWidth(shown, 0, widths)).toBeGreaterThan(rowWidth(crowd(1, 0), 0, widths) + 3);
    second.name = "x".repeat(40);
    expect(rowWidth(shown, 0, widths)).toBe(rowWidth(crowd(1, 0), 0, widths) + 8);
  });

  it("leaves room for extra reps only where there may be some, and for each place of the whole class", () => {
    expect(tallyWidth(amrap, 1, false)).toBeLessThan(tallyWidth(amrap, 1, true));
    expect(tallyWidth("whole-class", 2, true)).toBeLessThan(tallyWidth("whole-class", 3, true));
  });
});

it("calls six in one group few", () => {
  const people = (written: number, scaled: number) => [
    ...Array.from({ length: written }, () => ({ scaled: false })),
    ...Array.from({ length: scaled }, () => ({ scaled: true })),
  ];
  expect([people(0, 0), people(6, 0), people(0, 3)].every(isFew)).toBe(true);
  expect([people(7, 0), people(2, 1)].some(isFew)).toBe(false);
});
