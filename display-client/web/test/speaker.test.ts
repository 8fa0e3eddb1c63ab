import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { Speaker } from "../src/shared/speaker";
import { audio, context, contexts, output } from "./audio";
import { page, pageIsOver } from "./page";

let shown: ReturnType<typeof page>;
beforeEach(() => {
  shown = page();
  vi.advanceTimersByTime(10_000);
  audio();
});
afterEach(pageIsOver);

/** A speaker that the browser keeps locked, and what was told of it. */
function locked() {
  const changed = vi.fn();
  const speaker = new Speaker(changed);
  context().state = "suspended";
  return { speaker, changed };
}
const settles = () => vi.advanceTimersByTimeAsync(0);

describe("a speaker that the browser keeps locked", () => {
  it.each(["pointerdown", "pointerup", "click", "keydown"])("is let through by %s", async (gesture) => {
    const { speaker, changed } = locked();
    expect(speaker.locked).toBe(true);
    shown.fire(gesture);
    await settles();
    expect(speaker.locked).toBe(false);
    expect(changed).toHaveBeenCalled();
  });

  it("asks again at the next touch when it is refused", async () => {
    const { speaker } = locked();
    output.resume = "refused";
    shown.fire("pointerup");
    await settles();
    expect(speaker.locked).toBe(true);
    output.resume = "runs";
    shown.fire("pointerup");
    await settles();
    expect(speaker.locked).toBe(false);
  });

  it("is asked for by each touch until it runs, and not any longer", async () => {
    const { speaker } = locked();
    output.resume = "waits";
    for (let times = 0; times < 3; times += 1) shown.fire("pointerup");
    expect(context().resumed).toBe(3);
    context().becomes("running");
    shown.fire("pointerup");
    expect([speaker.locked, context().resumed]).toEqual([false, 3]);
  });

  it("is locked again by a phone call, and comes back with a touch after it", async () => {
    const changed = vi.fn();
    const speaker = new Speaker(changed);
    context().becomes("interrupted");
    expect(speaker.locked).toBe(true);
    expect(changed).toHaveBeenCalledTimes(1);
    shown.fire("pointerup");
    await settles();
    expect(speaker.locked).toBe(false);
  });
});

describe("an audio clock that stands still though it is said to run", () => {
  it("counts as locked, and is begun anew at the next touch", async () => {
    const changed = vi.fn();
    const speaker = new Speaker(changed);
    const look = () => {
      vi.advanceTimersByTime(250);
      speaker.look();
    };
    for (let looks = 0; looks < 4; looks += 1) look();
    expect(speaker.locked).toBe(false);
    output.stands = true;
    for (let looks = 0; looks < 6; looks += 1) look();
    expect(speaker.locked).toBe(true);
    expect(changed).toHaveBeenCalledTimes(1);
    const broken = context();
    output.stands = false;
    shown.fire("pointerup");
    await settles();
    expect(broken.closed).toBe(true);
    expect(contexts.length).toBe(2);
    look();
    expect(speaker.locked).toBe(false);
  });
});

it("plays earlier by its trim, and by what the output delays", () => {
  const speaker = new Speaker(() => {});
  speaker.look();
  // The audio clock is a second behind the page's.
  expect(speaker.audioTime(12e6)).toBeCloseTo(11, 6);
  speaker.trim = 150_000;
  expect(speaker.audioTime(12e6)).toBeCloseTo(10.85, 6);
  speaker.trim = -40_000;
  expect(speaker.audioTime(12e6)).toBeCloseTo(11.04, 6);
});
