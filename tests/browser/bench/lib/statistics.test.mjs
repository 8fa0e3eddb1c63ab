import assert from "node:assert/strict";
import { test } from "node:test";
import { between, chance, inMillis, lastUpTo, percent, percentile, spread } from "./statistics.mjs";

test("a percentile is the nearest rank", () => {
  // The worked example of the nearest-rank method for 15, 20, 35, 40, 50.
  const values = [50, 15, 40, 20, 35];
  for (const [share, expected] of [
    [0.05, 15],
    [0.3, 20],
    [0.4, 20],
    [0.5, 35],
    [1, 50],
    [0, 15],
  ]) {
    assert.equal(percentile(values, share), expected, `${share}`);
  }
  assert.equal(percentile([-3, -20, 100], 0.5), -3);
  assert.equal(percentile([], 0.5), null);
  const hundred = Array.from({ length: 100 }, (_, index) => index + 1);
  assert.equal(percentile(hundred, 0.99), 99);
});

test("figures are in milliseconds with two places", () => {
  assert.deepEqual(inMillis([1_234, -5_678]), {
    count: 2,
    min: -5.68,
    p1: -5.68,
    p50: -5.68,
    p99: 1.23,
    max: 1.23,
  });
  assert.equal(percent(1, 3), 33.33);
  assert.equal(percent(0, 0), null);
  assert.equal(spread([4, -2, 9]), 11);
});

test("what lies between points lies on a line, and outside of them is unknown", () => {
  const [xs, ys] = [
    [10, 20, 40],
    [1, 3, 3],
  ];
  assert.deepEqual(
    [9, 10, 15, 20, 30, 40, 41].map((x) => between(xs, ys, x)),
    [null, 1, 2, 3, 3, 3, null],
  );
  assert.deepEqual(
    [9, 10, 19, 20, 99].map((x) => lastUpTo(xs, x)),
    [-1, 0, 0, 1, 2],
  );
});

test("chance follows from its seed and is even", () => {
  const [first, again, other] = [chance(1), chance(1), chance(2)];
  const drawn = Array.from({ length: 10_000 }, first);
  assert.deepEqual(drawn, Array.from({ length: 10_000 }, again));
  assert.notEqual(drawn[0], other());
  assert.ok(drawn.every((value) => value >= 0 && value < 1));
  const mean = drawn.reduce((sum, value) => sum + value) / drawn.length;
  assert.ok(Math.abs(mean - 0.5) < 0.02, `${mean}`);
});
