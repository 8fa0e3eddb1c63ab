/**
 * Following house time (rules 2.1 to 2.3). Pure: the device's time is an argument, nothing here waits or reads a
 * clock. All times are microseconds; device time counts from the page's own zero.
 *
 * An exchange is four timestamps: t0 sent and t3 back on the device's clock, t1 received and t2 answered in house
 * time. From it follow (RFC 5905 section 8) the offset ((t1 - t0) + (t2 - t3)) / 2, which is house time minus
 * device time, and the round trip (t3 - t0) - (t2 - t1). The true offset lies within half the round trip of it.
 *
 * 1. The last eight exchanges are kept. The one whose bound is least now is trusted: half its round trip, plus the
 *    resolution of the device's clock, plus its age times how uncertain the device's rate is.
 * 2. That uncertainty is 100 ppm until the rate has been measured: by the difference of two trusted offsets over
 *    the time between them, as soon as that is surer than what was known. It is never taken below 15 ppm.
 *    (15 ppm is RFC 5905's PHI; the 100 ppm depart from it, because cheap devices are worse than it assumes.)
 * 3. An exchange that cannot be true together with what was trusted (their intervals are apart) means that the
 *    device's clock jumped, as by sleep, or that the server is another: what was held is dropped.
 * 4. What is shown runs at most 5 % faster or slower than the estimate until it has met it, and steps only at the
 *    first exchange and when it is more than 250 ms off.
 */

/** The four timestamps of one exchange, in microseconds. */
export interface Exchange {
  /** Sent, device time. */
  t0: number;
  /** Received, house time. */
  t1: number;
  /** Answered, house time. */
  t2: number;
  /** Back, device time. */
  t3: number;
}

/** What an exchange did: it was no use, the shown time slews to it, or the shown time stepped. */
export type Taken = "refused" | "slewed" | "stepped";

const KEPT = 8;
const RATE_UNKNOWN = 100e-6;
const RATE_FLOOR = 15e-6;
const SLEW = 0.05;
const STEP_OVER = 250_000;
/** A round trip over this says nothing of use about a class clock. */
const ROUND_TRIP_MAX = 10_000_000;
/** The rate is measured from a start at most this old, because crystals drift with warmth. */
const BASELINE_MAX = 15 * 60_000_000;
/** In its first seconds a better exchange takes the start's place. */
const BASELINE_SETTLES = 30_000_000;
/** No crystal is this far off; such a rate would be a clock that was stepped. */
const RATE_MAX = 500e-6;

interface Sample {
  offset: number;
  roundTrip: number;
  /** Device time at which it came back. */
  at: number;
}

export class Sync {
  private samples: Sample[] = [];
  private trusted: Sample | null = null;
  private baseline: Sample | null = null;
  /** How much faster house time runs than the device's clock, as a fraction. */
  private rate = 0;
  private rateUncertainty = RATE_UNKNOWN;
  /** Added to the bound after a sleep, until the next exchange. */
  private doubt = 0;
  /** How far the shown time was from the estimate at device time `at`. */
  private residual = { error: 0, at: 0 };

  /** @param resolution smallest step of the device's clock, in microseconds */
  constructor(private readonly resolution: number) {}

  /** Takes in one exchange; `t3` is the present. */
  take({ t0, t1, t2, t3 }: Exchange): Taken {
    const roundTrip = Math.max(0, t3 - t0 - (t2 - t1));
    if (t3 < t0 || t2 < t1 || t3 - t0 > ROUND_TRIP_MAX) return "refused";
    const sample: Sample = { offset: (t1 - t0 + (t2 - t3)) / 2, roundTrip, at: t3 };
    const shownBefore = this.shown(t3);

    if (this.contradicts(sample)) this.forget();
    this.samples.push(sample);
    if (this.samples.length > KEPT) this.samples.shift();
    this.trusted = this.samples.reduce((best, next) =>
      this.sampleBound(next, t3) <= this.sampleBound(best, t3) ? next : best,
    );
    this.doubt = 0;
    this.measureRate(this.trusted);

    const error = shownBefore === null ? 0 : shownBefore - this.certain(this.trusted, t3);
    const steps = shownBefore === null || Math.abs(error) > STEP_OVER;
    this.residual = { error: steps ? 0 : error, at: t3 };
    return steps ? "stepped" : "slewed";
  }

  /**
   * The device's clock can no longer be trusted, as after sleep, in which many stand still. The estimate moves on by
   * `passed` and its bound grows by `doubt`, both microseconds, until the next exchange.
   */
  woke(passed: number, doubt: number): void {
    if (this.trusted === null) return;
    this.trusted = { ...this.trusted, offset: this.trusted.offset + passed };
    this.samples = [];
    this.baseline = null;
    this.doubt += doubt;
  }

  /** House time by the best estimate, for the time at which a tap is made; null before the first exchange. */
  estimate(now: number): number | null {
    return this.trusted === null ? null : this.certain(this.trusted, now);
  }

  /** House time as it is to be shown: the estimate, reached without a visible step. */
  shown(now: number): number | null {
    return this.trusted === null ? null : this.certain(this.trusted, now) + this.leftToSlew(now);
  }

  /** How far the estimate may be from true house time, in microseconds; null before the first exchange. */
  bound(now: number): number | null {
    return this.trusted === null ? null : this.sampleBound(this.trusted, now) + this.doubt;
  }

  /** How far what is shown may be from true house time: the bound plus what is still to be slewed. */
  shownBound(now: number): number | null {
    const bound = this.bound(now);
    return bound === null ? null : bound + Math.abs(this.leftToSlew(now));
  }

  /** Round trip of the trusted exchange, in microseconds. */
  get roundTrip(): number | null {
    return this.trusted?.roundTrip ?? null;
  }

  private certain({ offset, at }: Sample, now: number): number {
    return now + offset + this.rate * (now - at);
  }

  private sampleBound({ roundTrip, at }: Sample, now: number): number {
    return roundTrip / 2 + this.resolution + this.rateUncertainty * Math.max(0, now - at);
  }

  private leftToSlew(now: number): number {
    const { error, at } = this.residual;
    const left = Math.max(0, Math.abs(error) - SLEW * Math.max(0, now - at));
    return Math.sign(error) * left;
  }

  private contradicts(sample: Sample): boolean {
    if (this.trusted === null) return false;
    const expected = this.certain(this.trusted, sample.at) - sample.at;
    const reach =
      this.sampleBound(this.trusted, sample.at) + this.doubt + this.sampleBound(sample, sample.at);
    return Math.abs(sample.offset - expected) > reach;
  }

  private forget(): void {
    this.samples = [];
    this.baseline = null;
    this.rate = 0;
    this.rateUncertainty = RATE_UNKNOWN;
  }

  private measureRate(sample: Sample): void {
    const time = sample.at - (this.baseline?.at ?? sample.at);
    if (
      this.baseline === null ||
      time > BASELINE_MAX ||
      (time < BASELINE_SETTLES && sample.roundTrip < this.baseline.roundTrip)
    ) {
      this.baseline = sample;
      return;
    }
    if (time <= 0) return;
    const rate = (sample.offset - this.baseline.offset) / time;
    const uncertainty = ((sample.roundTrip + this.baseline.roundTrip) / 2 + 2 * this.resolution) / time;
    if (uncertainty <= this.rateUncertainty && Math.abs(rate) <= RATE_MAX) {
      this.rate = rate;
      this.rateUncertainty = Math.max(RATE_FLOOR, uncertainty);
    }
  }
}
