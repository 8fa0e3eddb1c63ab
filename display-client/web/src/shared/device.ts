/** The device's own clock: the only place of the pages that reads it. Microseconds since the page's zero. */
export const deviceNow = (): number => performance.now() * 1000;

/** Browsers coarsen their clock, to 1 ms at most where they do not hide from fingerprinting. */
const RESOLUTION_MAX_TRIES = 50_000;

/** Smallest step that the device's clock was seen to make, in microseconds. */
export function resolution(now: () => number = deviceNow): number {
  const start = now();
  for (let tries = 0; tries < RESOLUTION_MAX_TRIES; tries += 1) {
    const step = now() - start;
    if (step > 0) return Math.max(1, step);
  }
  return 1_000;
}
