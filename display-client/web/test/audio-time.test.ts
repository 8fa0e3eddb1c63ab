import { describe, expect, it } from "vitest";
import { AudioClock, type AudioReading, heardOffset } from "../src/shared/audio-time";

/** At device time 100 s the audio clock has rendered up to 40 s, and what is heard is `latency` behind that. */
const NOW = 100e6;
const reading = (more: Partial<AudioReading> = {}): AudioReading => ({
  currentTime: 40,
  timestamp: undefined,
  baseLatency: undefined,
  outputLatency: undefined,
  ...more,
});
const pair = (contextTime: number, performanceTime: number) => ({
  timestamp: { contextTime, performanceTime },
});

describe("what is heard of the audio clock, less the device's", () => {
  it.each([
    ["by the pair that the browser tells, whose delay is in it", pair(39.95, 100_000), -60.05],
    ["and nothing is added to the pair", { ...pair(39.95, 100_000), outputLatency: 0.05 }, -60.05],
    ["by a pair of a moment ago", pair(39.75, 99_800), -60.05],
    ["by a pair through a slow wireless speaker", pair(39.6, 100_000), -60.4],
    ["by the latencies before the first block was played", { ...pair(0, 0), outputLatency: 0.05 }, -60.05],
    ["by the latencies where there is no such method", { baseLatency: 0.01, outputLatency: 0.04 }, -60.05],
    ["by what is rendered where nothing is told", {}, -60],
    ["by the latencies where the pair stands still", { ...pair(10, 70_000), outputLatency: 0.05 }, -60.05],
    [
      "by the latencies where only its context time stands still",
      { ...pair(10, 100_000), outputLatency: 0.05 },
      -60.05,
    ],
    [
      "by the latencies where its context time is of another scale",
      { ...pair(39.95 / 48_000, 100_000), outputLatency: 0.05 },
      -60.05,
    ],
    ["by what is rendered where a pair comes from the future", pair(41, 101_000), -60],
    ["by what is rendered where a pair is half told", { timestamp: { contextTime: 39.9 } }, -60],
    ["by what is rendered where a latency cannot be", { outputLatency: Number.NaN }, -60],
    ["by what is rendered where a latency is less than nothing", { baseLatency: -1, outputLatency: 60 }, -60],
  ] satisfies [string, Partial<AudioReading>, number][])("is known %s", (_, more, expected) => {
    expect(heardOffset(reading(more), NOW)).toBeCloseTo(expected, 6);
  });
});

describe("the audio clock", () => {
  /** Readings a quarter of a second apart, whose context time is behind by so many milliseconds. */
  function taken(...behind: number[]): AudioClock {
    const clock = new AudioClock();
    behind.forEach((late, index) => {
      const now = NOW + index * 250_000;
      const currentTime = 40 + index * 0.25;
      clock.take(reading({ currentTime, ...pair(currentTime - 0.05 - late / 1000, now / 1000) }), now);
    });
    return clock;
  }

  it("tells which of its times is heard at a time of the device", () => {
    expect(taken(0).at(NOW)).toBeCloseTo(39.95, 6);
    expect(taken(0).at(NOW + 2_500_000)).toBeCloseTo(42.45, 6);
  });

  it("goes by the reading that is least behind, where context time moves in leaps", () => {
    expect(taken(41, 20, 0, 33, 12, 40, 5, 38).at(NOW)).toBeCloseTo(39.95, 6);
  });

  it("follows another output within two seconds", () => {
    const readings = [0, 0, 0, 0, ...Array.from({ length: 8 }, () => 80)];
    expect(taken(...readings).at(NOW)).toBeCloseTo(39.87, 6);
  });

  it("follows at once where the audio clock stood still, as over a sleep", () => {
    expect(taken(0, 0, 600).at(NOW)).toBeCloseTo(39.35, 6);
  });

  it("knows nothing before the first reading", () => {
    expect(new AudioClock().at(NOW)).toBe(Number.NEGATIVE_INFINITY);
  });
});
