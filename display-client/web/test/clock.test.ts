import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import {
  fraction,
  hand,
  kindShown,
  read,
  runs,
  SECOND,
  type Standing,
  showing,
  written,
} from "../src/shared/clock";
import type { Clock, Segment } from "../src/shared/wire";
import { running, segment } from "./make";

interface Reading {
  at: number;
  phase: string;
  segment: number | null;
  class_time: number | null;
  bell: number | null;
}

describe("the cases that the Rust client shares", () => {
  const recorded = readFileSync(new URL("../../cases/clock.json", import.meta.url), "utf8");
  const { segments, cases } = JSON.parse(recorded) as {
    segments: Segment[];
    cases: { name: string; clock: Clock; readings: Reading[] }[];
  };
  it.each(cases)("$name", ({ clock, readings }) => {
    for (const { at, ...expected } of readings) {
      const now = showing(clock, segments, at);
      const standing = "index" in now ? now : null;
      const found = {
        phase: now.phase,
        segment: standing?.index ?? null,
        class_time: standing?.classTime ?? null,
        bell: standing?.bell ?? null,
      };
      expect(found, `at ${at}`).toEqual(expected);
    }
  });
});

const segments: Segment[] = [
  segment("open", null, "wait"),
  segment("lead-in", 10, "next"),
  segment("work", 240, "next"),
  segment("rest", 90, "next"),
  segment("work", 240, "wait"),
];

function digits(standing: Standing, at: number): string {
  const found = hand(standing, at);
  return written(found, read(found, at));
}

function shown(clock: Clock, seconds: number, of = segments): string {
  const now = showing(clock, of, Math.round(seconds * SECOND));
  return now.phase === "gathering" || now.phase === "done"
    ? now.phase
    : `${now.index} ${now.segment.kind} ${digits(now, Math.round(seconds * SECOND))}`;
}

describe("the digits of a running clock", () => {
  const clock = running(1, { anchor: 100 });
  it.each([
    [100, "1 lead-in 10"],
    [100.001, "1 lead-in 10"],
    [101, "1 lead-in 9"],
    [109.999, "1 lead-in 1"],
    [110, "2 work 4:00"],
    [110.001, "2 work 4:00"],
    [111, "2 work 3:59"],
    [349.5, "2 work 0:01"],
    [350, "3 rest 1:30"],
    [440, "4 work 4:00"],
    [680, "4 work 0:00"],
    [680.4, "4 work 0:00"],
    [681, "4 work +0:01"],
    [743, "4 work +1:03"],
  ])("at %d s", (seconds, expected) => {
    expect(shown(clock, seconds)).toBe(expected);
  });
});

it("counts a segment without a length up, rounded down", () => {
  const clock = running(0, { anchor: 5 });
  expect(shown(clock, 5.9)).toBe("0 open 0:00");
  expect(shown(clock, 66)).toBe("0 open 1:01");
  expect(shown(clock, 3605 + 62)).toBe("0 open 1:01:02");
});

it("moves the bell by what was added, and only in that segment", () => {
  const clock = running(2, { anchor: 0, added: 60 });
  expect(shown(clock, 0)).toBe("2 work 5:00");
  expect(shown(clock, 299)).toBe("2 work 0:01");
  expect(shown(clock, 300)).toBe("3 rest 1:30");
  expect(shown(clock, 390)).toBe("4 work 4:00");
});

describe("after a hold", () => {
  it("counts the resume lead-in down while class time stands", () => {
    const clock = running(2, { anchor: 50, atAnchor: 170 });
    expect(shown(clock, 40)).toBe("2 work 10");
    expect(shown(clock, 49.2)).toBe("2 work 1");
    expect(shown(clock, 50)).toBe("2 work 1:10");
    expect(shown(clock, 120)).toBe("3 rest 1:30");
  });
  it("shows no lead-in where a rest goes on at once and this screen is a little late", () => {
    expect(shown(running(3, { anchor: 50, atAnchor: 30 }), 49.99)).toBe("3 rest 1:00");
  });
  it("shows no lead-in where work was called just now", () => {
    expect(shown(running(2, { anchor: 50 }), 49.98)).toBe("2 work 4:00");
  });
});

it("stands where it is held", () => {
  const clock: Clock = {
    revision: 3,
    phase: { phase: "held", segment: 2, class_time: 170 * SECOND, added: 0 },
    stopped: false,
  };
  expect(shown(clock, 1000)).toBe("2 work 1:10");
  expect(shown(clock, 9000)).toBe("2 work 1:10");
});

it("passes over dropped segments", () => {
  const trimmed = segments.map((each, index) => (index === 3 ? { ...each, dropped: true } : each));
  expect(shown(running(2, { anchor: 0 }), 240, trimmed)).toBe("4 work 4:00");
  const now = showing(running(2, { anchor: 0 }), trimmed, 0);
  expect(now.phase === "running" && now.next).toBe(4);
});

it("says gathering and done", () => {
  expect(shown({ revision: 0, phase: { phase: "gathering" }, stopped: false }, 1)).toBe("gathering");
  expect(shown({ revision: 9, phase: { phase: "done" }, stopped: false }, 1)).toBe("done");
});

it("goes on over the end of the class by itself", () => {
  const last = [segment("work", 60, "next")];
  expect(shown(running(0, {}), 59.5, last)).toBe("0 work 0:01");
  expect(shown(running(0, {}), 60, last)).toBe("done");
});

it("stands at zero and overruns from the bell that the server named", () => {
  const clock: Clock = {
    revision: 3,
    phase: { phase: "waiting", segment: 4, since: 680 * SECOND },
    stopped: false,
  };
  expect(shown(clock, 680.2)).toBe("4 work 0:00");
  expect(shown(clock, 705)).toBe("4 work +0:25");
});

it("lays four windows of 4:00 with rests of 1:30 over 20:30 after the lead-in", () => {
  const windows = [segment("lead-in", 10, "next")];
  for (let number = 1; number <= 4; number += 1) {
    windows.push(segment("work", 240, "next"));
    if (number < 4) windows.push(segment("rest", 90, "next"));
  }
  const bells = [...runs(running(0, { anchor: 0 }), windows)].map(({ bell }) => (bell ?? 0) / SECOND);
  expect((bells.at(-1) ?? 0) - (bells[0] ?? 0)).toBe(20 * 60 + 30);
});

it("tells how much of a segment has run", () => {
  const now = showing(running(2, { anchor: 0 }), segments, 60 * SECOND);
  expect(now.phase === "running" && fraction(now)).toBe(0.25);
});

describe("the hand of the clock", () => {
  /** Seconds read at `seconds` from the hand that was made at `made`, and until when that hand is good. */
  function handed(clock: Clock, made: number, seconds: number, of = segments) {
    const now = showing(clock, of, made * SECOND);
    if (now.phase === "gathering" || now.phase === "done") throw new Error("no hand outside a segment");
    const found = hand(now, made * SECOND);
    return [read(found, seconds * SECOND), found.until / SECOND];
  }
  it("reads what the digits show until the bell", () => {
    expect(handed(running(2, {}), 0, 0)).toEqual([240, 240]);
    expect(handed(running(2, {}), 10, 59.5)).toEqual([181, 240]);
    expect(handed(running(2, {}), 10, 240)).toEqual([0, 240]);
  });
  it("counts up without end where there is no bell", () => {
    expect(handed(running(0, {}), 3, 61.9)).toEqual([61, Number.POSITIVE_INFINITY]);
    expect(handed(running(4, {}), 250, 252)).toEqual([12, Number.POSITIVE_INFINITY]);
  });
  it("reads a resume's lead-in until class time runs again", () => {
    expect(handed(running(2, { anchor: 50, atAnchor: 170 }), 41, 42)).toEqual([8, 50]);
  });
  it("reads no more than the whole segment where a call is heard before its time has come", () => {
    expect(handed(running(2, { anchor: 100.02 }), 100, 100)).toEqual([240, 340.02]);
  });
  it("stands where it is held", () => {
    const held: Clock = {
      revision: 1,
      phase: { phase: "held", segment: 2, class_time: 170.5 * SECOND, added: 0 },
      stopped: false,
    };
    expect(handed(held, 5, 500)).toEqual([70, Number.POSITIVE_INFINITY]);
  });
  it("is good until the lead-in that is the end of a rest", () => {
    const rest = [segment("rest", 90, "next", { lead_in: 10 * SECOND }), segment("work", 60, "wait")];
    expect(handed(running(0, {}), 5, 79, rest)).toEqual([11, 80]);
    expect(handed(running(0, {}), 80, 81, rest)).toEqual([9, 90]);
    const kinds = [79.9, 80, 89.9, 90].map((at) => {
      const now = showing(running(0, {}), rest, at * SECOND);
      return now.phase === "running" ? kindShown(now) : now.phase;
    });
    expect(kinds).toEqual(["rest", "lead-in", "lead-in", "work"]);
  });
});
