import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { SECOND, type Standing, showing } from "../src/shared/clock";
import { Face } from "../src/shared/face";
import { running, segment } from "./make";
import { page, pageIsOver } from "./page";

beforeEach(() => {
  page();
});
afterEach(pageIsOver);

const segments = [segment("lead-in", 10, "next"), segment("work", 240, "wait")];
const standing = (seconds: number) => showing(running(0, {}), segments, seconds * SECOND) as Standing;

describe("the digits of a page", () => {
  it("are written only where they change", () => {
    const face = new Face();
    face.show(standing(12), 12 * SECOND);
    expect(face.text.data).toBe("3:58");
    const changes = [12.3, 12.9, 13, 13.02, 14.1].map((at) => face.frame(at * SECOND));
    expect(changes).toEqual([false, false, true, false, true]);
    expect(face.text.data).toBe("3:56");
  });

  it("are stale when the segment is over, and before it was begun to be shown", () => {
    const face = new Face();
    face.show(standing(8), 8 * SECOND);
    expect([7.9, 8, 9.99, 10].map((at) => face.isStale(at * SECOND))).toEqual([true, false, false, true]);
    expect(face.until).toBe(10 * SECOND);
    expect(face.frame(10.5 * SECOND)).toBe(false);
    expect(face.text.data).toBe("2");
  });

  it("are empty outside a segment, and never stale", () => {
    const face = new Face();
    face.show(standing(8), 8 * SECOND);
    face.clear();
    expect([face.text.data, face.isStale(0), face.frame(9 * SECOND)]).toEqual(["", false, false]);
  });
});
