/** A Web Audio that the tests hold: its clock runs by the page's, and every tone that is planned is seen. */
import { vi } from "vitest";

export interface Tone {
  /** Audio clock, seconds. */
  start: number;
  hertz: number;
  stopped: boolean;
}

/** How the fake's clock runs against the page's, and what it says of itself. */
export interface Output {
  /** Audio seconds for each second of the page's clock. */
  rate: number;
  /** From what is rendered to what is heard, in seconds. */
  latency: number;
  /** Whether `getOutputTimestamp` tells; otherwise `outputLatency` does. */
  timestamps: boolean;
  /** Whether the clock stands still though it is said to run. */
  stands: boolean;
  /** What `resume` answers with: it lets sound through, refuses, or waits for a gesture. */
  resume: "runs" | "refused" | "waits";
}

export const tones: Tone[] = [];
export const contexts: FakeContext[] = [];
export const output: Output = { rate: 1, latency: 0, timestamps: true, stands: false, resume: "runs" };

/** Begins a second behind the page's clock. */
const BEHIND_S = 1;

/** Audio clock of what is rendered at a time of the page's clock, in seconds. */
const rendered = (page: number) => (page - BEHIND_S) * output.rate;

/** When (page's clock, seconds) what is planned at `start` of the audio clock is heard. */
export const heardAt = (start: number): number => start / output.rate + BEHIND_S + output.latency;

class FakeParameter {
  value = 0;
  setValueAtTime() {}
  linearRampToValueAtTime() {}
  exponentialRampToValueAtTime() {}
}

class FakeNode {
  readonly gain = new FakeParameter();
  connect(other: unknown) {
    return other;
  }
}

class FakeTone extends FakeNode {
  private readonly tone: Tone;
  constructor(_: unknown, { frequency }: { frequency: number }) {
    super();
    this.tone = { start: 0, hertz: frequency, stopped: false };
  }
  start(at: number) {
    this.tone.start = at;
    tones.push(this.tone);
  }
  stop(at?: number) {
    if (at === undefined) this.tone.stopped = true;
  }
}

export class FakeContext {
  state = "running";
  closed = false;
  resumed = 0;
  readonly destination = {};
  readonly baseLatency = 0;
  onstatechange = () => {};
  private stood: number | null = null;

  constructor() {
    contexts.push(this);
  }
  get outputLatency() {
    return output.timestamps ? 0 : output.latency;
  }
  get currentTime() {
    const now = rendered(performance.now() / 1000);
    if (!output.stands) this.stood = null;
    else this.stood ??= now;
    return this.stood ?? now;
  }
  getOutputTimestamp() {
    if (!output.timestamps) return { contextTime: 0, performanceTime: 0 };
    const page = performance.now() / 1000;
    return { contextTime: rendered(page - output.latency), performanceTime: page * 1000 };
  }
  async resume() {
    this.resumed += 1;
    if (output.resume === "refused") throw new DOMException("interrupted", "InvalidStateError");
    if (output.resume === "runs") this.becomes("running");
  }
  async close() {
    this.closed = true;
  }
  becomes(state: string) {
    this.state = state;
    this.onstatechange();
  }
}

export function audio(): void {
  tones.length = contexts.length = 0;
  Object.assign(output, { rate: 1, latency: 0, timestamps: true, stands: false, resume: "runs" });
  vi.stubGlobal("AudioContext", FakeContext);
  vi.stubGlobal("GainNode", FakeNode);
  vi.stubGlobal("OscillatorNode", FakeTone);
}

export const context = (): FakeContext => contexts.at(-1) as FakeContext;

/** When what is planned and stands will be heard, in seconds of the page's clock to the millisecond. */
export const heard = (): number[] =>
  tones.filter(({ stopped }) => !stopped).map(({ start }) => Math.round(heardAt(start) * 1000) / 1000);
