import { describe, expect, it } from "vitest";
import { teamWords, turnWords } from "../src/phone/team";
import { people, withAsked } from "../src/phone/who";
import type { Marked, OwnView } from "../src/shared/wire";
import { AT, ME, own, ownWindow, row, runs, state } from "./phone-make";

const BIRK = "b0000000-0000-4000-8000-000000000002";
const team = [
  { athlete: ME, name: "Ines" },
  { athlete: BIRK, name: "Birk" },
];
const doubled: Marked = {
  on: "tap",
  tap: "theirs",
  made_at: 0,
  worth: { standing: "not-counted", why: "team-mate", marked: true },
};
const shared = (last_by: string, marks: Marked[] = []): OwnView => ({
  ...own([ownWindow(AT.first, 3, { last_by, marks, turn: last_by === ME ? BIRK : ME })]),
  team,
});

describe("a team mate who touched for the own round", () => {
  it("is told once, to the one who has it", () => {
    expect(teamWords(shared(ME), shared(ME, [doubled]))).toContain("You have that round");
    expect(teamWords(shared(ME, [doubled]), shared(ME, [doubled]))).toBeNull();
    expect(teamWords(shared(BIRK), shared(BIRK, [doubled]))).toBeNull();
    expect(teamWords(null, shared(ME, [doubled]))).toBeNull();
  });
});

it("says who had the last round, and whose turn it is", () => {
  const who = (view: OwnView) => ({ state: state(runs(AT.first)), own: view });
  expect(turnWords(who(shared(BIRK)), shared(BIRK).windows[0], ME)).toEqual(["last: Birk", "your turn"]);
  expect(turnWords(who(shared(ME)), shared(ME).windows[0], ME)).toEqual(["last: you", "Birk’s turn"]);
  expect(turnWords(who(own()), ownWindow(AT.first, 3), ME)).toEqual([]);
});

it("keeps two people of one name apart by who they are", () => {
  const counts_for = [
    { athlete: BIRK, name: "Ida", choice: { scaled: false, options: [] }, windows: [ownWindow(AT.first, 2)] },
    {
      athlete: "another",
      name: "Ida 2",
      choice: { scaled: false, options: [] },
      windows: [ownWindow(AT.first, 5)],
    },
  ];
  const all = people({ state: state(runs(AT.first)), own: { ...own(), counts_for }, athlete: ME });
  expect(all.map(({ athlete, me }) => [athlete, me])).toEqual([
    [BIRK, false],
    ["another", false],
    [ME, true],
  ]);
});

describe("a count that changes hands", () => {
  const rows = [row(ME, "Ines"), row(BIRK, "Birk")];
  const name = (athlete: string) => rows.find((each) => each.athlete === athlete)?.name ?? "";
  it("is shown before the house has answered", () => {
    const lent = withAsked(own(), { ask: "let-count", athlete: ME, counter: BIRK }, name);
    expect(lent.counter).toEqual({ athlete: BIRK, name: "Birk" });
    expect(withAsked(lent, { ask: "let-count", athlete: ME, counter: null }, name).counter).toBeNull();
  });
  it("is handed back by who counts", () => {
    const counting = {
      ...own(),
      counts_for: [{ athlete: BIRK, name: "Birk", choice: { scaled: false, options: [] }, windows: [] }],
    };
    expect(withAsked(counting, { ask: "let-count", athlete: BIRK, counter: null }, name).counts_for).toEqual(
      [],
    );
  });
});
