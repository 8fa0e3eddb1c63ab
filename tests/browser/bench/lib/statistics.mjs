// What figures are made of.

/** The value that a share of all does not exceed (the nearest rank); null where there are none. */
export function percentile(values, share) {
  const sorted = Float64Array.from(values).sort();
  return sorted.length === 0 ? null : sorted[Math.max(0, Math.ceil(share * sorted.length) - 1)];
}

/** p50, p99 and extremes of values in microseconds, as milliseconds. */
export function inMillis(values) {
  const at = (share) => millis(percentile(values, share));
  return { count: values.length, min: at(0), p1: at(0.01), p50: at(0.5), p99: at(0.99), max: at(1) };
}

/** Microseconds as milliseconds with two places. */
export const millis = (micros) => (micros === null ? null : Math.round(micros / 10) / 100);

/** Percent with two places; null of none. */
export const percent = (part, whole) => (whole === 0 ? null : Math.round((1e4 * part) / whole) / 100);

export const spread = (values) => Math.max(...values) - Math.min(...values);

/** Index of the last element not above `value` in a sorted array; -1 where there is none. */
export function lastUpTo(sorted, value) {
  let [low, high] = [0, sorted.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sorted[middle] <= value) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

/** The value at `x` of a line through points sorted by x; null outside of them. */
export function between(xs, ys, x) {
  const index = lastUpTo(xs, x);
  if (index < 0 || x > xs[xs.length - 1]) return null;
  if (xs[index] === x) return ys[index];
  const share = (x - xs[index]) / (xs[index + 1] - xs[index]);
  return ys[index] + share * (ys[index + 1] - ys[index]);
}

/** Chance from a seed (mulberry32, public domain by Tommy Ettinger): numbers in [0, 1). */
export function chance(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}
