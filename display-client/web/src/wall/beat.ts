/**
 * The beat by which a wall's trim is found: a tick each second, and a shape that is full when it ticks. The tick goes
 * the way of every bell, so it has the same delays; the shape is calm, and flashes once a second.
 */
import { deviceNow } from "../shared/device";
import { AHEAD_US, type Due, LOOK_EVERY_MS, Schedule } from "../shared/schedule";
import type { Note, Speaker } from "../shared/speaker";
import { every } from "../shared/ticker";
import { element } from "./dom";
import { PERIOD_MS } from "./trim";

/** Short, so that its instant is plain. */
const TICK: readonly Note[] = [[880, 0, 0.06]];
const PERIOD_US = PERIOD_MS * 1000;
/** How much of a beat the shape stays full, to be seen. */
const FULL = 0.14;

export class Beat {
  readonly root = element("div", "beat");
  private readonly disc = element("div", "beat-disc");
  private readonly schedule: Schedule;
  private start = 0;
  private end: (() => void) | null = null;

  constructor(speaker: Speaker) {
    this.schedule = new Schedule(speaker);
    this.root.append(this.disc);
  }

  /** Begins anew, with ticks, the shape, or both. */
  begin({ sounds, shows }: { sounds: boolean; shows: boolean }): void {
    this.stop();
    this.start = deviceNow();
    this.root.hidden = !shows;
    this.disc.style.transform = "scale(0)";
    const look = () => this.schedule.keep(sounds ? this.due() : new Map());
    look();
    this.end = every(LOOK_EVERY_MS, look);
  }

  stop(): void {
    this.end?.();
    this.end = null;
    this.schedule.keep(new Map());
    this.root.hidden = true;
  }

  /** Plans anew at once, as when the trim was changed. */
  look(): void {
    if (this.end !== null) this.schedule.keep(this.due());
  }

  /** One frame, that is to be true at device time `aim`. */
  frame(aim: number): void {
    if (this.root.hidden) return;
    const beats = (aim - this.start) / PERIOD_US;
    const [whole, part] = [Math.floor(beats), beats - Math.floor(beats)];
    const full = whole > 0 && part < FULL;
    this.root.classList.toggle("full", full);
    this.disc.style.transform = `scale(${full ? 1 : part})`;
  }

  /** Milliseconds from the first beat to an event's time. */
  since(timestamp: number): number {
    return timestamp - this.start / 1000;
  }

  private due(): Map<string, Due> {
    const now = deviceNow();
    const due = new Map<string, Due>();
    const first = Math.max(1, Math.floor((now - this.start) / PERIOD_US));
    for (let beat = first; this.start + beat * PERIOD_US < now + AHEAD_US; beat += 1) {
      due.set(`${beat}`, { device: this.start + beat * PERIOD_US, notes: TICK, strength: 1 });
    }
    return due;
  }
}
