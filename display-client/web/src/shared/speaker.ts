/**
 * The page's sound: the audio clock, the way out, and the touch or key without which browsers let no sound through.
 *
 * A browser may take the sound away again: a phone call interrupts it, and after that some browsers say that it runs
 * while its clock stands still. So every touch and key asks for it anew where it does not run, a refusal is no end,
 * and a clock that stands still is begun anew at the next touch.
 */
import { AudioClock } from "./audio-time";
import { deviceNow } from "./device";

/** A tone: hertz, start and length in seconds. */
export type Note = readonly [hertz: number, start: number, length: number];

/** Gestures that browsers take for a person's: a touch ends one with `pointerup`, a mouse begins one. */
const GESTURES = ["pointerdown", "pointerup", "click", "keydown"];
/** Full volume leaves room for tones that sound together. */
const LOUDEST = 0.8;
/** An audio clock that has not moved in so long stands still. */
const STANDS_FROM_US = 1_000_000;

export class Speaker {
  /** How much earlier sounds are played than they are to be heard, for an output that delays them; microseconds. */
  trim = 0;
  private loudness = 1;
  private context!: AudioContext;
  private out!: GainNode;
  private clock = new AudioClock();
  /** What the audio clock read when it was last seen to move, and when (device time). */
  private moved = { at: 0, read: -1 };
  private stands = false;

  /** @param changed called when sound is let through or shut off */
  constructor(private readonly changed: () => void) {
    this.open();
    for (const gesture of GESTURES) addEventListener(gesture, () => this.unlock(), { passive: true });
  }

  /** Whether no sound comes through until there is a touch or key. */
  get locked(): boolean {
    return this.context.state !== "running" || this.stands;
  }

  /** Volume, 0 to 1, as the ear takes it: half of it is a quarter of the amplitude. */
  set volume(volume: number) {
    this.loudness = Math.min(1, Math.max(0, volume));
    this.out.gain.value = LOUDEST * this.loudness ** 2;
  }

  /** Asks for sound to be let through. To be called from a touch or key. */
  unlock(): void {
    if (!this.locked) return;
    if (this.stands) {
      this.context.close().catch(() => {});
      this.open();
    }
    // Refused while a call is on: the next touch asks again.
    this.context.resume().catch(() => {});
  }

  /** The audio clock, in seconds. */
  get now(): number {
    return this.context.currentTime;
  }

  /** Reads the clocks; to be called a few times a second. */
  look(): void {
    const [now, read] = [deviceNow(), this.context.currentTime];
    const stood = this.stands;
    if (read !== this.moved.read || this.context.state !== "running") this.moved = { at: now, read };
    this.stands = now - this.moved.at > STANDS_FROM_US;
    if (this.stands !== stood) this.changed();
    if (this.locked) return;
    const { currentTime, baseLatency, outputLatency } = this.context;
    const timestamp = this.context.getOutputTimestamp?.();
    this.clock.take({ currentTime, timestamp, baseLatency, outputLatency }, now);
  }

  /** Audio clock time (seconds) at which to play what is to be heard at a device time (microseconds). */
  audioTime(device: number): number {
    return this.clock.at(device - this.trim);
  }

  /** Plays notes at an audio clock time, with a strength of 0 to 1. Returns what silences them. */
  play(notes: readonly Note[], at: number, strength: number): () => void {
    const tones = notes.map(([frequency, start, length]) => {
      const begin = Math.max(this.context.currentTime, at + start);
      const tone = new OscillatorNode(this.context, { type: "triangle", frequency });
      const shape = new GainNode(this.context, { gain: 0 });
      shape.gain.setValueAtTime(0, begin);
      shape.gain.linearRampToValueAtTime(strength, begin + Math.min(0.008, length / 4));
      shape.gain.setValueAtTime(strength, begin + length * 0.5);
      shape.gain.exponentialRampToValueAtTime(0.001, begin + length);
      tone.connect(shape).connect(this.out);
      tone.start(begin);
      tone.stop(begin + length + 0.02);
      return tone;
    });
    return () => {
      for (const tone of tones) tone.stop();
    };
  }

  private open(): void {
    this.context = new AudioContext({ latencyHint: "interactive" });
    this.out = new GainNode(this.context);
    this.out.connect(this.context.destination);
    this.volume = this.loudness;
    this.clock = new AudioClock();
    this.moved = { at: deviceNow(), read: -1 };
    this.stands = false;
    this.context.onstatechange = () => {
      // While it did not run, its clock stood still.
      this.clock = new AudioClock();
      this.look();
      this.changed();
    };
  }
}
