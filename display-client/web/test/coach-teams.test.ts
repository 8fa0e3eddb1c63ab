import { expect, test } from "vitest";
import { moved, pairUp, parties, teamPiece, teamSize, teamsOf, without } from "../src/coach/teams";
import { IN_PAIRS, person, SEGMENTS, SESSION } from "./coach-make";

const people = [
  person("Mei"),
  person("Ada", { team: 1 }),
  person("Bo"),
  person("Cy", { team: 1 }),
  person("Dee"),
  person("Expected", { here: false }),
];

test("people are paired up as they came, and who is left over is without", () => {
  expect(pairUp(people, 2)).toEqual([
    ["Ada", "Cy"],
    ["Mei", "Bo"],
  ]);
  expect(without(people).map(({ name }) => name)).toEqual(["Mei", "Bo", "Dee"]);
  expect(pairUp(people, 3)).toEqual([
    ["Ada", "Cy"],
    ["Mei", "Bo", "Dee"],
  ]);
});

test("somebody is moved to another team, to a new one, or out, and an empty team is gone", () => {
  const teams = [["Ada", "Cy"], ["Bo"]];
  expect(moved(teams, "Ada", 1)).toEqual([["Cy"], ["Bo", "Ada"]]);
  expect(moved(teams, "Bo", 0)).toEqual([["Ada", "Cy", "Bo"]]);
  expect(moved(teams, "Ada", "new")).toEqual([["Cy"], ["Bo"], ["Ada"]]);
  expect(moved(teams, "Bo", null)).toEqual([["Ada", "Cy"]]);
  expect(moved(teams, "Mei", 1)).toEqual([
    ["Ada", "Cy"],
    ["Bo", "Mei"],
  ]);
});

test("teams are read from what the house says of each person", () => {
  expect(teamsOf(people)).toEqual([["Ada", "Cy"]]);
});

test("a team is one party where the tally is shared, else each has their own", () => {
  const names = (shared: boolean) => parties(people, shared).map(({ name }) => name);
  expect(names(true)).toEqual(["Ada and Cy", "Bo", "Dee", "Mei"]);
  expect(names(false)).toEqual(["Ada", "Bo", "Cy", "Dee", "Mei"]);
});

test("the piece for teams that comes next is found, and none where each counts alone", () => {
  expect(teamPiece(SEGMENTS, 0, IN_PAIRS)).toEqual({ block: 1, size: 2 });
  expect(teamPiece(SEGMENTS, 4, IN_PAIRS)).toEqual({ block: 1, size: 2 });
  expect(teamPiece(SEGMENTS, 5, IN_PAIRS)).toBeNull();
  expect(teamPiece(SEGMENTS, 0, SESSION)).toBeNull();
  expect([teamSize(IN_PAIRS, 1), teamSize(IN_PAIRS, 0), teamSize(SESSION, 1)]).toEqual([2, 1, 1]);
});
