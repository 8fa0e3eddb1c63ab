/**
 * What time this page computes, for measuring from outside: `floorbell.time(device)` in the page's console, with
 * `device` as of `performance.now()` in microseconds. It can only be read, and nothing in the pages reads it.
 */
import type { Sync } from "./sync";

export interface Instrument {
  /** House time and its bounds at a device time, in microseconds; null before the first exchange. */
  time(device: number): Reading | null;
}

export interface Reading {
  /** House time as shown, and how far it may be from the true one. */
  shown: number;
  shownBound: number;
  /** House time as taps are dated, and how far it may be from the true one. */
  estimate: number;
  bound: number;
}

/** Lets `sync` be read under the name `floorbell`. */
export function expose(sync: Pick<Sync, "shown" | "shownBound" | "estimate" | "bound">): void {
  const instrument: Instrument = {
    time(device) {
      const [shown, shownBound] = [sync.shown(device), sync.shownBound(device)];
      const [estimate, bound] = [sync.estimate(device), sync.bound(device)];
      if (shown === null || shownBound === null || estimate === null || bound === null) return null;
      return { shown, shownBound, estimate, bound };
    },
  };
  Object.defineProperty(globalThis, "floorbell", { configurable: true, value: Object.freeze(instrument) });
}
