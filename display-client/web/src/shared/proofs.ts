/**
 * What the exchanges of the last quarter of an hour prove together, and the estimate in the middle of it; as
 * `core/src/sync/proofs.rs` does it. Pure; microseconds.
 *
 * An exchange proves two things of the offset, house time minus device time: when it was sent it was at most
 * t1 - t0, when it was back at least t2 - t3. Carried to the present along a rate (how much faster house time runs),
 * each is a half of the plane of rate and offset. The halves of all exchanges leave a convex polygon, in which the
 * truth lies. Its centroid is the estimate, its extent the error.
 */

/** How wrong the rate of a device's clock may be before it has been measured, as a fraction. */
export const RATE_UNKNOWN = 100e-6;
/** How unsure a measured rate stays: RFC 5905's PHI. */
const RATE_FLOOR = 15e-6;
/** How far the mean rate over the last quarter of an hour may be from the present one, as a fraction. */
const WANDER = 5e-6;
/** Proofs older than this are dropped. */
const AGE_MAX = 15 * 60_000_000;
/** Exchanges within so long of each other share one place, which keeps the closest of either way: at most 91 places. */
const PLACE = 10_000_000;
/** Wider than any two exchanges can differ in offset: where the polygon begins. */
const WIDE = 1e12;
/** A polygon smaller than this (microseconds of offset by ppm of rate) is taken for its corners. */
const AREA_LEAST = 1e-9;

/** The offset at an instant of device time is at most, or at least, this. */
export interface Proof {
  at: number;
  offset: number;
}

interface Place {
  since: number;
  most: Proof;
  least: Proof;
}

/** The estimate that the proofs allow at device time `at`. */
export interface Fit {
  at: number;
  /** House time minus device time, and how far off it may be. */
  offset: number;
  error: number;
  /** How much faster house time runs than the device's clock, as a fraction, and how far off that may be. */
  rate: number;
  unsure: number;
}

/** A corner of the polygon: the rate in ppm, and the offset from a base. */
type Corner = readonly [rate: number, offset: number];

const carried = ({ offset, at }: Proof, now: number, rate: number): number => offset + rate * (now - at);

export class Proofs {
  private places: Place[] = [];
  private rates: readonly [number, number] = [-RATE_UNKNOWN, RATE_UNKNOWN];

  /** None yet, for a device whose rate was measured before. */
  static ofRate({ rate, unsure }: Fit): Proofs {
    const proofs = new Proofs();
    proofs.rates = [rate - unsure, rate + unsure];
    return proofs;
  }

  /**
   * Takes in what an exchange proved, and says what all say when it was back, at `least.at`. `rate` is the best that
   * is known of it. Where not all can be true (the clock jumped by a little, or its rate moved by more than it may)
   * the oldest are dropped until the others agree.
   */
  take(most: Proof, least: Proof, rate: number): Fit {
    const now = least.at;
    const last = this.places.at(-1);
    if (last !== undefined && now - last.since < PLACE) {
      if (most.offset <= carried(last.most, most.at, rate)) last.most = most;
      if (least.offset >= carried(last.least, least.at, rate)) last.least = least;
    } else {
      this.places.push({ since: now, most, least });
    }
    this.places = this.places.filter(({ since }) => since >= now - AGE_MAX);
    const base = (most.offset + least.offset) / 2;
    for (;;) {
      const polygon = this.polygon(now, base);
      if (polygon.length > 2) return fit(polygon, now, base);
      if (this.places.length === 1) {
        // At odds with itself within one place, or with the rate that was known.
        this.rates = [-RATE_UNKNOWN, RATE_UNKNOWN];
        this.places = [{ since: now, most, least }];
        return alone(most, least);
      }
      this.places.shift();
    }
  }

  /** Every rate and offset at `now` that no proof rules out. */
  private polygon(now: number, base: number): Corner[] {
    const [slowest, fastest] = [this.rates[0] * 1e6, this.rates[1] * 1e6];
    let polygon: Corner[] = [
      [slowest, -WIDE],
      [fastest, -WIDE],
      [fastest, WIDE],
      [slowest, WIDE],
    ];
    for (const { most, least } of this.places.toReversed()) {
      polygon = clipped(polygon, 1, now, base, most);
      polygon = clipped(polygon, -1, now, base, least);
    }
    return polygon;
  }
}

/** The part of a convex polygon that a proof leaves (Sutherland and Hodgman's clipping, for one edge). */
function clipped(polygon: Corner[], side: 1 | -1, now: number, base: number, proof: Proof): Corner[] {
  const age = now - proof.at;
  const rest = side * (proof.offset - base) + WANDER * age;
  const outside = ([rate, offset]: Corner) => side * (offset - rate * 1e-6 * age) - rest;
  if (polygon.every((corner) => outside(corner) <= 0)) return polygon;
  return polygon.flatMap((here, index) => {
    const there = polygon[(index + 1) % polygon.length] ?? here;
    const [outHere, outThere] = [outside(here), outside(there)];
    const kept = outHere <= 0 ? [here] : [];
    if (outHere * outThere >= 0) return kept;
    const part = outHere / (outHere - outThere);
    return [...kept, [here[0] + part * (there[0] - here[0]), here[1] + part * (there[1] - here[1])] as const];
  });
}

function fit(polygon: Corner[], at: number, base: number): Fit {
  const [ppm, offset] = centroid(polygon);
  const error = Math.max(...polygon.map((corner) => Math.abs(corner[1] - offset)));
  const widest = Math.max(...polygon.map((corner) => Math.abs(corner[0] - ppm)));
  const rate = ppm * 1e-6;
  // The rate may wander from here on, but no clock is worse than one of which nothing is known.
  const unsure = Math.max(RATE_FLOOR, Math.min(widest * 1e-6 + WANDER, RATE_UNKNOWN + Math.abs(rate)));
  return { at, offset: base + offset, error, rate, unsure };
}

/** What one exchange says of a device of which nothing else is known. */
function alone(most: Proof, least: Proof): Fit {
  const half = Math.abs(most.offset - least.offset) / 2;
  return {
    at: least.at,
    offset: (most.offset + least.offset) / 2,
    error: half + RATE_UNKNOWN * (least.at - most.at),
    rate: 0,
    unsure: RATE_UNKNOWN,
  };
}

/** The centre of area: the mean of all that is possible, each as likely as the other. */
function centroid(polygon: Corner[]): Corner {
  const [first, ...others] = polygon as [Corner, ...Corner[]];
  let [area, x, y] = [0, 0, 0];
  let before: Corner | undefined;
  for (const corner of others) {
    const here: Corner = [corner[0] - first[0], corner[1] - first[1]];
    if (before !== undefined) {
      const twice = before[0] * here[1] - here[0] * before[1];
      area += twice;
      x += (twice * (before[0] + here[0])) / 3;
      y += (twice * (before[1] + here[1])) / 3;
    }
    before = here;
  }
  if (Math.abs(area) < AREA_LEAST) {
    const mean = (of: 0 | 1) => polygon.reduce((sum, corner) => sum + corner[of], 0) / polygon.length;
    return [mean(0), mean(1)];
  }
  return [first[0] + x / area, first[1] + y / area];
}
