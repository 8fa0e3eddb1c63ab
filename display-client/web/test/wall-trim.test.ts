import { describe, expect, it } from "vitest";
import { SPREAD_MAX_MS, TAPS, trimFrom } from "../src/wall/trim";

/** Taps on each second, late by `late` ms and by what `uneven` adds, one for each. */
const taps = (late: number, uneven: readonly number[] = [0]) =>
  Array.from({ length: TAPS }, (_, beat) => 1000 * beat + late + (uneven[beat % uneven.length] ?? 0));

/** People are never even: a few milliseconds to each side. */
const PERSON = [0, 18, -12, 25, -20, 8, -5, 30, -28, 3];

describe("the trim by tapping", () => {
  it.each([
    ["a speaker that is late", 330, 180, 150],
    ["sound and picture together", 180, 180, 0],
    ["a picture that is later than the sound", 120, 210, -90],
    ["somebody who taps ahead of the beat", 110, -40, 150],
    ["a delay that with the reaction goes over half a second", 560, 190, 370],
    ["taps about the beat's turn", 1010, 995, 15],
  ])("finds %s", (_, heard, seen, trim) => {
    const found = trimFrom(taps(heard, PERSON), taps(seen, PERSON));
    expect(found.found === "trim" && Math.round(found.trim)).toBe(trim);
  });

  it("is not moved by the first taps, one that went astray, or one that was left out", () => {
    const heard = taps(300, PERSON).map((tap, beat) => (beat < 2 ? tap + 300 : beat === 5 ? tap + 400 : tap));
    heard.push(11_300);
    heard.splice(6, 1);
    const found = trimFrom(heard, taps(180, PERSON));
    expect(found.found === "trim" && Math.abs(found.trim - 120)).toBeLessThan(15);
  });

  it("is not told where the taps are too uneven, of either kind", () => {
    const wild = [0, 200, -180, 150, -90, 220, -200, 120, -140, 60];
    for (const found of [trimFrom(taps(300, wild), taps(180)), trimFrom(taps(300), taps(180, wild))]) {
      expect(found.found).toBe("uneven");
      expect(found.found === "uneven" && found.spread).toBeGreaterThan(SPREAD_MAX_MS);
    }
  });
});
