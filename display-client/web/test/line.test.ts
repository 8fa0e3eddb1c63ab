import { describe, expect, it } from "vitest";
import { isStanding, SECOND, showing } from "../src/shared/clock";
import { Line } from "../src/shared/line";
import type { Clock } from "../src/shared/wire";
import { running, segment } from "./make";

const segments = [segment("work", 100, "next"), segment("open", null, "wait")];

/** A line filled at one instant, and how much of it is full at others. */
function filled(clock: Clock, made: number) {
  const element = { style: { transform: "" } } as HTMLElement;
  const now = showing(clock, segments, made * SECOND);
  const line = new Line();
  line.fill(element, isStanding(now) ? now : null, made * SECOND);
  const full = () => Number(/^scaleX\((.+)\)$/.exec(element.style.transform)?.[1]);
  const at = (seconds: number) => {
    line.frame(seconds * SECOND);
    return full();
  };
  return { line, element, at, full };
}

describe("the line", () => {
  it("fills with class time, to the bell and no further", () => {
    const { at, full } = filled(running(0, { anchor: 50, atAnchor: 20 }), 60);
    expect(full()).toBeCloseTo(0.3, 9);
    expect(at(75)).toBeCloseTo(0.45, 9);
    expect(at(500)).toBe(1);
  });

  it("stands while class time stands, and where there is no bell", () => {
    expect(filled(running(0, { anchor: 50, atAnchor: 20 }), 45).at(49)).toBeCloseTo(0.2, 9);
    const held: Clock["phase"] = { phase: "held", segment: 0, class_time: 70 * SECOND, added: 0 };
    expect(filled({ revision: 1, stopped: false, phase: held }, 5).at(50)).toBeCloseTo(0.7, 9);
    expect(filled(running(1, {}), 5).at(50)).toBe(0);
  });

  it("is empty outside a segment", () => {
    const { at } = filled({ revision: 1, stopped: false, phase: { phase: "done" } }, 5);
    expect(at(50)).toBe(0);
  });

  it("is stale once the page has made another element of it", () => {
    const { line, element } = filled(running(0, {}), 1);
    expect(line.isStale(element)).toBe(false);
    expect(line.isStale({ style: {} } as HTMLElement)).toBe(true);
  });
});
