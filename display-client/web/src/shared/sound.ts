/**
 * The cues as sounds, planned ahead on the audio clock at house time (rule 2.5).
 *
 * Sound and picture of a bell are meant for the same instant. People notice sound that is some 45 ms early or 125 ms
 * late (ITU-R BT.1359-1, considering (g); figures for broadcast picture and sound): what the program adds stays
 * well inside that, and a wall's trim takes up what its own television or speaker adds.
 */
import { type CueKind, cues } from "./cues";
import { deviceNow } from "./device";
import { AHEAD_US, type Due, LOOK_EVERY_MS, Schedule } from "./schedule";
import type { Note, Speaker } from "./speaker";
import { every } from "./ticker";
import type { Clock, Segment } from "./wire";

export interface SoundSource {
  clock: Clock;
  segments: readonly Segment[];
  /** House time as shown at a device time, microseconds. */
  houseTime: (device: number) => number | null;
}

/** A cue stays due for so long after its instant: an output may be heard later than it is shown. */
const BEHIND_US = 1_000_000;

/** Notes of each cue: hertz, start and length in seconds. Count-in and bells differ in pitch and in length. */
const NOTES: Record<CueKind, readonly Note[]> = {
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
  private readonly schedule: Schedule;

  /** @param source what to sound now; null while nothing is to sound, or there is no class or no house time */
  constructor(
    speaker: Speaker,
    private readonly source: () => SoundSource | null,
  ) {
    this.schedule = new Schedule(speaker);
    every(LOOK_EVERY_MS, () => this.look());
  }

  /** Plans what is due soon. Called by itself four times a second, and by the page when the clock changes. */
  look(): void {
    this.schedule.keep(this.due());
  }

  private due(): Map<string, Due> {
    const due = new Map<string, Due>();
    const source = this.source();
    const device = deviceNow();
    const house = source?.houseTime(device) ?? null;
    if (source === null || house === null) return due;
    for (const { kind, at } of cues(source.clock, source.segments, house - BEHIND_US, house + AHEAD_US)) {
      due.set(`${kind}@${at}`, { device: device + (at - house), notes: NOTES[kind], strength: 1 });
    }
    return due;
  }
}
