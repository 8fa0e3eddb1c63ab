// A wall, a coach and eight phones follow one long piece: what each computes and shows, against true house time.

import { setTimeout as sleep } from "node:timers/promises";
import { openCast, take } from "../lib/cast.mjs";
import {
  clockFigures,
  computedFigures,
  cutOut,
  followed,
  frameFigures,
  histogram,
  shownFigures,
} from "../lib/shown.mjs";
import { millis, percentile } from "../lib/statistics.mjs";
import { bracket, instants } from "../lib/truth.mjs";
import { hostNow } from "../lib/websocket.mjs";

const PHONES = 8;
const SECOND = 1e6;
const COMPUTED_BINS = { from: -20_000, to: 20_000, bins: 160 };
const SHOWN_BINS = { from: -20_000, to: 40_000, bins: 60 };

const sheet = (seconds) => `# Long tide

## Long tide: AMRAP ${Math.ceil(seconds / 60) + 2} min, lead-in 5 s

Aim: smooth and even

- 9 goblet squat 16 kg
- 7 push-up
- 6 alternating step-up, 50 cm
`;

/** Before figures are taken every screen has followed for so long: the longest time between two exchanges, and a half. */
const SETTLES_MS = 15_000;

/** Runs for so many seconds; `say` takes each result. */
export async function screens(bench, say) {
  const { seconds, phases } = bench;
  const cast = await openCast(sheet(seconds), { phones: PHONES, phases });
  try {
    await cast.start();
    await sleep(SETTLES_MS);
    const from = hostNow() + SECOND;
    await sleep(1000 * (seconds + 2));
    const to = from + seconds * SECOND;
    for (const { name, page } of cast.screens) {
      if ((await page.locator(".digits").count()) === 0)
        say({ ...bench, trouble: `no digits on ${name}: ${await page.innerText("body")}` });
    }
    const notes = [];
    for (const screen of cast.screens) notes.push(cutOut(await take(screen), from - SECOND, to + SECOND));
    report(bench, cast, notes, [from, to], say);
  } finally {
    await cast.close();
  }
}

function report(bench, cast, notes, [from, to], say) {
  const known = bracket(cast.truth.exchanges);
  const truth = { offset: known.middle, width: known.width };
  const running = cast.truth.clocks.findLast(({ clock }) => clock.phase.phase === "running");
  const due = instants(running).filter(
    ({ house }) => house - truth.offset >= from && house - truth.offset <= to,
  );
  const all = notes.map((screen) => followed(screen, due, truth));
  const named = { ...bench, bench: "screens" };
  const { errors, ...computed } = computedFigures(notes, truth, from, to);
  say({
    ...named,
    what: "instruments",
    truth_within_ms: millis(known.width),
    exchanges: known.exchanges,
    round_trip_ms: millis(
      percentile(
        cast.truth.exchanges.map(({ t0, t3 }) => t3 - t0),
        0.5,
      ),
    ),
    ...clockFigures(cast.screens),
    troubles: cast.troubles,
  });
  say({ ...named, what: "computed", ...computed });
  say({ ...named, what: "frames", ...frameFigures(notes) });
  say({
    ...named,
    what: "shown",
    instants: due.length,
    not_once: all.flat().filter(({ times }) => times !== 1).length,
    ...shownFigures(all, false),
  });
  say({ ...named, what: "shown among even frames", ...shownFigures(all, true) });
  const late = all.flat().flatMap(({ at, instant }) => (at === null ? [] : at - instant));
  const oracle = all.flat().map(({ oracle: { at }, instant }) => at - instant);
  say({ ...named, distribution: "computed", ...histogram(errors, COMPUTED_BINS) });
  say({ ...named, distribution: "shown", ...histogram(late, SHOWN_BINS) });
  say({ ...named, distribution: "oracle", ...histogram(oracle, SHOWN_BINS) });
}
