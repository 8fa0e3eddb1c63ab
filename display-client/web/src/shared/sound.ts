/**
 * The cues as sounds, scheduled ahead on the audio clock at house time (rule 2.5). No timer fires a sound: a timer
 * only looks ahead a little, so a late one does no harm. When a call or a correction moves a cue that has been
 * scheduled, it is taken out and scheduled anew.
 */
import { type CueKind, cues } from "./cues";
import { deviceNow } from "./device";
import type { Clock, Segment } from "./wire";

export interface SoundSource {
  clock: Clock;
  segments: readonly Segment[];
  /** House time as shown at a device time, microseconds. */
  houseTime: (device: number) => number | null;
}

interface Scheduled {
  /** Audio clock, seconds. */
  at: number;
  nodes: OscillatorNode[];
}

/** How far ahead sounds are scheduled: well over a throttled timer's second. */
const AHEAD_US = 2_500_000;
const LOOK_EVERY_MS = 250;
/** A scheduled cue that is off by more than this is scheduled anew. */
const OFF_MAX_S = 0.005;

/** Notes of each cue: hertz, start and length in seconds. Count-in and bells differ in pitch and in length. */
const NOTES: Record<CueKind, readonly (readonly [hertz: number, start: number, length: number])[]> = {
  three: [[622, 0, 0.11]],
  two: [[622, 0, 0.11]],
  one: [[622, 0, 0.11]],
  go: [[932, 0, 0.7]],
  bell: [
    [784, 0, 0.35],
    [523, 0.18, 0.9],
  ],
  "half-way": [
    [523, 0, 0.16],
    [659, 0.2, 0.3],
  ],
  "one-minute": [
    [659, 0, 0.16],
    [523, 0.2, 0.3],
  ],
  "ten-seconds": [
    [587, 0, 0.08],
    [587, 0.14, 0.08],
    [587, 0.28, 0.16],
  ],
};

export class Sound {
  private readonly context = new AudioContext({ latencyHint: "interactive" });
  private readonly out = new GainNode(this.context, { gain: 0.8 });
  private readonly scheduled = new Map<string, Scheduled>();

  /**
   * @param source what to sound now; null while there is no class or no house time
   * @param changed called when sound is let through or shut off
   */
  constructor(
    private readonly source: () => SoundSource | null,
    changed: () => void,
  ) {
    this.out.connect(this.context.destination);
    this.context.onstatechange = changed;
    setInterval(() => this.look(), LOOK_EVERY_MS);
    for (const gesture of ["pointerdown", "keydown"]) {
      addEventListener(gesture, () => void this.context.resume(), { passive: true });
    }
  }

  /** Whether the browser waits for a touch or key before it lets sound through. */
  get locked(): boolean {
    return this.context.state !== "running";
  }

  /** Volume, 0 to 1. */
  set volume(volume: number) {
    this.out.gain.value = Math.min(1, Math.max(0, volume));
  }

  /** Schedules what is due soon. Called by itself four times a second, and by the page when the clock changes. */
  look(): void {
    const due = this.locked ? new Map<string, readonly [CueKind, number]>() : this.due();
    for (const [key, { at, nodes }] of this.scheduled) {
      const planned = due.get(key)?.[1];
      const stays = planned !== undefined && Math.abs(planned - at) < OFF_MAX_S;
      if (at > this.context.currentTime && !stays) for (const node of nodes) node.stop();
      if (at <= this.context.currentTime - 2 || !stays) this.scheduled.delete(key);
    }
    for (const [key, [kind, at]] of due) {
      if (!this.scheduled.has(key)) this.scheduled.set(key, { at, nodes: this.play(kind, at) });
    }
  }

  /** The cues of the next seconds by name, each with its audio clock time. */
  private due(): Map<string, readonly [CueKind, number]> {
    const due = new Map<string, readonly [CueKind, number]>();
    const source = this.source();
    const device = deviceNow();
    const house = source?.houseTime(device) ?? null;
    if (source === null || house === null) return due;
    for (const { kind, at } of cues(source.clock, source.segments, house, house + AHEAD_US)) {
      due.set(`${kind}@${at}`, [kind, this.audioTime(device + (at - house))]);
    }
    return due;
  }

  /** Audio clock time (seconds) whose sound is heard at a device time. */
  private audioTime(device: number): number {
    const { contextTime, performanceTime } = this.context.getOutputTimestamp();
    if (contextTime && performanceTime) return contextTime + (device / 1000 - performanceTime) / 1000;
    return this.context.currentTime + (device - deviceNow()) / 1e6 - (this.context.outputLatency || 0);
  }

  private play(kind: CueKind, at: number): OscillatorNode[] {
    return NOTES[kind].map(([frequency, start, length]) => {
      const begin = Math.max(this.context.currentTime, at + start);
      const tone = new OscillatorNode(this.context, { type: "triangle", frequency });
      const shape = new GainNode(this.context, { gain: 0 });
      shape.gain.setValueAtTime(0, begin);
      shape.gain.linearRampToValueAtTime(1, begin + 0.008);
      shape.gain.setValueAtTime(1, begin + length * 0.5);
      shape.gain.exponentialRampToValueAtTime(0.001, begin + length);
      tone.connect(shape).connect(this.out);
      tone.start(begin);
      tone.stop(begin + length + 0.02);
      return tone;
    });
  }
}
