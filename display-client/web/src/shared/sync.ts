/**
 * Following house time (rules 2.1 to 2.3), as `core/src/sync.rs` does it for programs; `display-client/cases/sync.json`
 * holds the two together. Pure: the device's time is an argument, nothing here waits or reads a clock. All times are
 * microseconds; device time counts from the page's own zero.
 *
 * An exchange is four timestamps: t0 sent and t3 back on the device's clock, t1 received and t2 answered in house
 * time. From it follow (RFC 5905 section 8) the offset ((t1 - t0) + (t2 - t3)) / 2, which is house time minus
 * device time, and the round trip (t3 - t0) - (t2 - t1). The true offset lies within half the round trip of it.
 *
 * 1. The last eight exchanges are kept, and the one whose bound is least now is trusted.
 * 2. The bound is half the round trip, plus the resolution of the clocks, plus how unsure the device's rate is times
 *    the age: 100 ppm until it has been measured, then no less than 15 ppm. (15 ppm is RFC 5905's PHI; the 100 ppm
 *    depart from it, because cheap devices are worse than it assumes.)
 * 3. Two trusted offsets with time between them measure the rate, to within the sum of their bounds over that time.
 *    A measurement is taken when it is at least as sure as the one that stands.
 * 4. An exchange that cannot be true together with the trusted one (their intervals are apart) means that the
 *    device's clock jumped, as by sleep, or that the server is another: what was held is dropped.
 * 5. What is shown meets the estimate at no more than 5 % faster or slower, and steps only at the first exchange and
 *    when it is more than 250 ms off. Taps are dated by the estimate.
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

/** What an exchange did: it cannot have happened so, the shown time slews to it, or the shown time stepped. */
export type Taken = "refused" | "slewed" | "stepped";

const KEPT = 8;
const RATE_UNKNOWN = 100e-6;
const RATE_FLOOR = 15e-6;
/** No crystal is this far off; such a rate would be a clock that somebody stepped. */
const RATE_MAX = 500e-6;
const SLEW = 0.05;
const STEP_OVER = 250_000;
/** An exchange that took longer says nothing of use about a class clock. */
const EXCHANGE_MAX = 10_000_000;
/** The rate is measured from a start at most this old, because crystals drift with warmth. */
const START_AGE_MAX = 15 * 60_000_000;
/** In its first seconds a surer exchange takes the start's place. */
const START_SETTLES = 30_000_000;
/** House time's own resolution, and what rounding a reading to it may add. */
const HOUSE_STEP = 1;

/** An exchange that was taken, as it stood at device time `at`. */
interface Sample {
  offset: number;
  roundTrip: number;
  /** How far off the offset may be at `at`. */
  error: number;
  at: number;
}

export class Sync {
  private readonly step: number;
  private samples: Sample[] = [];
  private trusted: Sample | null = null;
  /** From where the rate is measured. */
  private start: Sample | null = null;
  /** How much faster house time runs than the device's clock, as a fraction. */
  private rate = 0;
  private rateUnsure = RATE_UNKNOWN;
  /** How far the shown time was from the estimate at device time `at`. */
  private residual = { error: 0, at: 0 };
  private last: Exchange | null = null;
  /** Added to the bound after a sleep, until the next exchange. */
  private doubt = 0;

  /** @param step smallest step of the device's clock, in microseconds */
  constructor(step: number) {
    this.step = Math.max(1, step);
  }

  /**
   * Takes in one exchange, whose `t3` is the present. Refused is what cannot be: an answer before its question, one
   * that the server held for longer than the exchange took, one that took over 10 s, one that is not newer.
   */
  take(exchange: Exchange): Taken {
    if (!this.possible(exchange)) return "refused";
    this.last = exchange;
    const sample = this.sample(exchange);
    const shownBefore = this.shown(sample.at);

    if (this.contradicts(sample)) this.forget();
    this.doubt = 0;
    this.samples.push(sample);
    if (this.samples.length > KEPT) this.samples.shift();
    this.trusted = this.surest(sample);
    this.measureRate(this.trusted);

    const error = shownBefore === null ? null : shownBefore - this.estimateFrom(this.trusted, sample.at);
    const steps = error === null || Math.abs(error) > STEP_OVER;
    this.residual = { error: steps ? 0 : error, at: sample.at };
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
    this.start = null;
    this.doubt += doubt;
  }

  /** House time by the best estimate, for the time at which a tap is made; null before the first exchange. */
  estimate(now: number): number | null {
    return this.trusted === null ? null : this.estimateFrom(this.trusted, now);
  }

  /** House time as it is to be shown: the estimate, reached without a visible step. */
  shown(now: number): number | null {
    return this.trusted === null ? null : this.estimateFrom(this.trusted, now) + this.leftToSlew(now);
  }

  /** How far the estimate may be from true house time, in microseconds; null before the first exchange. */
  bound(now: number): number | null {
    return this.trusted === null ? null : this.boundFrom(this.trusted, now) + this.doubt;
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

  private possible({ t0, t1, t2, t3 }: Exchange): boolean {
    const [took, held] = [t3 - t0, t2 - t1];
    // A device whose clock runs slow or steps coarsely may count less than the server does.
    const slack = 2 * this.step + HOUSE_STEP + RATE_UNKNOWN * held;
    const newer = this.last === null || (t0 > this.last.t0 && t3 >= this.last.t3);
    return newer && took >= 0 && held >= 0 && held <= took + slack && took <= EXCHANGE_MAX;
  }

  private sample({ t0, t1, t2, t3 }: Exchange): Sample {
    const roundTrip = Math.max(0, t3 - t0 - (t2 - t1));
    // One step of the clock for the timestamps and one for each later reading; and the exchange itself was measured
    // by a clock of unsure rate (as in RFC 5905, PHI times (T4 - T1)).
    const error = roundTrip / 2 + 2 * this.step + HOUSE_STEP + RATE_UNKNOWN * (t3 - t0);
    return { offset: (t1 - t0 + (t2 - t3)) / 2, roundTrip, error, at: t3 };
  }

  /** The kept sample of least bound when `newest` came; of equal ones the newest. */
  private surest(newest: Sample): Sample {
    const bound = (sample: Sample) => this.boundFrom(sample, newest.at);
    return this.samples.reduce((best, next) => (bound(next) <= bound(best) ? next : best), newest);
  }

  private estimateFrom({ offset, at }: Sample, now: number): number {
    return now + offset + this.rate * (now - at);
  }

  private boundFrom({ error, at }: Sample, now: number): number {
    return error + this.rateUnsure * Math.max(0, now - at);
  }

  private leftToSlew(now: number): number {
    const { error, at } = this.residual;
    return Math.sign(error) * Math.max(0, Math.abs(error) - SLEW * Math.max(0, now - at));
  }

  private contradicts(sample: Sample): boolean {
    if (this.trusted === null) return false;
    const apart = sample.offset + sample.at - this.estimateFrom(this.trusted, sample.at);
    return Math.abs(apart) > this.boundFrom(this.trusted, sample.at) + this.doubt + sample.error;
  }

  private forget(): void {
    this.samples = [];
    this.start = null;
    this.rate = 0;
    this.rateUnsure = RATE_UNKNOWN;
  }

  private measureRate(sample: Sample): void {
    if (this.start === null) {
      this.start = sample;
      return;
    }
    const time = sample.at - this.start.at;
    if (time > START_AGE_MAX || (time < START_SETTLES && sample.error < this.start.error)) {
      this.start = sample;
      return;
    }
    if (time <= 0) return;
    const rate = (sample.offset - this.start.offset) / time;
    const unsure = (sample.error + this.start.error) / time;
    if (unsure <= this.rateUnsure && Math.abs(rate) <= RATE_MAX) {
      this.rate = rate;
      this.rateUnsure = Math.max(RATE_FLOOR, unsure);
    }
  }
}
