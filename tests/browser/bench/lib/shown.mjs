// From what the screens have noted to figures. Pure; all times are microseconds, of the host's clock where nothing else
// is said. `offset` is true house time minus host time, known to `width` / 2.
//
// A frame's instant is the timestamp that the browser hands to its callbacks: the product takes it for the instant at
// which the frame is shown, and so does the oracle. The oracle picks, for each true instant at which a second changes,
// the frame of the screen whose timestamp is nearest to it. Where two frames are equally near but for what the reference
// does not know, either is right. When a callback began is given beside it.

import { between, inMillis, lastUpTo, millis, percent, spread } from "./statistics.mjs";
import { secondsOf } from "./truth.mjs";

/** Frames further apart than this are uneven: one of 60 Hz was left out. */
export const GAP_UNEVEN = 20_000;
/** A change this far from an instant is not that instant's. */
const NEAR = 500_000;
/** How often the computed times of all screens are compared. */
const GRID = 100_000;

/** The part of a screen's notes from one instant to another. */
export function cutOut(screen, from, to) {
  const [first, last] = [lastUpTo(screen.begin, from) + 1, lastUpTo(screen.begin, to) + 1];
  const columns = ["begin", "at", "shown", "shownBound", "estimate", "bound"];
  return {
    ...screen,
    ...Object.fromEntries(columns.map((name) => [name, screen[name].subarray(first, last)])),
    changes: screen.changes.filter(({ begin }) => begin >= from && begin <= to),
  };
}

/** Of one screen, each true instant with the frame in which it was shown and the one that the oracle picks. */
export function followed(screen, instants, { offset, width }) {
  const frame = new Map(Array.from(screen.begin, (begin, index) => [begin, index]));
  const changes = screen.changes.map((change) => ({ ...change, left: secondsOf(change.text) }));
  return instants.map(({ house, left }) => {
    const instant = house - offset;
    const index = nearest(screen.begin, instant);
    const own = nearest(screen.begin, instant - errorAt(screen, instant, offset));
    const shown = changes.filter((change) => change.left === left && Math.abs(change.begin - instant) < NEAR);
    const change = shown.length === 1 ? frame.get(shown[0].begin) : undefined;
    return {
      instant,
      oracle: { index, begin: screen.begin[index], at: screen.at[index] },
      times: shown.length,
      tied:
        change !== undefined &&
        Math.abs(screen.begin[change] - instant) - Math.abs(screen.begin[index] - instant) <= width,
      // Frames after the oracle's, and after the one that is nearest to where the page itself saw the instant.
      off: change === undefined ? null : change - index,
      offOwn: change === undefined ? null : change - own,
      begin: change === undefined ? null : screen.begin[change],
      at: change === undefined ? null : screen.at[change],
      even: isEven(screen.begin, instant),
    };
  });
}

const errorAt = (screen, instant, offset) =>
  (between(screen.begin, screen.shown, instant) ?? offset) - offset;

function nearest(begin, instant) {
  const before = lastUpTo(begin, instant);
  if (before < 0) return 0;
  if (before + 1 >= begin.length) return before;
  return instant - begin[before] <= begin[before + 1] - instant ? before : before + 1;
}

/** Whether the frames around an instant follow each other as they should: the gap that it falls into and its neighbours. */
function isEven(begin, instant) {
  const before = lastUpTo(begin, instant);
  for (let index = Math.max(0, before - 1); index <= before + 1 && index + 1 < begin.length; index += 1) {
    if (begin[index + 1] - begin[index] > GAP_UNEVEN) return false;
  }
  return true;
}

/** Figures of the shown digits of all screens, over all instants or those that fell among even frames. */
export function shownFigures(all, onlyEven) {
  const seconds = all[0].map((_, second) => all.map((screen) => screen[second]));
  const counted = seconds.filter((screens) => !onlyEven || screens.every(({ even }) => even));
  const whole = counted.filter((screens) => screens.every(({ begin }) => begin !== null));
  const spreads = (time) => inMillis(whole.map((screens) => spread(screens.map(time))));
  const each = all.flat().filter(({ even, begin }) => begin !== null && (even || !onlyEven));
  const share = (fits) => percent(each.filter(fits).length, each.length);
  const late = (time) => inMillis(each.map((shown) => shown[time] - shown.instant));
  return {
    seconds_counted: whole.length,
    spread_ms: spreads(({ at }) => at),
    spread_of_oracle_ms: spreads(({ oracle }) => oracle.at),
    spread_by_timestamp_ms: spreads(({ begin }) => begin),
    spread_of_oracle_by_timestamp_ms: spreads(({ oracle }) => oracle.begin),
    lateness_ms: late("at"),
    lateness_of_oracle_ms: inMillis(each.map(({ oracle, instant }) => oracle.at - instant)),
    lateness_by_timestamp_ms: late("begin"),
    changes: each.length,
    in_oracles_frame_percent: share(({ tied }) => tied),
    in_oracles_frame_and_no_tie_percent: share(({ off }) => off === 0),
    within_one_frame_percent: share(({ off }) => Math.abs(off) <= 1),
    in_own_frame_percent: share(({ offOwn }) => offOwn === 0),
  };
}

/** Figures of the frames themselves. */
export function frameFigures(screens) {
  const gaps = screens.flatMap(({ begin }) =>
    Array.from(begin.subarray(1), (next, index) => next - begin[index]),
  );
  const delays = screens.flatMap(({ begin, at }) => Array.from(at, (time, index) => time - begin[index]));
  const uneven = gaps.filter((gap) => gap > GAP_UNEVEN).length;
  return {
    frames: gaps.length,
    uneven,
    uneven_percent: percent(uneven, gaps.length),
    gap_ms: inMillis(gaps),
    callback_after_timestamp_ms: inMillis(delays),
  };
}

/** Figures of the computed times: against each other, against true house time, and against their bounds. */
export function computedFigures(screens, { offset, width }, from, to) {
  const apart = [];
  for (let at = from; at <= to; at += GRID) {
    const ahead = screens.map(({ begin, shown }) => between(begin, shown, at)).filter(Number.isFinite);
    if (ahead.length === screens.length) apart.push(spread(ahead));
  }
  const checks = screens.map((screen) => ({
    shown: check(screen, "shown", "shownBound"),
    estimate: check(screen, "estimate", "bound"),
  }));
  const outside = (what) => checks.reduce((sum, each) => sum + each[what].outside, 0);
  return {
    apart_ms: inMillis(apart),
    true_error_ms: inMillis(checks.flatMap(({ shown }) => shown.errors)),
    shown_outside_bound: outside("shown"),
    estimate_outside_bound: outside("estimate"),
    samples: checks.reduce((sum, { shown }) => sum + shown.errors.length, 0),
    closest_to_bound_percent: percent(Math.max(...checks.map(({ shown }) => shown.closest)), 1),
    bound_ms: inMillis(screens.flatMap(({ shownBound }) => Array.from(shownBound).filter(Number.isFinite))),
    without_time: checks.reduce((sum, { shown }) => sum + shown.missing, 0),
    screens: screens.map(({ name, ratePpm }, index) => ({
      name,
      rate_ppm: Math.round(ratePpm),
      true_error_ms: inMillis(checks[index].shown.errors),
    })),
    errors: checks.flatMap(({ shown }) => shown.errors),
  };

  function check(screen, time, bound) {
    let [outside, closest, missing] = [0, 0, 0];
    const errors = [];
    for (const [index, ahead] of screen[time].entries()) {
      if (!Number.isFinite(ahead)) missing += 1;
      else {
        const error = ahead - offset;
        errors.push(error);
        // What the reference itself does not know is not held against a screen.
        if (Math.abs(error) > screen[bound][index] + width / 2) outside += 1;
        closest = Math.max(closest, Math.abs(error) / screen[bound][index]);
      }
    }
    return { errors, outside, closest, missing };
  }
}

/** How the browser's own word for the zero of a page's clock stands to what was seen from outside, and to `timeOrigin`. */
export function clockFigures(screens) {
  const clocks = screens.map(({ clock }) => clock);
  const origins = clocks.map(({ origin, zero }) => origin - zero);
  return {
    page_clock_seen_within_ms: millis(Math.max(...clocks.map(({ low, high }) => high - low))),
    page_clocks_outside: clocks.filter(({ zero, low, high }) => zero < low - 100 || zero > high + 100).length,
    time_origins_apart_ms: millis(spread(origins)),
  };
}

/** How often values lie in each bin of `width` from `from` to `to`; what lies outside counts in the outermost ones. */
export function histogram(values, { from, to, bins }) {
  const counts = new Array(bins).fill(0);
  for (const value of values) {
    const bin = Math.floor((bins * (value - from)) / (to - from));
    counts[Math.min(bins - 1, Math.max(0, bin))] += 1;
  }
  return { from, to, counts };
}

/**
 * How long each shown second stood on a screen, in a run in which the clock only counts down. A step is what is not the
 * second after the last one; `grid` is the gap before the frame that ended the second, for nothing changes between frames.
 */
export function standing(screen) {
  const gap = new Map(
    Array.from(screen.begin.subarray(1), (begin, index) => [begin, begin - screen.begin[index]]),
  );
  const durations = [];
  const steps = [];
  for (const [index, { begin, text }] of screen.changes.slice(1).entries()) {
    const last = screen.changes[index];
    const [from, to] = [secondsOf(last.text), secondsOf(text)];
    if (from === null || to === null || from - to !== 1) steps.push({ from: last.text, to: text });
    if (index > 0)
      durations.push({
        took: begin - last.begin,
        grid: Math.max(gap.get(last.begin) ?? 0, gap.get(begin) ?? 0),
      });
  }
  return { durations, steps };
}
