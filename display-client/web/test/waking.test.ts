/** What a page does that comes back: shown again, on another network, or after its device slept. */
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { SECOND } from "../src/shared/clock";
import { Follower } from "../src/shared/follow";
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
const AHEAD = 9_000 * SECOND;
const deviceNow = () => performance.now() * 1000;

/** A page that is connected and has made its burst. */
function followed() {
  const settled = vi.fn();
  const follower = new Follower({ addresses: ["ws://house"], changed: () => {}, settled });
  FakeSocket.last.opens();
  answer();
  vi.advanceTimersByTime(1_000);
  return { follower, settled };
}

const asked = () => FakeSocket.last.sent.filter((message) => message.type === "sync");

/** Answers an exchange, the last one if none is given; `ahead` is house time less the page's own. */
function answer(ahead = AHEAD, exchange = asked().at(-1)): void {
  if (exchange?.type !== "sync") throw new Error("no exchange was begun");
  const at = deviceNow() + ahead;
  FakeSocket.last.says({ type: "sync", t0: exchange.t0, t1: at, t2: at });
}

/** The device sleeps, and its own clock stands still meanwhile. */
const sleep = (milliseconds: number) => vi.setSystemTime(Date.now() + milliseconds);

const waits = () => shown.marks.has("data-digits-wait");

describe("digits of a page that is shown again", () => {
  function away(follower: Follower, milliseconds: number): number {
    const last = follower.houseTime(deviceNow()) as number;
    shown.document.visibilityState = "hidden";
    shown.fire("visibilitychange");
    vi.advanceTimersByTime(milliseconds);
    shown.document.visibilityState = "visible";
    shown.fire("visibilitychange");
    return last;
  }

  it("stand, dimmed, until a fresh exchange has come back", () => {
    const { follower } = followed();
    const last = away(follower, 4_000);
    expect(waits()).toBe(true);
    expect(follower.houseTime(deviceNow())).toBe(last);
    vi.advanceTimersByTime(60);
    expect(follower.houseTime(deviceNow())).toBe(last);
    answer();
    expect(waits()).toBe(false);
    expect(follower.houseTime(deviceNow())).toBeCloseTo(deviceNow() + AHEAD, -2);
  });

  it("do not take an exchange for fresh that was begun before", () => {
    const { follower } = followed();
    vi.advanceTimersByTime(5_900);
    const before = asked().at(-1);
    away(follower, 1);
    answer(AHEAD, before);
    expect(waits()).toBe(true);
  });

  it("go on after half a second with what there is", () => {
    const { follower } = followed();
    FakeSocket.last.breaks();
    away(follower, 10_000);
    vi.advanceTimersByTime(499);
    expect(waits()).toBe(true);
    vi.advanceTimersByTime(1);
    expect(waits()).toBe(false);
    expect(follower.houseTime(deviceNow())).toBeCloseTo(deviceNow() + AHEAD, -3);
  });

  it("do not keep sounds waiting", () => {
    const { follower } = followed();
    away(follower, 90_000);
    expect(follower.soundTime(deviceNow())).toBeCloseTo(deviceNow() + AHEAD, -3);
  });
});

describe("a burst of eight exchanges", () => {
  it.each([
    ["the page is shown again", "visibilitychange"],
    ["the page comes out of the history", "pageshow"],
    ["the network is back", "online"],
    ["the device has changed its network", "change"],
  ])("is made when %s", (_, event) => {
    followed();
    const before = asked().length;
    shown.fire(event);
    vi.advanceTimersByTime(1_000);
    expect(asked().length - before).toBe(8);
  });

  it("is made when a frame finds that the device slept, and digits wait for it", () => {
    const { follower } = followed();
    const before = asked().length;
    const last = follower.houseTime(deviceNow());
    sleep(600_000);
    expect(follower.houseTime(deviceNow())).toBe(last);
    expect(waits()).toBe(true);
    vi.advanceTimersByTime(420);
    expect(asked().length - before).toBe(8);
    answer(AHEAD + 600 * SECOND);
    expect(follower.houseTime(deviceNow())).toBeCloseTo(deviceNow() + AHEAD + 600 * SECOND, -2);
  });

  it("ends a connection that answers none of it, and begins another", () => {
    followed();
    const sockets = FakeSocket.all.length;
    shown.fire("online");
    vi.advanceTimersByTime(2_999);
    expect(FakeSocket.all.length).toBe(sockets);
    vi.advanceTimersByTime(500);
    expect(FakeSocket.all.length).toBe(sockets + 1);
  });

  it("leaves a connection alone that answers", () => {
    followed();
    const sockets = FakeSocket.all.length;
    shown.fire("online");
    vi.advanceTimersByTime(100);
    answer();
    vi.advanceTimersByTime(4_000);
    expect(FakeSocket.all.length).toBe(sockets);
  });
});

describe("after a sleep", () => {
  it("a stamp knows of it at once, whatever woke the page, and moves on by it", () => {
    const { follower } = followed();
    sleep(60_000);
    const stamp = follower.stamp();
    expect(stamp?.made_at).toBeCloseTo(deviceNow() + AHEAD + 60 * SECOND, -3);
    expect(stamp?.bound).toBeGreaterThan(60 * SECOND);
    expect(follower.inDoubt()).toBe(deviceNow());
  });

  it("the first exchange settles what was stamped in doubt, by the device time at which it was made", () => {
    const { follower, settled } = followed();
    sleep(60_000);
    follower.stamp();
    const made = follower.inDoubt() as number;
    vi.advanceTimersByTime(60);
    // The device slept 61 s of house time, not what its wall clock said.
    answer(AHEAD + 61 * SECOND);
    expect(settled).toHaveBeenCalledTimes(1);
    expect(follower.inDoubt()).toBeNull();
    const stamp = follower.stamp(made);
    expect(stamp?.made_at).toBeCloseTo(made + AHEAD + 61 * SECOND, -2);
    expect(stamp?.bound).toBeLessThan(20_000);
  });

  it("an answer to what was asked before it is worth nothing", () => {
    const { follower, settled } = followed();
    vi.advanceTimersByTime(5_900);
    const before = asked().at(-1);
    vi.advanceTimersByTime(2);
    sleep(60_000);
    answer(AHEAD, before);
    expect(settled).not.toHaveBeenCalled();
    expect(follower.stamp()?.bound).toBeGreaterThan(60 * SECOND);
  });

  it("a device time before it can no longer be stamped", () => {
    const { follower } = followed();
    const before = deviceNow() - 1;
    sleep(60_000);
    follower.stamp();
    answer(AHEAD + 60 * SECOND);
    expect(follower.stamp(before)).toBeNull();
  });

  it("a page that was held up between two clocks takes that for no sleep, and still finds one", () => {
    const { follower } = followed();
    vi.spyOn(Date, "now").mockImplementationOnce(() => {
      vi.advanceTimersByTime(300);
      return Number(vi.getMockedSystemTime());
    });
    follower.houseTime(deviceNow());
    expect([follower.inDoubt(), waits()]).toEqual([null, false]);
    sleep(60_000);
    follower.houseTime(deviceNow());
    expect(waits()).toBe(true);
  });

  it("a wall clock that was set by years moves nothing, and is doubted until the next exchange", () => {
    const { follower } = followed();
    sleep(3 * 365 * 24 * 3_600_000);
    expect(follower.stamp()?.made_at).toBeCloseTo(deviceNow() + AHEAD, -3);
    answer();
    expect(follower.stamp()?.bound).toBeLessThan(10_000);
  });
});
