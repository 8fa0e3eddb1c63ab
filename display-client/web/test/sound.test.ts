import { afterEach, beforeEach, expect, it, vi } from "vitest";
import { SECOND } from "../src/shared/clock";
import { Sound, type SoundSource } from "../src/shared/sound";
import { running, segment } from "./make";
import { page, pageIsOver } from "./page";

/** An audio clock that runs with the page's, a second behind it. */
let tones: { start: number; stopped: boolean }[] = [];
let audio: { state: string };
const audioNow = () => performance.now() / 1000 - 1;

class FakeParameter {
  value = 0;
  setValueAtTime() {}
  linearRampToValueAtTime() {}
  exponentialRampToValueAtTime() {}
}
class FakeNode {
  gain = new FakeParameter();
  connect(other: unknown) {
    return other;
  }
}
class FakeTone extends FakeNode {
  private readonly tone = { start: 0, stopped: false };
  start(at: number) {
    this.tone.start = at;
    tones.push(this.tone);
  }
  stop(at?: number) {
    if (at === undefined) this.tone.stopped = true;
  }
}
class FakeContext {
  state = "running";
  destination = {};
  outputLatency = 0;
  onstatechange = () => {};
  constructor() {
    audio = this;
  }
  get currentTime() {
    return audioNow();
  }
  getOutputTimestamp() {
    return { contextTime: audioNow(), performanceTime: performance.now() };
  }
  async resume() {
    this.state = "running";
  }
}

beforeEach(() => {
  page();
  vi.advanceTimersByTime(10_000);
  tones = [];
  vi.stubGlobal("AudioContext", FakeContext);
  vi.stubGlobal("GainNode", FakeNode);
  vi.stubGlobal("OscillatorNode", FakeTone);
});
afterEach(pageIsOver);

const segments = [segment("lead-in", 10, "next"), segment("work", 60, "wait", { announce: false })];
const startsAt = (anchor: number): SoundSource => ({
  clock: running(0, { anchor }),
  segments,
  houseTime: (device) => device,
});
const starts = () =>
  tones.filter(({ stopped }) => !stopped).map(({ start }) => Math.round(start * 1000) / 1000);

it("schedules the count-in ahead on the audio clock, each cue once", () => {
  // House time is the page's own: the lead-in runs from 10 s to 20 s, on the audio clock from 9 s to 19 s.
  new Sound(
    () => startsAt(10),
    () => {},
  );
  vi.advanceTimersByTime(9_000);
  expect(starts()).toEqual([16, 17, 18, 19]);
});

it("takes back what a call has made untrue, and schedules anew where a bell was moved", () => {
  let source: SoundSource | null = startsAt(10);
  const sound = new Sound(
    () => source,
    () => {},
  );
  vi.advanceTimersByTime(5_000);
  expect(starts()).toEqual([16]);
  source = startsAt(10.2);
  sound.look();
  expect(starts()).toEqual([16.2]);
  source = {
    ...startsAt(10),
    clock: {
      revision: 2,
      phase: { phase: "held", segment: 0, class_time: 5 * SECOND, added: 0 },
      stopped: false,
    },
  };
  sound.look();
  expect(starts()).toEqual([]);
});

it("schedules nothing while the browser lets no sound through", () => {
  const sound = new Sound(
    () => startsAt(10),
    () => {},
  );
  audio.state = "suspended";
  expect(sound.locked).toBe(true);
  vi.advanceTimersByTime(9_000);
  expect(tones).toEqual([]);
});
