import { describe, expect, it } from "vitest";
import { Pace } from "../src/shared/frames";

/** A pace that has seen frames after these gaps, in milliseconds. */
function seen(...gaps: number[]): Pace {
  const pace = new Pace();
  let begin = 1_000;
  pace.aim(begin * 1000);
  for (const gap of gaps) {
    begin += gap;
    pace.aim(begin * 1000);
  }
  return pace;
}
const times = (count: number, gap: number) => Array.from({ length: count }, () => gap);

describe("the pace of frames", () => {
  it.each([60, 75, 90, 120, 144])("is found on a screen of %i Hz from the eighth frame on", (hertz) => {
    expect(seen(...times(8, 1000 / hertz)).interval).toBeCloseTo(1e6 / hertz, 0);
  });

  it("is not bent by dropped frames, even three in a row", () => {
    const gaps = [...times(20, 8), 16, ...times(5, 8), 16, 24, 16, ...times(2, 8)];
    expect(seen(...gaps).interval).toBe(8_000);
  });

  it("is not bent by a page that was hidden", () => {
    expect(seen(...times(20, 10), 3_600_000, 1, 10).interval).toBe(10_000);
  });

  it("is that of every second frame where the page manages no more", () => {
    expect(seen(...times(20, 1000 / 60), ...times(8, 2000 / 60)).interval).toBeCloseTo(2e6 / 60, 0);
  });

  it("follows a screen that changes its rate", () => {
    expect(seen(...times(30, 1000 / 144), ...times(8, 1000 / 48)).interval).toBeCloseTo(1e6 / 48, 0);
  });

  it("aims at the middle of each frame", () => {
    const pace = seen(...times(20, 10));
    expect(pace.aim(2_000_000)).toBe(2_005_000);
  });
});
