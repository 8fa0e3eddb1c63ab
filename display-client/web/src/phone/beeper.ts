/**
 * The phone's sound: one way out for its bells and its own timer, and the sounds of that timer, planned ahead on the
 * audio clock like every other (rule 2.5).
 */

import { SECOND } from "../shared/clock";
import { deviceNow } from "../shared/device";
import { AHEAD_US, type Due, LOOK_EVERY_MS, Schedule } from "../shared/schedule";
import { type Note, Speaker } from "../shared/speaker";
import { every } from "../shared/ticker";
import { type Plan, ticks } from "./timer";

/** The start of a part, and a second of it. */
const STRONG: readonly Note[] = [[880, 0, 0.25]];
const PLAIN: readonly Note[] = [[587, 0, 0.08]];
/** Softer than a bell: it is for one person. */
const STRENGTH = 0.5;
/** A tick stays due for so long after its instant. */
const BEHIND_US = SECOND;

let speaker: Speaker | undefined;
let stop = (): void => {};

/** The phone's way out for sound, made when it is first wanted. */
export function phoneSpeaker(): Speaker {
  speaker ??= new Speaker(() => {});
  return speaker;
}

/**
 * Sounds a timer that starts at a device time; a former one ends. Call it from a touch, or the browser stays silent.
 */
export function startBeeps(plan: Plan, start: number): void {
  stopBeeps();
  const way = phoneSpeaker();
  way.unlock();
  const schedule = new Schedule(way);
  const all = ticks(plan).map(({ at, strong }) => ({ device: start + at * SECOND, strong }));
  const look = () => {
    const now = deviceNow();
    const due = all.filter(({ device }) => device > now - BEHIND_US && device < now + AHEAD_US);
    schedule.keep(
      new Map(
        due.map(({ device, strong }): [string, Due] => [
          `${device}`,
          { device, notes: strong ? STRONG : PLAIN, strength: STRENGTH },
        ]),
      ),
    );
  };
  look();
  const end = every(LOOK_EVERY_MS, look);
  stop = () => {
    end();
    schedule.keep(new Map());
  };
}

export function stopBeeps(): void {
  stop();
  stop = () => {};
}
