import assert from "node:assert/strict";
import { test } from "node:test";
import {
  computedFigures,
  cutOut,
  followed,
  frameFigures,
  histogram,
  shownFigures,
  standing,
} from "./shown.mjs";
import { bracket, instants, secondsOf } from "./truth.mjs";

const FRAME = 16_667;
/** House time is this far ahead of the host's. */
const AHEAD = 5_000_000;
const TRUTH = { offset: AHEAD, width: 100 };
const SECOND = 1_000_000;

/** A screen whose frames begin at `phase`, with the callback 1 ms later; it shows `left` in the frames of these numbers. */
function screen({ phase = 0, frames = 300, changes, error = 0, bound = 2_000 }) {
  const column = (value) => Float64Array.from({ length: frames }, (_, index) => value(index));
  const begin = column((index) => phase + index * FRAME);
  return {
    name: "wall",
    ratePpm: 0,
    begin,
    at: begin.map((time) => time + 1_000),
    shown: column(() => AHEAD + error),
    shownBound: column(() => bound),
    estimate: column(() => AHEAD + error),
    bound: column(() => bound),
    changes: changes.map(([frame, text]) => ({ begin: begin[frame], at: begin[frame] + 1_000, text })),
  };
}

/** The seconds 3, 2 and 1 become true at 1, 2 and 3 s of the host's clock: at frames 60, 120 and 180, and a little before. */
const DUE = [3, 2, 1].map((left, index) => ({ left, house: AHEAD + (index + 1) * SECOND, segment: 1 }));
const PERFECT = [
  [60, "0:03"],
  [120, "0:02"],
  [180, "0:01"],
];

test("a screen that shows each second in the nearest frame is as good as the oracle", () => {
  const all = [followed(screen({ changes: PERFECT }), DUE, TRUTH)];
  const figures = shownFigures(all, true);
  assert.equal(figures.seconds_counted, 3);
  assert.equal(figures.in_oracles_frame_percent, 100);
  assert.equal(figures.in_own_frame_percent, 100);
  assert.deepEqual(figures.lateness_ms, figures.lateness_of_oracle_ms);
  assert.equal(figures.lateness_ms.p50, 1.04);
  assert.equal(figures.lateness_by_timestamp_ms.p50, 0.04);
});

test("a change one frame late is seen, and whether the page's own time was to blame", () => {
  const late = [
    [60, "0:03"],
    [121, "0:02"],
    [180, "0:01"],
  ];
  const byTruth = shownFigures([followed(screen({ changes: late }), DUE, TRUTH)], false);
  assert.equal(byTruth.in_oracles_frame_percent, 66.67);
  assert.equal(byTruth.within_one_frame_percent, 100);
  assert.equal(byTruth.in_own_frame_percent, 66.67);
  assert.equal(byTruth.lateness_by_timestamp_ms.max, 16.71);
  // A page 16 ms behind shows the second a frame late, and rightly so by its own time.
  const [, second] = followed(screen({ changes: late, error: -16_000 }), DUE, TRUTH);
  assert.deepEqual([second.off, second.offOwn], [1, 0]);
});

test("frames that are equally near but for what the reference does not know are both right", () => {
  const between = 100.5 * FRAME;
  const shown = (frame, width) => {
    const due = [{ left: 7, house: AHEAD + between + 40, segment: 0 }];
    return followed(screen({ changes: [[frame, "0:07"]] }), due, { offset: AHEAD, width })[0];
  };
  assert.deepEqual(
    [shown(101, 100), shown(100, 100)].map(({ off, tied }) => [off, tied]),
    [
      [0, true],
      [-1, true],
    ],
  );
  assert.deepEqual(
    [shown(100, 60)].map(({ off, tied }) => [off, tied]),
    [[-1, false]],
  );
});

test("the spread is over all screens, and only where each has shown the second once", () => {
  const other = [
    [60, "0:03"],
    [119, "0:02"],
    [130, "0:03"],
    [131, "0:02"],
    [180, "0:01"],
  ];
  const all = [
    followed(screen({ changes: PERFECT }), DUE, TRUTH),
    followed(screen({ phase: 5_000, changes: other }), DUE, TRUTH),
  ];
  assert.deepEqual(
    all[1].map(({ times }) => times),
    [1, 2, 1],
  );
  const figures = shownFigures(all, false);
  assert.equal(figures.seconds_counted, 2);
  assert.equal(figures.spread_ms.max, 5);
});

test("frames that were left out are counted, and the seconds among them set apart", () => {
  const uneven = screen({ changes: PERFECT });
  for (let index = 120; index < 300; index += 1) uneven.begin[index] += 18_000;
  uneven.changes[1].begin = uneven.begin[120];
  const seconds = followed(uneven, DUE, TRUTH);
  assert.deepEqual(
    seconds.map(({ even }) => even),
    [true, false, true],
  );
  assert.equal(frameFigures([uneven]).uneven, 1);
  // The frame before is nearer now.
  assert.equal(seconds[1].off, 1);
});

test("times outside their bound are counted, but not for what the reference does not know", () => {
  const figures = (error) => computedFigures([screen({ changes: [], error })], TRUTH, 0, 3 * SECOND);
  assert.equal(figures(2_040).shown_outside_bound, 0);
  assert.equal(figures(2_060).shown_outside_bound, 300);
  assert.equal(figures(-2_060).estimate_outside_bound, 300);
  assert.equal(figures(1_000).true_error_ms.p50, 1);
  assert.equal(figures(1_000).closest_to_bound_percent, 50);
});

test("screens are compared at the same instants", () => {
  const screens = [0, 700, -800].map((error, index) => screen({ phase: index * 4_000, changes: [], error }));
  const { apart_ms } = computedFigures(screens, TRUTH, 100_000, 3 * SECOND);
  assert.equal(apart_ms.count, 30);
  assert.equal(apart_ms.p50, 1.5);
});

test("how long a second stood, and steps that no clock makes", () => {
  const { durations, steps } = standing(screen({ changes: [...PERFECT, [200, "0:03"], [201, ""]] }));
  assert.deepEqual(
    durations.map(({ took }) => Math.round(took / FRAME)),
    [60, 20, 1],
  );
  assert.deepEqual(steps, [
    { from: "0:01", to: "0:03" },
    { from: "0:03", to: "" },
  ]);
  assert.equal(cutOut(screen({ changes: PERFECT }), 1_500_000, 2_500_000).changes.length, 1);
});

test("true house time is what all exchanges allow", () => {
  const exchanges = [
    { t0: 1_000, t1: 6_100, t2: 6_150, t3: 1_300 },
    { t0: 2_000, t1: 7_020, t2: 7_030, t3: 2_200 },
  ];
  assert.deepEqual(bracket(exchanges), {
    low: 4_850,
    high: 5_021,
    middle: 4_935.5,
    width: 171,
    exchanges: 2,
  });
});

test("instants follow the clock through the segments that go on by themselves", () => {
  const segments = [
    { length: 2 * SECOND, after: "next", dropped: false },
    { length: 9 * SECOND, after: "next", dropped: true },
    { length: 2 * SECOND, after: "wait", dropped: false },
    { length: 5 * SECOND, after: "next", dropped: false },
  ];
  const phase = { phase: "running", segment: 0, anchor: 100, at_anchor: SECOND / 2, added: 0 };
  assert.deepEqual(
    instants({ clock: { phase }, segments }).map(({ house, left, segment }) => [house, left, segment]),
    [
      [100, 2, 0],
      [500_100, 1, 0],
      [1_500_100, 2, 2],
      [2_500_100, 1, 2],
    ],
  );
  assert.deepEqual(instants({ clock: { phase: { phase: "gathering" } }, segments }), []);
});

test("digits are read as seconds", () => {
  assert.deepEqual(["10", "0:05", "4:05", "1:02:09", "+0:05", ""].map(secondsOf), [
    10,
    5,
    245,
    3729,
    null,
    null,
  ]);
});

test("what lies outside a histogram counts in its outermost bins", () => {
  assert.deepEqual(histogram([-9, 0, 5, 10, 99], { from: 0, to: 10, bins: 2 }).counts, [2, 3]);
});
