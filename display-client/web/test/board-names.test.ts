import { describe, expect, it } from "vitest";
import { cutName, Names, shortNames, teamName } from "../src/wall/board-names";

const named = (...names: string[]) => names.map((name, index) => ({ athlete: `${index}`, name }));

it("shortens names while they can be told apart", () => {
  const rows = named("Mirela Halvorsen", "Bo Weiss", "Bo Wolf", "Ines", "C.", "", "Ada Quill", "Ada Marsh");
  expect([...shortNames(rows).values()]).toEqual([
    "Mirela",
    "Bo Weiss",
    "Bo Wolf",
    "Ines",
    "C.",
    "",
    "Ada Q.",
    "Ada M.",
  ]);
});

it.each([
  ["Alexandra", 20, "Alexandra"],
  ["Alexandra", 6, "Alexa."],
  ["Alexandra H.", 8, "Alex. H."],
  ["Bo Halvorsen", 8, "B. Halv."],
  ["Bo", 0, "B."],
  ["", 0, ""],
])("cuts %j to %d as %j", (name, room, cut) => {
  expect(cutName(name, ({ length }) => length <= room)).toBe(cut);
});

describe("the name of a team", () => {
  it("has its members together, by initials where that is too long", () => {
    expect(teamName(1, ["Ada", "Bo"], () => true)).toBe("Ada & Bo");
    expect(teamName(1, ["Ada", "Bo", "Cy"], () => true)).toBe("Ada, Bo & Cy");
    expect(teamName(1, ["Ada", "Bo", "Cy"], ({ length }) => length < 9)).toBe("A. B. C.");
  });
  it("leaves out who shows no name, and is a number where nobody does", () => {
    expect(teamName(3, ["", "Bo"], () => true)).toBe("Bo");
    expect(teamName(3, ["", ""], () => true)).toBe("Team 3");
  });
});

it("takes up a changed name, and a new one", () => {
  const names = new Names();
  names.take(named("Ada Quill"));
  names.take(named("A.", "Bo Weiss"));
  expect([names.of("0"), names.of("1")]).toEqual(["A.", "Bo"]);
});
