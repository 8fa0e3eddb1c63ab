import { describe, expect, it } from "vitest";
import type { Row, Tally } from "../src/shared/wire";
import { type Group, groups, type Layout, lay, shortNames } from "../src/wall/board";

interface Made {
  scaled?: boolean;
  place?: number | null;
  tally?: Tally | null;
  last_at?: number | null;
}

function row(name: string, { scaled = false, place = null, tally = null, last_at = null }: Made = {}): Row {
  return {
    athlete: name,
    name,
    at_home: false,
    scaled,
    scores: [{ block: 3, tally, place, last_at, marked: false }],
    overall: place,
  };
}

const rounds = (rounds: number, extra = 0): Tally => ({ kind: "rounds", rounds, extra });
const ranked = { block: 3, format: undefined };
const named = (group: Group | undefined) => group?.lines.map(({ name }) => name);

describe("groups", () => {
  it("lists each group by the server's places, and who has none last, as they came", () => {
    const rows = [
      row("Ada"),
      row("Bo", { place: 2 }),
      row("Cy", { place: 1 }),
      row("Di", { scaled: true, place: 1 }),
    ];
    const [written, scaled] = groups(rows, ranked);
    expect([written?.title, named(written)]).toEqual(["As written", ["Cy", "Bo", "Ada"]]);
    expect([scaled?.title, named(scaled)]).toEqual(["Scaled", ["Di"]]);
  });
  it("leaves out a group that nobody is in", () => {
    expect(groups([row("Ada")], ranked).map(({ title }) => title)).toEqual(["As written"]);
    expect(groups([], ranked)).toEqual([]);
  });
  it("shows rounds, and extra reps where there are any", () => {
    const [group] = groups([row("Ada", { tally: rounds(5, 12) }), row("Bo", { tally: rounds(5) })], ranked);
    expect(group?.lines.map(({ main, rest }) => [main, rest])).toEqual([
      ["5", "+ 12"],
      ["5", ""],
    ]);
  });
});

it("shortens names while they can be told apart", () => {
  const rows = ["Mirela Halvorsen", "Bo Weiss", "Bo Wolf", "Ines", "C", ""].map((name) => row(name));
  expect([...shortNames(rows).values()]).toEqual(["Mirela H.", "Bo Weiss", "Bo Wolf", "Ines", "C", ""]);
});

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

function checkSlots({ slots, columns }: Layout, rows: number): void {
  const places = [...slots.values()].map(({ column, row }) => `${column}/${row}`);
  expect(new Set(places).size).toBe(places.length);
  for (const { column, row } of slots.values()) {
    expect(column).toBeLessThan(columns);
    expect(row).toBeLessThan(rows);
  }
}

describe("the lay-out", () => {
  const still = { turn: 0, working: false, tall: false };
  const rows = [5, 7, 9];

  it.each([
    [1, 0],
    [0, 1],
    [5, 5],
    [10, 6],
    [14, 7],
    [18, 18],
    [36, 0],
  ])("shows all of %d as written and %d scaled at once", (written, scaled) => {
    const layout = lay(crowd(written, scaled), still);
    expect(layout.slots.size).toBe(written + scaled);
    expect(layout.pages).toBe(1);
    checkSlots(layout, rows[layout.size] ?? 0);
  });

  it("takes the largest type at which all fit", () => {
    expect(lay(crowd(5, 5), still).size).toBe(0);
    expect(lay(crowd(10, 6), still).size).toBe(1);
    expect(lay(crowd(16, 8), still).size).toBe(2);
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
      checkSlots(layout, 9);
      for (const athlete of layout.slots.keys()) seen.add(athlete);
    }
    expect(pages).toBeGreaterThan(1);
    expect(seen.size).toBe(written + scaled);
  });

  it("shows the first and whoever scored last while people work", () => {
    const layout = lay(crowd(60, 0), { ...still, working: true });
    const shown = [...layout.slots.keys()];
    expect(shown.slice(0, 8)).toEqual(["w0", "w1", "w2", "w3", "w4", "w5", "w6", "w7"]);
    expect(shown.slice(8)).toEqual(Array.from({ length: 28 }, (_, index) => `w${32 + index}`));
    expect(layout.pages).toBe(1);
    expect(layout.headings).toMatchObject([{ shown: 36, of: 60 }]);
    checkSlots(layout, 9);
  });

  it("shows sixty at once when the class is done", () => {
    const layout = lay(crowd(40, 20), { ...still, tall: true });
    expect([layout.slots.size, layout.pages]).toEqual([60, 1]);
    checkSlots(layout, 20);
  });
});
