import { afterEach, beforeEach, expect, it, vi } from "vitest";
import { Follower } from "../src/shared/follow";
import type { Instrument } from "../src/shared/instrument";
import type { Clock, FromDevice, State } from "../src/shared/wire";
import { running } from "./make";
import { FakeSocket, page, pageIsOver } from "./page";

let shown: ReturnType<typeof page>;
beforeEach(() => {
  shown = page();
  vi.spyOn(Math, "random").mockReturnValue(0.5);
});
afterEach(() => {
  vi.restoreAllMocks();
  pageIsOver();
});

/** House time is this far ahead of the page's own. */
const AHEAD = 9_000_000_000;

function followed() {
  const changed = vi.fn();
  const lost = vi.fn();
  const follower = new Follower({ addresses: ["ws://house"], changed, lost, waiting: () => 2 });
  FakeSocket.last.opens();
  return { follower, changed, lost };
}

/** Answers the last exchange at once. */
function answer(): void {
  const asked = FakeSocket.last.sent.findLast((message) => message.type === "sync");
  if (asked?.type !== "sync") throw new Error("no exchange was begun");
  FakeSocket.last.says({ type: "sync", t0: asked.t0, t1: asked.t0 + AHEAD, t2: asked.t0 + AHEAD });
}

function state(clock: Clock): State {
  const session = {
    title: "Tuesday",
    date: null,
    slot: null,
    people: null,
    notes: [],
    whole_class: "places",
    blocks: [],
  };
  const now = { clock, segments: [], swaps: [], started: null, closed: false, rows: [] };
  return { number: 1, class: "class", session, scoring: [], join: null, ...now } as State;
}

const sent = (type: FromDevice["type"]) => FakeSocket.last.sent.filter((message) => message.type === type);

it("says who it is, then makes a burst of eight exchanges, then one every five to eight seconds", () => {
  followed();
  expect(FakeSocket.last.types().slice(0, 2)).toEqual(["hello", "sync"]);
  vi.advanceTimersByTime(1_000);
  expect(sent("sync").length).toBe(8);
  vi.advanceTimersByTime(7_500);
  expect(sent("sync").length).toBe(9);
});

it("makes four exchanges at a time while its bound is loose", () => {
  followed();
  answer();
  vi.advanceTimersByTime(1_000);
  vi.advanceTimersByTime(8_200);
  expect(sent("sync").length).toBe(8 + 1);
  // Half of 12 ms is a loose bound; it stands until an exchange proves more.
  const { follower } = followed();
  const asked = sent("sync").at(-1) as Extract<FromDevice, { type: "sync" }>;
  vi.advanceTimersByTime(12);
  FakeSocket.last.says({ type: "sync", t0: asked.t0, t1: asked.t0 + AHEAD, t2: asked.t0 + AHEAD });
  expect(follower.stamp()?.bound).toBeGreaterThan(5_000);
  vi.advanceTimersByTime(1_000);
  vi.advanceTimersByTime(8_200);
  expect(sent("sync").length).toBe(8 + 4);
});

it("has house time from the first answer on, and stamps taps with it", () => {
  const { follower } = followed();
  expect(follower.stamp()).toBeNull();
  answer();
  const now = performance.now() * 1000;
  expect(follower.stamp()?.made_at).toBeCloseTo(now + AHEAD, -2);
  expect(follower.stamp()?.bound).toBeGreaterThan(0);
});

it("lets what it computes be read from outside, and only read", () => {
  const { follower } = followed();
  const { floorbell } = globalThis as unknown as { floorbell: Instrument };
  const now = performance.now() * 1000;
  expect(floorbell.time(now)).toBeNull();
  answer();
  expect(floorbell.time(now)).toEqual({
    shown: follower.houseTime(now),
    shownBound: follower.sync.shownBound(now),
    estimate: follower.sync.estimate(now),
    bound: follower.sync.bound(now),
  });
  expect(() => Object.assign(floorbell, { time: () => null })).toThrow(TypeError);
});

it("reports its bound and the taps that wait, after a burst and after each exchange that follows", () => {
  followed();
  answer();
  vi.advanceTimersByTime(1_000);
  expect(sent("report")).toMatchObject([{ waiting: 2 }]);
  vi.advanceTimersByTime(7_500);
  expect(sent("report").length).toBe(2);
});

it("makes another burst when the page is shown again", () => {
  followed();
  vi.advanceTimersByTime(1_000);
  shown.fire("visibilitychange");
  vi.advanceTimersByTime(1_000);
  expect(sent("sync").length).toBe(16);
});

it("doubts its clock when the wall clock ran ahead of it, until the next answer", () => {
  const { follower } = followed();
  answer();
  vi.advanceTimersByTime(10);
  vi.setSystemTime(Date.now() + 60_000);
  shown.fire("visibilitychange");
  expect(follower.stamp()?.bound).toBeGreaterThan(60_000_000);
  answer();
  expect(follower.stamp()?.bound).toBeLessThan(10_000);
});

it("moves on by a sleep that it had without a connection", () => {
  const { follower } = followed();
  answer();
  FakeSocket.last.breaks();
  const before = follower.stamp()?.made_at ?? 0;
  vi.setSystemTime(Date.now() + 60_000);
  shown.fire("visibilitychange");
  expect(follower.stamp()?.made_at).toBeCloseTo(before + 60_000_000, -3);
});

it("confirms the stop notice once, in the frame after it was shown", () => {
  const { changed } = followed();
  FakeSocket.last.says({ type: "state", ...state(running(0, {})) });
  const stopped: Clock = { revision: 2, phase: { phase: "gathering" }, stopped: true };
  changed.mockClear();
  for (let times = 0; times < 3; times += 1)
    FakeSocket.last.says({ type: "stop", clock: stopped, saved: true });
  expect(changed).toHaveBeenCalled();
  expect(sent("stop-seen")).toEqual([]);
  vi.advanceTimersByTime(20);
  expect(sent("stop-seen")).toEqual([{ type: "stop-seen", revision: 2 }]);
});

it("tells whether the house had let it in when the connection is lost", () => {
  const { lost } = followed();
  FakeSocket.last.breaks("who are you?");
  expect(lost).toHaveBeenLastCalledWith(false, "who are you?");
  vi.advanceTimersByTime(250);
  FakeSocket.last.opens();
  FakeSocket.last.says({
    type: "welcome",
    role: "coach",
    generation: "g",
    house: "Quayside Hall",
    emergency: "112",
    places: true,
  });
  FakeSocket.last.breaks();
  expect(lost).toHaveBeenLastCalledWith(true, "");
});

it("drops a connection on which nothing is heard any more", () => {
  followed();
  answer();
  vi.advanceTimersByTime(60_000);
  expect(FakeSocket.all.length).toBeGreaterThan(1);
});
