// From the coach's touch on STOP to the notice on each of ten screens, again and again.

import { setTimeout as sleep } from "node:timers/promises";
import { apart, press } from "../../lib/browser.mjs";
import { openCast, take } from "../lib/cast.mjs";
import { histogram } from "../lib/shown.mjs";
import { chance, inMillis, millis, percentile } from "../lib/statistics.mjs";

const PHONES = 8;
const SEED = 7;
/** Between two stops, so that they meet the exchanges and frames at any place. */
const [PAUSE_MS, PAUSE_MORE_MS] = [700, 1_500];
const BINS = { from: 0, to: 300_000, bins: 60 };

const SHEET = `# Long tide

## Long tide: AMRAP 20 min, lead-in 5 s

- 9 goblet squat 16 kg
- 7 push-up
`;

export async function stop({ stops, ...bench }, say) {
  const cast = await openCast(SHEET, { phones: PHONES });
  const random = chance(SEED);
  try {
    await cast.start();
    await sleep(8_000);
    const touches = [];
    for (let count = 0; count < stops; count += 1) {
      await sleep(PAUSE_MS + PAUSE_MORE_MS * random());
      const touched = await cast.coach.evaluate(() => {
        const at = noted.real();
        document.querySelector("button.stop").click();
        return at;
      });
      touches.push(cast.screens[0].clock.zero + 1000 * touched);
      await all(cast.screens, () => noted.stopped());
      await apart(cast.coach);
      await press(cast.coach, /^Resume, and take/);
      await all(cast.screens, () => !noted.stopped());
    }
    const notes = [];
    for (const screen of cast.screens) notes.push(await take(screen));
    report({ ...bench, bench: "stop" }, touches, notes, cast.troubles, say);
  } finally {
    await cast.close();
  }
}

/** Looks now and then, so that looking takes nothing from the frames. */
const all = (screens, wanted) =>
  Promise.all(
    screens.map(async ({ name, page }) => {
      await page.waitForFunction(wanted, null, { polling: 100 }).catch(async (error) => {
        throw new Error(`${name}: ${error.message}; it shows: ${await page.innerText("body")}`);
      });
    }),
  );

function report(bench, touches, notes, troubles, say) {
  const screens = notes.map(({ name, changes }) => {
    const shown = changes.filter(({ text }) => text === "STOP").map(({ at }) => at);
    // Each notice was there and gone before the next touch.
    return { name, took: touches.map((touch) => shown.find((at) => at >= touch) - touch) };
  });
  const others = screens.filter(({ name }) => name !== "coach");
  const slowest = touches.map((_, index) => Math.max(...screens.map(({ took }) => took[index])));
  say({
    ...bench,
    what: "stop",
    stops: touches.length,
    screens: screens.map(({ name, took }) => ({ name, took_ms: inMillis(took) })),
    slowest_screen_p99_ms: millis(Math.max(...screens.map(({ took }) => percentile(took, 0.99)))),
    all_but_coach_ms: inMillis(others.flatMap(({ took }) => took)),
    slowest_of_all_ms: inMillis(slowest),
    over_200_ms: others.flatMap(({ took }) => took).filter((took) => took > 200_000).length,
    troubles,
  });
  say({
    ...bench,
    distribution: "stop",
    ...histogram(
      others.flatMap(({ took }) => took),
      BINS,
    ),
  });
}
