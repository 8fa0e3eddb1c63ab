/**
 * Following house time (rules 2.1 to 2.3), as `core/src/sync` does it for programs; `display-client/cases/sync.json`
 * holds the two together. Pure: the device's time is an argument, nothing here waits or reads a clock. All times are
 * microseconds; device time counts from the page's own zero.
 *
 * An exchange is four timestamps: t0 sent and t3 back on the device's clock, t1 received and t2 answered in house
 * time. From it follow (RFC 5905 section 8) the offset ((t1 - t0) + (t2 - t3)) / 2, which is house time minus
 * device time, and the round trip (t3 - t0) - (t2 - t1). The true offset lies within half the round trip of it.
 *
 * 1. What every exchange of the last quarter of an hour proves is kept; the estimate, rate included, is the middle of
 *    what all of them leave possible (`proofs.ts`), and the bound is how far its ends are. (RFC 5905 section 10
 *    trusts the least round trip of eight; why this departs from it stands in `core/src/sync`.)
 * 2. The bound ages by how unsure the device's rate is: 100 ppm until it has been measured, never under 15 ppm.
 * 3. An exchange that cannot be true beside the bound means that the device's clock jumped, or that the server is
 *    another: what was held is dropped.
 * 4. What is shown meets the estimate at no more than 5 % faster or slower, and steps only at the first exchange and
 *    when it is more than 250 ms off. Taps are dated by the estimate.
 */

import { type Fit, type Proof, Proofs, RATE_UNKNOWN } from "./proofs";

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

/** Exchanges whose round trip is kept: the stages of RFC 5905's filter. */
const KEPT = 8;
const SLEW = 0.05;
const STEP_OVER = 250_000;
/** An exchange that took longer says nothing of use about a class clock. */
const EXCHANGE_MAX = 10_000_000;
/** House time's own resolution, and what rounding a reading to it may add. */
const HOUSE_STEP = 1;

export class Sync {
  /** How many exchanges were refused. */
  refused = 0;
  private readonly step: number;
  private proofs = new Proofs();
  private fit: Fit | null = null;
  /** How far the shown time was from the estimate at device time `at`. */
  private residual = { error: 0, at: 0 };
  private last: Exchange | null = null;
  private roundTrips: number[] = [];

  /** @param step smallest step of the device's clock, in microseconds */
  constructor(step: number) {
    this.step = Math.max(1, step);
  }

  /**
   * Takes in one exchange, whose `t3` is the present. Refused is what cannot be: an answer before its question, one
   * that the server held for longer than the exchange took, one that took over 10 s, one that is not newer, what is
   * not a number.
   */
  take(exchange: Exchange): Taken {
    if (!this.possible(exchange)) {
      this.refused += 1;
      return "refused";
    }
    this.last = exchange;
    const { t0, t1, t2, t3 } = exchange;
    this.roundTrips = [...this.roundTrips.slice(1 - KEPT), Math.max(0, t3 - t0 - (t2 - t1))];
    const shownBefore = this.shown(t3);
    // One step of the clock for the timestamps and one for each later reading.
    const resolution = 2 * this.step + HOUSE_STEP;
    const most = { at: t0, offset: t1 - t0 + resolution };
    const least = { at: t3, offset: t2 - t3 - resolution };

    if (this.fit !== null && contradict(this.fit, most, least)) this.proofs = new Proofs();
    this.fit = this.proofs.take(most, least, this.fit?.rate ?? 0);

    const error = shownBefore === null ? null : shownBefore - estimateFrom(this.fit, t3);
    const steps = error === null || Math.abs(error) > STEP_OVER;
    this.residual = { error: steps ? 0 : error, at: t3 };
    return steps ? "stepped" : "slewed";
  }

  /**
   * The device's clock stood still for about `passed`, as that of many does in sleep. The estimate moves on by it, and
   * its bound grows by `doubt`, both microseconds, until the next exchange. The rate is remembered.
   */
  woke(passed: number, doubt: number): void {
    if (this.fit === null) return;
    this.fit = { ...this.fit, offset: this.fit.offset + passed, error: this.fit.error + doubt };
    this.proofs = Proofs.ofRate(this.fit);
  }

  /** House time by the best estimate, for the time at which a tap is made; null before the first exchange. */
  estimate(now: number): number | null {
    return this.fit === null ? null : estimateFrom(this.fit, now);
  }

  /** House time as it is to be shown: the estimate, reached without a visible step. */
  shown(now: number): number | null {
    return this.fit === null ? null : estimateFrom(this.fit, now) + this.leftToSlew(now);
  }

  /** How far the estimate may be from true house time, in microseconds; null before the first exchange. */
  bound(now: number): number | null {
    return this.fit === null ? null : boundFrom(this.fit, now);
  }

  /** How far what is shown may be from true house time: the bound plus what is still to be slewed. */
  shownBound(now: number): number | null {
    const bound = this.bound(now);
    return bound === null ? null : bound + Math.abs(this.leftToSlew(now));
  }

  /** The least round trip of the last eight exchanges, in microseconds. */
  get roundTrip(): number | null {
    return this.roundTrips.length === 0 ? null : Math.min(...this.roundTrips);
  }

  private possible({ t0, t1, t2, t3 }: Exchange): boolean {
    const [took, held] = [t3 - t0, t2 - t1];
    if (!Number.isFinite(took) || !Number.isFinite(held)) return false;
    // A device whose clock runs slow or steps coarsely may count less than the server does.
    const slack = 2 * this.step + HOUSE_STEP + RATE_UNKNOWN * held;
    const newer = this.last === null || (t0 > this.last.t0 && t3 >= this.last.t3);
    return newer && took >= 0 && held >= 0 && held <= took + slack && took <= EXCHANGE_MAX;
  }

  private leftToSlew(now: number): number {
    const { error, at } = this.residual;
    return Math.sign(error) * Math.max(0, Math.abs(error) - SLEW * Math.max(0, now - at));
  }
}

function estimateFrom({ offset, rate, at }: Fit, now: number): number {
  return now + offset + rate * (now - at);
}

function boundFrom({ error, unsure, at }: Fit, now: number): number {
  return error + unsure * Math.abs(now - at);
}

/** Whether a new exchange cannot be true beside what was held. */
function contradict(fit: Fit, most: Proof, least: Proof): boolean {
  const offset = (at: number) => estimateFrom(fit, at) - at;
  const over = offset(most.at) - most.offset - boundFrom(fit, most.at);
  const under = least.offset - offset(least.at) - boundFrom(fit, least.at);
  return over > 0 || under > 0;
}
