/**
 * Which time of the audio clock is heard at which time of the device (rule 2.5). Pure.
 *
 * The Web Audio API's `getOutputTimestamp` pairs the sample that the output device plays (`contextTime`) with the
 * instant at which it does so (`performanceTime`): all delay that the browser knows of is in the pair, so nothing is
 * added to it. Without a pair, the sample that is rendered now (`currentTime`) is heard after `baseLatency`, the way
 * to the system's sound, and `outputLatency`, the way from there to the output. What a television or a wireless
 * speaker delays by itself no browser knows: that is the trim of the wall.
 *
 * Pairs cannot always be believed, so one is taken only where it is plausible:
 *
 * - zeros, before the first block was played (as the standard says);
 * - a pair that stands still while time goes on;
 * - a context time some 48,000 times too small (WebKit until its bug 264247 was mended in 2024);
 * - a context time that moves only some 24 times a second, beside a performance time that always moves (reported of
 *   Firefox, WebAudio/web-audio-api issue 2461): the pair is up to 42 ms behind. What stands behind is never ahead,
 *   so the greatest of the last readings is the truest, and `AudioClock` goes by that.
 *
 * The audio clock runs at its own rate, commonly within 100 ppm of the device's (from memory): over the two seconds
 * that sounds are scheduled ahead this is 0.2 ms, and each look reads the clocks anew.
 */

/** What a browser says of its audio clock at one instant. Seconds, but for `performanceTime` in milliseconds. */
export interface AudioReading {
  currentTime: number;
  timestamp: { contextTime?: number; performanceTime?: number } | undefined;
  baseLatency: number | undefined;
  outputLatency: number | undefined;
}

/** A pair that is older than this stands still; device and page clock may part by the second. */
const AGE_MAX_S = 1;
const AGE_MIN_S = -0.1;
/** No output is believed to be later than this, or earlier than what is rendered by more than a block or two. */
const LATENCY_MAX_S = 1;
const LATENCY_MIN_S = -0.05;

/** The audio clock less the device's (seconds), of what is heard at device time `now` (microseconds). */
export function heardOffset(reading: AudioReading, now: number): number {
  const rendered = reading.currentTime - now / 1e6;
  const { contextTime = 0, performanceTime = 0 } = reading.timestamp ?? {};
  const offset = contextTime - performanceTime / 1000;
  const [age, latency] = [now / 1e6 - performanceTime / 1000, rendered - offset];
  const told = contextTime > 0 && performanceTime > 0;
  const moves = age >= AGE_MIN_S && age <= AGE_MAX_S;
  if (told && moves && latency >= LATENCY_MIN_S && latency <= LATENCY_MAX_S) return offset;
  return rendered - seconds(reading.baseLatency) - seconds(reading.outputLatency);
}

/** A latency that is told; 0 where it is not, or cannot be. */
const seconds = (latency: number | undefined): number =>
  latency !== undefined && latency > 0 && latency <= LATENCY_MAX_S ? latency : 0;

/** Readings by which the clock goes: two seconds of looks, so that another output is followed soon. */
const KEPT = 8;
/** A fall by more than this is no late reading: the audio clock stood still, as over a sleep. */
const FALL_MAX_S = 0.1;

/** The audio clock, as it is heard. */
export class AudioClock {
  private offsets: number[] = [];

  /** Takes in a reading made at device time `now` (microseconds). */
  take(reading: AudioReading, now: number): void {
    const offset = heardOffset(reading, now);
    if (this.offset - offset > FALL_MAX_S) this.offsets = [];
    this.offsets = [...this.offsets, offset].slice(-KEPT);
  }

  /** Audio clock time (seconds) of what is heard at a device time (microseconds). */
  at(device: number): number {
    return device / 1e6 + this.offset;
  }

  private get offset(): number {
    return Math.max(...this.offsets);
  }
}
