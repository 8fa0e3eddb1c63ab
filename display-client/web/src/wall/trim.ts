/**
 * The trim by listening and tapping: somebody taps on each tick that they hear, then each time they see the shape
 * full. How late they tap is mostly their own, the same in both, and falls out of the difference; what is left is how
 * much later the sound reaches them than the picture. Pure; times are milliseconds.
 *
 * Ears and eyes are not quite alike: people tap to what they hear some tens of milliseconds earlier than to what they
 * see (from memory). That is within what is noticed (see `shared/sound.ts`), and the ear can judge the rest.
 */

/** From tick to tick: one flash a second, a third of what WCAG 2.2 (2.3.1) allows. */
export const PERIOD_MS = 1_000;
/** Taps that are asked for; the first ones find the beat and are left out. */
export const TAPS = 10;
const FINDING = 2;
/** A touch that bounces is one. */
export const APART_MS = 300;
/** The middle half of the taps spread wider than this: the median of eight could be 30 ms off (our own choice). */
export const SPREAD_MAX_MS = 100;

export type Found =
  | { found: "trim"; trim: number }
  /** How wide the taps spread in the more uneven of the two, in milliseconds. */
  | { found: "uneven"; spread: number };

/** The trim from taps on ticks and taps on flashes, both in milliseconds after some tick. */
export function trimFrom(heard: readonly number[], seen: readonly number[]): Found {
  const [ear, eye] = [beat(heard), beat(seen)];
  const spread = Math.max(ear.spread, eye.spread);
  if (spread > SPREAD_MAX_MS) return { found: "uneven", spread };
  return { found: "trim", trim: turned(ear.middle - eye.middle) };
}

/** Where in the beat taps lie: their median, and how wide the middle half of them spreads. */
function beat(taps: readonly number[]): { middle: number; spread: number } {
  const after = taps.slice(FINDING);
  // The beat is a circle: a tap 10 ms before a tick is near one 10 ms after. So they are unrolled around their mean
  // direction before they are sorted.
  const angle = (tap: number) => (tap / PERIOD_MS) * 2 * Math.PI;
  const sum = (part: (angle: number) => number) => after.reduce((all, tap) => all + part(angle(tap)), 0);
  const mean = (Math.atan2(sum(Math.sin), sum(Math.cos)) / (2 * Math.PI)) * PERIOD_MS;
  const sorted = after.map((tap) => mean + turned(tap - mean)).sort((a, b) => a - b);
  return { middle: quantile(sorted, 0.5), spread: quantile(sorted, 0.75) - quantile(sorted, 0.25) };
}

/** A time by the nearest beat: from half a period before to half a period after. */
const turned = (time: number): number => time - Math.round(time / PERIOD_MS) * PERIOD_MS;

function quantile(sorted: readonly number[], share: number): number {
  const place = (sorted.length - 1) * share;
  const [below, above] = [sorted[Math.floor(place)] ?? 0, sorted[Math.ceil(place)] ?? 0];
  return below + (above - below) * (place - Math.floor(place));
}
