import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { SECOND, type Standing, showing } from "../src/shared/clock";
import { Face } from "../src/shared/face";
import { Sound, type SoundSource } from "../src/shared/sound";
import { Speaker } from "../src/shared/speaker";
import { audio, context, heard, heardAt, output, tones } from "./audio";
import { running, segment } from "./make";
import { page, pageIsOver } from "./page";

beforeEach(() => {
  page();
  vi.advanceTimersByTime(10_000);
  audio();
});
afterEach(pageIsOver);

/** House time is the page's own: the lead-in runs from 10 s to 20 s. */
const segments = [segment("lead-in", 10, "next"), segment("work", 60, "wait", { announce: false })];
const startsAt = (anchor: number): SoundSource => ({
  clock: running(0, { anchor }),
  segments,
  houseTime: (device) => device,
});

function sounding(source: () => SoundSource | null) {
  const speaker = new Speaker(() => {});
  return { speaker, sound: new Sound(speaker, source) };
}

it("plans the count-in ahead on the audio clock, each cue once", () => {
  sounding(() => startsAt(10));
  vi.advanceTimersByTime(7_000);
  expect(heard()).toEqual([17, 18, 19]);
  vi.advanceTimersByTime(3_000);
  expect(heard()).toEqual([17, 18, 19, 20]);
});

it("takes back what a call has made untrue, and plans anew where a bell was moved", () => {
  let source: SoundSource | null = startsAt(10);
  const { sound } = sounding(() => source);
  vi.advanceTimersByTime(5_000);
  expect(heard()).toEqual([17]);
  source = startsAt(10.2);
  sound.look();
  expect(heard()).toEqual([17.2]);
  source = {
    ...startsAt(10),
    clock: {
      revision: 2,
      phase: { phase: "held", segment: 0, class_time: 5 * SECOND, added: 0 },
      stopped: false,
    },
  };
  sound.look();
  expect(heard()).toEqual([]);
});

it("plans nothing while the browser lets no sound through, and what is to come once it does", () => {
  const { speaker, sound } = sounding(() => startsAt(10));
  context().becomes("suspended");
  expect(speaker.locked).toBe(true);
  vi.advanceTimersByTime(8_500);
  expect(tones).toEqual([]);
  context().becomes("running");
  sound.look();
  expect(heard()).toEqual([19, 20]);
});

it("leaves out what would be heard too late, as after a call in the last moment", () => {
  output.latency = 0.3;
  let source: SoundSource | null = null;
  const { sound } = sounding(() => source);
  vi.advanceTimersByTime(6_900);
  source = startsAt(10);
  sound.look();
  // 17 s is 0.1 s ahead, and the output is 0.3 s late.
  expect(heard()).toEqual([18, 19]);
});

it("plays each cue once though the readings of the audio clock are uneven", () => {
  sounding(() => startsAt(10));
  for (let step = 0; step < 110; step += 1) {
    output.latency = step % 3 === 0 ? 0.02 : 0.05;
    vi.advanceTimersByTime(100);
  }
  expect(tones.filter(({ stopped }) => !stopped).length).toBe(4);
});

/** ITU-R BT.1359-1: people notice sound that is 45 ms early or 125 ms late. What the program adds is far inside that. */
describe("a bell is heard when it is seen", () => {
  /** When (page's clock, seconds) the frame begins in which the digits of a 60 Hz screen come to those of the work. */
  function seen(from: number): number {
    const face = new Face();
    const source = startsAt(10);
    for (let frame = from; ; frame += 1 / 60) {
      const aim = (frame + 1 / 120) * SECOND;
      if (face.isStale(aim) || face.text.data === "")
        face.show(showing(source.clock, segments, aim) as Standing, aim);
      face.frame(aim);
      if (face.text.data === "1:00") return frame;
    }
  }

  it.each([
    ["at once", { latency: 0 }],
    ["through a screen's speakers", { latency: 0.04 }],
    ["through a slow wireless speaker", { latency: 0.32 }],
    ["where only a latency is told", { latency: 0.04, timestamps: false }],
    ["on a fast audio clock", { latency: 0.02, rate: 1 + 100e-6 }],
    ["on a slow audio clock", { latency: 0.02, rate: 1 - 100e-6 }],
  ])("%s", (_, how) => {
    Object.assign(output, how);
    sounding(() => startsAt(10));
    vi.advanceTimersByTime(10_000);
    const bell = tones.findLast(({ hertz, stopped }) => hertz === 932 && !stopped);
    const at = heardAt(bell?.start ?? 0);
    expect(Math.abs(at - 20)).toBeLessThan(0.002);
    for (const phase of [0, 0.004, 0.008, 0.012]) {
      const skew = at - seen(19.5 + phase);
      expect(Math.abs(skew)).toBeLessThan(0.5 / 60 + 0.002);
    }
  });

  it("earlier by the trim of a wall whose speaker adds a delay that no browser knows of", () => {
    const { speaker } = sounding(() => startsAt(10));
    speaker.trim = 180_000;
    vi.advanceTimersByTime(10_000);
    expect(heard()).toEqual([16.82, 17.82, 18.82, 19.82]);
  });

  it("later by a trim below nothing, after the house's instant has passed", () => {
    const { speaker } = sounding(() => startsAt(10));
    speaker.trim = -500_000;
    vi.advanceTimersByTime(10_400);
    expect(heard()).toEqual([17.5, 18.5, 19.5, 20.5]);
  });
});
