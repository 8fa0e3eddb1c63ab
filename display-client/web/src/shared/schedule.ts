/**
 * Sounds that are planned ahead on the audio clock. No timer fires a sound: a timer only looks ahead a little, so a
 * late one does no harm. What is due is told anew at each look; what has moved, as by a call or a correction, is taken
 * out and planned anew, and what has begun is left to sound.
 */
import type { Note, Speaker } from "./speaker";

/** What is to be heard. */
export interface Due {
  /** Device time at which it is to be heard, microseconds. */
  device: number;
  notes: readonly Note[];
  /** 0 to 1. */
  strength: number;
}

/** How far ahead sounds are planned: well over the look of a throttled timer, and the longest trim. */
export const AHEAD_US = 2_500_000;
export const LOOK_EVERY_MS = 250;
/** What is planned and off by more than this is planned anew. */
const OFF_MAX_S = 0.005;
/** What would be heard later than this is left out: a late bell is worse than a silent one. */
const LATE_MAX_S = 0.1;

export class Schedule {
  private readonly planned = new Map<string, { at: number; silence: () => void }>();

  constructor(private readonly speaker: Speaker) {}

  /** Makes just what is due be planned, each under its name. While no sound comes through, nothing is. */
  keep(due: ReadonlyMap<string, Due>): void {
    this.speaker.look();
    const now = this.speaker.now;
    const { locked } = this.speaker;
    for (const [name, { at, silence }] of this.planned) {
      const wanted = locked ? undefined : due.get(name);
      const begun = at <= now && !locked;
      const stays =
        wanted !== undefined && (begun || Math.abs(this.speaker.audioTime(wanted.device) - at) < OFF_MAX_S);
      if (stays) continue;
      if (!begun) silence();
      this.planned.delete(name);
    }
    if (locked) return;
    for (const [name, { device, notes, strength }] of due) {
      const at = this.speaker.audioTime(device);
      if (this.planned.has(name) || at < now - LATE_MAX_S) continue;
      this.planned.set(name, { at, silence: this.speaker.play(notes, at, strength) });
    }
  }
}
