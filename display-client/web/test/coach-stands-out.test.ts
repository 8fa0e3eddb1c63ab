import { describe, expect, test } from "vitest";
import { Calm, type Outstanding, standsOut } from "../src/coach/stands-out";
import { SECOND, type Showing } from "../src/shared/clock";
import type { Person, Reading, Session } from "../src/shared/wire";
import { at, own, person, ROUNDS, SEGMENTS, SESSION, waiting } from "./coach-make";

const AIMED: Session = {
  ...SESSION,
  blocks: SESSION.blocks.map((block) => ({ ...block, aim: { text: "", rounds: [5, 7] } })),
};
const due = (name: string, seconds: number | null): Person =>
  person(name, { windows: [own(2, ROUNDS, { overdue_at: seconds === null ? null : seconds * SECOND })] });
const reading = (athlete: string, fades: boolean, aim: Reading["aim"]): Reading => ({ athlete, fades, aim });

const people = [due("Ada", 160), due("Bo", 161), due("Cy", null), due("Dee", null), due("Eve", 100)];
const readings = [reading("Ada", false, "above"), reading("Cy", true, null), reading("Dee", false, "below")];
const list = (showing: Showing, read = readings) =>
  standsOut({ people, readings: read }, showing, SEGMENTS, AIMED).map(
    ({ name, words }) => `${name}: ${words.join(", ")}`,
  );

describe("who stands out", () => {
  test("in work: overdue first, then who fades, then below the aim", () => {
    expect(list(at(2, 160))).toEqual([
      "Ada: round overdue since 2:40, on pace for more than the aim of 5 to 7",
      "Eve: round overdue since 1:40",
      "Cy: fades",
      "Dee: on pace for less than the aim of 5 to 7",
    ]);
  });

  test("in the rest after it nobody is overdue, and the aim was met or not", () => {
    expect(list(at(3, 5))).toEqual([
      "Cy: fades",
      "Dee: ended below the aim of 5 to 7",
      "Ada: ended above the aim of 5 to 7",
    ]);
  });

  test("nobody, where nobody does", () => {
    expect(list(waiting(5, 3), [])).toEqual([]);
  });
});

test("the list stays as it is for five seconds, unless the class moves on", () => {
  const calm = new Calm();
  const some = (name: string): Outstanding[] => [{ athlete: name, name, words: [] }];
  const look = (name: string, of: string, seconds: number) =>
    calm.look(() => some(name), of, seconds * SECOND)[0]?.name;
  expect(look("Ada", "2", 0)).toBe("Ada");
  expect(look("Bo", "2", 4.9)).toBe("Ada");
  expect(look("Bo", "2", 5)).toBe("Bo");
  expect(look("Cy", "3", 5.1)).toBe("Cy");
});
