// A wall whose network is cut 10 s into a piece: how far off its bells and seconds are while it goes on by itself, and how
// it comes back.

import { setTimeout as sleep } from "node:timers/promises";
import { openCast, take } from "../lib/cast.mjs";
import { computedFigures, cutOut, followed, standing } from "../lib/shown.mjs";
import { inMillis, millis } from "../lib/statistics.mjs";
import { bracket, instants } from "../lib/truth.mjs";
import { hostNow } from "../lib/websocket.mjs";

const SECOND = 1e6;
/** Followed before it is alone: enough to know the device's own rate. */
const FOLLOWS_MAX_S = 120;
const [WORK_S, REST_S, CUT_AT_S] = [30, 15, 10];
/** After the network is back: the connection, a burst, and the slewing of what had gone astray. */
const BACK_S = 25;

const windows = (seconds) => Math.ceil((seconds + BACK_S + CUT_AT_S) / (WORK_S + REST_S)) + 2;

const sheet = (follows, seconds) => `# Tides

## Rest ${follows} s

## Tides: AMRAP ${WORK_S} s, ${windows(seconds)} times, rest ${REST_S} s between

Lead-in: 5 s

- 5 squat
- 5 sit-up
`;

export async function alone({ seconds, ...bench }, say) {
  const follows = Math.min(FOLLOWS_MAX_S, seconds);
  const cast = await openCast(sheet(follows, seconds), { phones: 0 });
  const { truth } = cast;
  try {
    await cast.start();
    const known = () => bracket(truth.exchanges);
    const running = truth.clocks.at(-1);
    const work = running.segments.findIndex(({ kind }) => kind === "work");
    const start = instants(running).find(({ segment }) => segment === work).house - known().middle;
    const cut = start + CUT_AT_S * SECOND;
    await sleep((cut - hostNow()) / 1000);
    process.send("cut");
    const went = hostNow();
    await sleep(seconds * 1000);
    const marked = await cast.wall.locator(".alone.stands").count();
    process.send("join");
    const back = hostNow();
    await sleep(BACK_S * 1000);
    const still = await cast.wall.locator(".alone.stands").count();
    const notes = await take(cast.screens.find(({ name }) => name === "wall"));
    const named = { ...bench, bench: "alone", seconds, follows };
    report(
      named,
      { running, known: known(), notes, went, back, marked: marked === 1, returned: still === 0 },
      say,
    );
  } finally {
    await cast.close();
  }
}

function report(bench, { running, known, notes, went, back, marked, returned }, say) {
  const truth = { offset: known.middle, width: known.width };
  const end = back + BACK_S * SECOND;
  const within = ({ house }, from, to) => house - truth.offset > from && house - truth.offset < to;
  const due = instants(running).filter((instant) => within(instant, went, back - SECOND));
  const starts = new Map(
    instants(running)
      .map(({ segment, house }) => [segment, house])
      .reverse(),
  );
  const bells = due.filter(({ segment, house }) => starts.get(segment) === house);
  const errors = (instants) =>
    inMillis(followed(notes, instants, truth).map(({ at, instant }) => at - instant));
  const missing = followed(notes, due, truth).filter(({ times }) => times !== 1).length;
  const {
    errors: _,
    screens: __,
    ...computed
  } = computedFigures([cutOut(notes, went, back)], truth, went, back);
  const last = cutOut(notes, back - SECOND, back);
  const return_ = standing(cutOut(notes, back - 2 * SECOND, end));
  say({
    ...bench,
    what: "alone",
    marked,
    bells: bells.length,
    bells_late_ms: errors(bells),
    seconds_late_ms: errors(due),
    not_once: missing,
    ...computed,
    true_error_at_the_end_ms: millis(last.shown.at(-1) - truth.offset),
    bound_at_the_end_ms: millis(last.shownBound.at(-1)),
  });
  const after = cutOut(notes, back, end);
  say({
    ...bench,
    what: "back",
    returned,
    stood_ms: inMillis(return_.durations.map(({ took }) => took)),
    true_error_ms: millis(after.shown.at(-1) - truth.offset),
    bound_ms: millis(after.shownBound.at(-1)),
  });
}
