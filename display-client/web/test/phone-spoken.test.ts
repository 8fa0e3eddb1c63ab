import { expect, it } from "vitest";
import { Spoken } from "../src/phone/spoken";
import { SECOND } from "../src/shared/clock";

it("reads out a count once, when it has come to rest", () => {
  const spoken = new Spoken();
  spoken.count("1 cal", 0);
  expect(spoken.rests(0.5 * SECOND)).toBe(false);
  spoken.count("2 cal", 0.5 * SECOND);
  expect(spoken.rests(1 * SECOND)).toBe(false);
  expect(spoken.rests(1.1 * SECOND)).toBe(true);
  expect(spoken.text).toBe("2 cal");
  spoken.count("2 cal", 2 * SECOND);
  expect(spoken.rests(4 * SECOND)).toBe(false);
});

it("says nothing of a count that was taken back at once", () => {
  const spoken = new Spoken();
  spoken.count("4 rounds", 0);
  spoken.rests(SECOND);
  spoken.count("5 rounds", 2 * SECOND);
  spoken.count("4 rounds", 2.3 * SECOND);
  expect(spoken.rests(4 * SECOND)).toBe(false);
});
