import { describe, expect, it } from "vitest";
import type { Format, Scoring, Tally } from "../src/shared/wire";
import { type Board, type Group, groups } from "../src/wall/board";
import { AMRAP, counted, making, rounds, row } from "./wall-board-make";

const PIECE: Board = { board: "piece", block: 0 };
const told = (group: Group | undefined) => group?.lines.map(({ name, place }) => `${place ?? "-"} ${name}`);

describe("groups", () => {
  it("gives each option its own places", () => {
    const rows = [
      row("Ada", { place: 2 }),
      row("Bo", { place: 1 }),
      row("Cy", { place: 3 }),
      row("Di", { scaled: true, place: 1 }),
    ];
    const [written, scaled] = groups(counted(rows), PIECE, making());
    expect([written?.title, told(written)]).toEqual(["As written", ["1 Bo", "2 Ada", "- Cy"]]);
    expect([scaled?.title, told(scaled)]).toEqual(["Scaled", ["1 Di"]]);
  });

  it("leaves out a group that nobody is in", () => {
    expect(groups(counted([row("Ada")]), PIECE, making()).map(({ title }) => title)).toEqual(["As written"]);
    expect(groups(counted([]), PIECE, making())).toEqual([]);
  });

  it("tells places of the upper half, and of nobody that they came last", () => {
    const names = ["Ines", "Bo", "Cy", "Ada", "Eva", "Dan", "Fay"];
    const rows = names.map((name, index) => row(name, { place: index + 1 }));
    const [group] = groups(counted(rows), PIECE, making());
    expect(told(group)).toEqual(["1 Ines", "2 Bo", "3 Cy", "4 Ada", "- Dan", "- Eva", "- Fay"]);
    expect(group?.placed).toBe(4);
  });

  it("lets equals share a place, both told or neither", () => {
    const places = [1, 2, 2, 4];
    const rows = places.map((place, index) => row(`${index}`, { place }));
    expect(told(groups(counted(rows), PIECE, making())[0])).toEqual(["1 0", "2 1", "2 2", "- 3"]);
  });

  it("tells no places in a house that shows none: everybody by name, with their counts", () => {
    const rows = [row("Cy", { place: 1, tally: rounds(9) }), row("Ada", { place: 2, tally: rounds(4) })];
    const [group] = groups(counted(rows), PIECE, making({ places: false }));
    expect(told(group)).toEqual(["- Ada", "- Cy"]);
    expect(group?.lines.map(({ tally }) => tally[0])).toEqual(["4", "9"]);
  });

  it("keeps the count of who shows no name, and lists them after the names", () => {
    const rows = [row("", { tally: rounds(3) }), row("Bo"), row("Al")];
    const [group] = groups(counted(rows), PIECE, making());
    expect(group?.lines.map(({ name, tally }) => [name, tally[0]])).toEqual([
      ["Al", ""],
      ["Bo", ""],
      ["", "3"],
    ]);
  });

  it("lists of the whole class only those whose place is told", () => {
    const rows = [1, 2, 3, 4].map((place) => row(`${place}`, { place }));
    const [group] = groups(counted(rows), { board: "whole-class" }, making());
    expect([told(group), group?.of]).toEqual([["1 1", "2 2"], 4]);
  });

  it("lists everybody where the whole class is ranked by reps", () => {
    const rows = [1, 2, 3].map((place) => ({ ...row(`${place}`, { place }), total_reps: 400 - place }));
    const state = counted(rows);
    state.session.whole_class = "reps";
    const [group] = groups(state, { board: "whole-class" }, making());
    expect(group?.lines.map(({ place, tally }) => [place, tally[0]])).toEqual([
      [1, "399"],
      [2, "398"],
      [null, "397"],
    ]);
  });

  it("ranks one window by itself", () => {
    const two = (name: string, place: number) => {
      const made = row(name, { place, tally: rounds(8) });
      const [score] = made.scores;
      if (score === undefined) throw new Error("no score");
      const windows = [{ segment: 5, tally: rounds(3), place: 3 - place }];
      return { ...made, scores: [{ ...score, windows }] };
    };
    const [group] = groups(
      counted([two("Ada", 1), two("Bo", 2), row("Cy"), row("Di")]),
      { board: "window", block: 0, segment: 5 },
      making(),
    );
    expect(told(group)?.slice(0, 2)).toEqual(["1 Bo", "2 Ada"]);
    expect(group?.lines[0]?.tally[0]).toBe("3");
  });
});

describe("teams", () => {
  const rows = ["Ada", "Bo", "Cy", "Di"].map((name, index) =>
    row(name, {
      place: Math.floor(index / 2) + 1,
      tally: rounds(5 - Math.floor(index / 2)),
      team: Math.floor(index / 2) + 1,
    }),
  );
  const inTeams = counted(rows, AMRAP, { sharing: { sharing: "team", size: 2 } });

  it("have one row each, with the names of their members together", () => {
    const [group] = groups(inTeams, PIECE, making());
    expect(group?.lines.map(({ key, name, tally }) => [key, name, tally[0]])).toEqual([
      ["team 1", "Ada & Bo", "5"],
      ["team 2", "Cy & Di", "4"],
    ]);
  });
  it("are single people in a piece that is done alone", () => {
    expect(groups({ ...inTeams, session: counted(rows).session }, PIECE, making())[0]?.lines).toHaveLength(4);
  });
  it("leave out nobody who is in no team", () => {
    const state = { ...inTeams, rows: [...rows, row("Eva")] };
    expect(groups(state, PIECE, making())[0]?.lines.map(({ name }) => name)).toContain("Eva");
  });
});

describe("a tally", () => {
  const count: Format = { format: "max-count", window: 1, unit: "metres" };
  const cap: Format = { format: "for-time", rounds: 5, scheme: [], cap: 1 };
  const load: Format = { format: "max-load", window: 1, reps: 1 };
  const every: Format = { format: "every-n", every: 1, rounds: 10, score: "rounds-made" };
  const metres: Scoring = { by: "amount", unit: "metres", step: 120 };
  const cases: [Tally, Format, string, Scoring?][] = [
    [rounds(12, 5), AMRAP, "12 + 5"],
    [rounds(12), AMRAP, "12"],
    [{ kind: "finished", time: 521e6 }, cap, "8:41"],
    [{ kind: "at-cap", reps: 84 }, cap, "84 at cap"],
    [{ kind: "load", grams: 92_500 }, load, "92.5 kg"],
    [{ kind: "load", grams: -20_000 }, load, "−20 kg"],
    [{ kind: "count", amount: 885 }, count, "885 m", metres],
    [{ kind: "count", amount: 885 }, AMRAP, "885 m", metres],
    [{ kind: "made", made: 7, of: 10 }, every, "7 of 10"],
  ];
  it.each(cases)("is told in the words of its kind", (tally, format, words, scoring) => {
    const [group] = groups(counted([row("Ada", { tally })], format, {}, scoring), PIECE, making());
    expect(group?.lines[0]?.tally.join(" ").trim()).toBe(words);
  });
});
