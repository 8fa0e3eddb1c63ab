/**
 * A wall without its network (rule 1.4): what it shows frame by frame, from before it was cut off until after it is
 * back, against the true instants.
 */
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { SECOND, type Standing, showing } from "../src/shared/clock";
import { Face } from "../src/shared/face";
import { Follower } from "../src/shared/follow";
import type { Clock, Phase, State, ToDevice } from "../src/shared/wire";
import { running, segment } from "./make";
import { FakeSocket, page, pageIsOver } from "./page";

beforeEach(() => {
  page();
  vi.spyOn(Math, "random").mockReturnValue(0.5);
});
afterEach(() => {
  vi.restoreAllMocks();
  pageIsOver();
});

/** House time is this far ahead of the page's own, as the first burst tells it. */
const AHEAD = 7_000 * SECOND;
const ANCHOR = 7_001;
/** A piece of two windows: lead-in 3, work 6, rest 8 of which 3 are lead-in, work 6; house time 7001 to 7024. */
const segments = [
  segment("lead-in", 3, "next"),
  segment("work", 6, "next"),
  segment("rest", 8, "next", { lead_in: 3 * SECOND }),
  segment("work", 6, "wait"),
];
const WELCOME: ToDevice = {
  type: "welcome",
  role: "wall",
  accepted: true,
  number: 1,
  generation: "journal",
  house: "Quayside Hall",
  emergency: "112",
  places: true,
};
const clockOf = (revision: number, phase: Phase): Clock => ({ revision, phase, stopped: false });
const state = (clock: Clock): ToDevice => ({
  type: "state",
  ...({
    number: clock.revision,
    class: "class",
    session: {
      title: "Tides",
      date: null,
      slot: null,
      people: null,
      notes: [],
      whole_class: "places",
      blocks: [],
    },
    scoring: [],
    join: null,
    clock,
    segments,
    swaps: [],
    started: null,
    closed: false,
    rows: [],
  } as State),
});

/** What stood on the wall, and from when (seconds of the page's clock). */
interface Stood {
  at: number;
  text: string;
}

const FRAME_MS = 1000 / 60;

function wall() {
  const follower = new Follower({ addresses: ["ws://house"], changed: () => {} });
  const face = new Face();
  const stood: Stood[] = [];
  let shownOf: Clock | null = null;
  let answered = 0;
  /** What is true of house time less the page's own. */
  let ahead = AHEAD;

  /** The house answers every exchange in the same instant. */
  const answer = () => {
    const asked = FakeSocket.last.sent.filter((message) => message.type === "sync");
    for (const { t0 } of asked.slice(answered))
      FakeSocket.last.says({ type: "sync", t0, t1: t0 + ahead, t2: t0 + ahead });
    answered = asked.length;
  };
  const connect = (clock: Clock) => {
    answered = 0;
    FakeSocket.last.opens();
    answer();
    FakeSocket.last.says(WELCOME);
    FakeSocket.last.says(state(clock));
  };
  /** Frames as on a screen of 60 Hz, until a time of the page's clock. */
  const until = (seconds: number) => {
    while (performance.now() < seconds * 1000) {
      vi.advanceTimersByTime(FRAME_MS);
      if (follower.connection === "connected") answer();
      const begin = performance.now() * 1000;
      const at = follower.houseTime(begin + (FRAME_MS * 1000) / 2);
      const clock = follower.state?.clock;
      if (clock === undefined || at === null) continue;
      if (clock !== shownOf || face.isStale(at)) {
        const now = showing(clock, segments, at);
        if (now.phase === "done" || now.phase === "gathering") face.clear();
        else face.show(now as Standing, at);
        shownOf = clock;
      }
      face.frame(at);
      const text = face.text.data;
      if (text !== stood.at(-1)?.text) stood.push({ at: begin / SECOND, text });
    }
  };
  const corrected = (by: number) => {
    ahead += by;
  };
  return { follower, stood, connect, until, corrected };
}

/** How long each reading stood, but for the last. */
const lengths = (stood: readonly Stood[]) =>
  stood.slice(1).map(({ at }, index) => at - (stood[index]?.at ?? 0));

const DIGITS = [
  ...["3", "2", "1"],
  ...["0:06", "0:05", "0:04", "0:03", "0:02", "0:01"],
  ...["0:08", "0:07", "0:06", "0:05", "0:04", "3", "2", "1"],
  ...["0:06", "0:05", "0:04", "0:03", "0:02", "0:01", "0:00", "+0:01"],
];

describe("a wall that is cut off ten seconds into a class", () => {
  it("goes through bell, rest, lead-in and bell by itself, each in the frame nearest to its instant", () => {
    const { follower, stood, connect, until } = wall();
    connect(running(0, { anchor: ANCHOR }));
    until(9.5);
    FakeSocket.last.breaks();
    until(26);
    expect(follower.connection).toBe("on-its-own");
    expect(stood.map(({ text }) => text).slice(0, DIGITS.length)).toEqual(DIGITS);
    // House time 7001 is the page's 1.
    stood.slice(1, DIGITS.length).forEach(({ at }, second) => {
      expect(Math.abs(at - (second + 2))).toBeLessThanOrEqual(FRAME_MS / 2000 + 1e-4);
    });
  });

  it.each([40_000, -40_000])(
    "takes over a correction of %i us without a second that is skipped, repeated, short or long",
    (by) => {
      const { stood, connect, until, corrected } = wall();
      connect(running(0, { anchor: ANCHOR }));
      until(9.5);
      FakeSocket.last.breaks();
      until(15.2);
      corrected(by);
      connect(running(0, { anchor: ANCHOR }));
      until(26);
      expect(stood.map(({ text }) => text).slice(0, DIGITS.length)).toEqual(DIGITS);
      // The first stood from before the class began.
      for (const length of lengths(stood.slice(1, DIGITS.length))) {
        expect(length).toBeGreaterThan(0.9);
        expect(length).toBeLessThan(1.1);
      }
      // A second after it is back the digits change at the house's instants again.
      const late = stood.slice(17, DIGITS.length).map(({ at }, index) => at - (18 + index) + by / SECOND);
      for (const skew of late) expect(Math.abs(skew)).toBeLessThanOrEqual(FRAME_MS / 2000 + 1e-4);
    },
  );

  it("applies a hold that was made meanwhile, and stands by what it held", () => {
    const { stood, connect, until } = wall();
    connect(running(0, { anchor: ANCHOR }));
    until(9.5);
    FakeSocket.last.breaks();
    // Held 4.5 s into the work, before the cut was even noticed: the wall has gone on into the rest.
    until(12.2);
    expect(stood.at(-1)?.text).toBe("0:06");
    connect(clockOf(2, { phase: "held", segment: 1, class_time: 4.5 * SECOND, added: 0 }));
    until(14);
    expect(stood.at(-1)?.text).toBe("0:02");
  });

  it("applies time that was added meanwhile", () => {
    const { stood, connect, until } = wall();
    connect(running(0, { anchor: ANCHOR }));
    until(9.5);
    FakeSocket.last.breaks();
    until(12.2);
    // The work began at 7004 and now has 66 s.
    connect({ ...running(1, { anchor: 7_004, added: 60 }), revision: 2 });
    until(12.4);
    expect(stood.at(-1)?.text).toBe("0:58");
  });
});
