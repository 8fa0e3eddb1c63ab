/** What is set on this wall, and kept in its browser: how loud it is, and how much its sound lags its picture. */

export interface WallSettings {
  /** Per cent, in steps of 10. */
  volume: number;
  /** How much earlier sound is played, in milliseconds and steps of 10; less than 0 where the picture is the later one. */
  trim: number;
}

export const STEP = 10;
export const VOLUME_MAX = 100;
/** Longer delays than this would be another clock; wireless speakers have some 100 to 300 ms (common practice). */
export const TRIM_MAX = 500;

const KEY = "floorbell.wall";
const FIRST: WallSettings = { volume: VOLUME_MAX, trim: 0 };

/** What is kept; what cannot be is as at first. */
export function wallSettings(): WallSettings {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? "{}") as Partial<
      Record<keyof WallSettings, unknown>
    >;
    return {
      volume: within(kept.volume, 0, VOLUME_MAX) ?? FIRST.volume,
      trim: within(kept.trim, -TRIM_MAX, TRIM_MAX) ?? FIRST.trim,
    };
  } catch {
    return FIRST;
  }
}

/** Keeps settings, brought into their bounds and steps, and returns them. */
export function keepWallSettings({ volume, trim }: WallSettings): WallSettings {
  const bound = (value: number, least: number, most: number) =>
    Math.min(most, Math.max(least, Math.round(value / STEP) * STEP)) || 0;
  const kept = { volume: bound(volume, 0, VOLUME_MAX), trim: bound(trim, -TRIM_MAX, TRIM_MAX) };
  try {
    localStorage.setItem(KEY, JSON.stringify(kept));
  } catch {
    // They then last as long as the page.
  }
  return kept;
}

const within = (value: unknown, least: number, most: number): number | null =>
  typeof value === "number" && value >= least && value <= most ? value : null;

/** `120 ms earlier`, `40 ms later`, `0 ms`. */
export const trimWords = (trim: number): string =>
  trim === 0 ? "0 ms" : `${Math.abs(trim)} ms ${trim > 0 ? "earlier" : "later"}`;
