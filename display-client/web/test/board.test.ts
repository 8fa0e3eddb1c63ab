import { describe, expect, it } from "vitest";
import type { Row, Tally } from "../src/shared/wire";
import { type Group, groups, shortNames } from "../src/wall/board";

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
    total_reps: null,
    team: null,
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
