// The server is killed again and again while a class runs: where house time and the class's clock stand afterwards, by
// the host's clock, and what a wall, a coach and two phones show meanwhile.

import { setTimeout as sleep } from "node:timers/promises";
import { openCast, take } from "../lib/cast.mjs";
import { cutOut, standing } from "../lib/shown.mjs";
import { chance, inMillis, millis, percentile } from "../lib/statistics.mjs";
import { bracket } from "../lib/truth.mjs";
import { hostNow } from "../lib/websocket.mjs";

const SEED = 5;
/** Between two kills; the screens have come back in most of them, and not in all. */
const [PAUSE_MS, PAUSE_MORE_MS] = [1_500, 3_500];
/** Enough exchanges for a narrow bracket. */
const EXCHANGES = 8;
const SECOND = 1e6;
const SHORTEST = 0.9 * SECOND;
const LONGEST = 1.1 * SECOND;

const sheet = (kills) => `# Long tide

## Long tide: AMRAP ${Math.ceil((kills * 12) / 60) + 3} min, lead-in 5 s

- 9 goblet squat 16 kg
`;

export async function restart({ kills, ...bench }, say) {
  const cast = await openCast(sheet(kills), { phones: 2, tapping: false });
  const { truth } = cast;
  const random = chance(SEED);
  try {
    await cast.start();
    await sleep(8_000);
    const from = hostNow();
    const away = [];
    for (let kill = 0; kill < kills; kill += 1) {
      await sleep(PAUSE_MS + PAUSE_MORE_MS * random());
      const life = truth.exchanges.at(-1).life;
      const killed = hostNow();
      await cast.house.crash();
      await truth.until(
        () =>
          truth.exchanges.filter((exchange) => exchange.life > life).length >= EXCHANGES &&
          truth.clocks.at(-1).life > life,
        "the house is back",
      );
      away.push(truth.exchanges.find((exchange) => exchange.life > life).t3 - killed);
    }
    await sleep(PAUSE_MS);
    const notes = [];
    for (const screen of cast.screens) notes.push(cutOut(await take(screen), from, hostNow()));
    report({ ...bench, bench: "restart", kills }, truth, away, notes, cast.troubles, say);
  } finally {
    await cast.close();
  }
}

function report(bench, truth, away, notes, troubles, say) {
  const lives = [...new Set(truth.exchanges.map(({ life }) => life))].map((life) => ({
    ...bracket(truth.exchanges.filter((exchange) => exchange.life === life)),
    clock: truth.clocks.findLast((each) => each.life === life)?.clock,
  }));
  // Class time at one host instant is house time minus the anchor plus what the clock stood at there.
  const stands = ({ clock: { phase } }) => phase.at_anchor - phase.anchor;
  const moved = lives.slice(1).map((life, index) => {
    const before = lives[index];
    const call = stands(life) - stands(before);
    return {
      segment: life.clock.phase.segment - before.clock.phase.segment,
      by: life.middle - before.middle + call,
      atMost: Math.max(Math.abs(life.high - before.low + call), Math.abs(life.low - before.high + call)),
    };
  });
  const screens = notes.map((screen) => ({ name: screen.name, ...standing(screen) }));
  const durations = screens.flatMap(({ durations }) => durations);
  const wrong = durations.filter(({ took, grid }) => took < SHORTEST - grid || took > LONGEST + grid);
  say({
    ...bench,
    what: "clock after a restart",
    restarts: moved.length,
    other_segment: moved.filter(({ segment }) => segment !== 0).length,
    moved_ms: inMillis(moved.map(({ by }) => by)),
    moved_at_most_ms: millis(Math.max(...moved.map(({ atMost }) => atMost))),
    first_to_last_at_most_ms: millis(
      Math.max(Math.abs(lives.at(-1).high - lives[0].low), Math.abs(lives.at(-1).low - lives[0].high)),
    ),
    known_within_ms: millis(
      percentile(
        lives.map(({ width }) => width),
        0.5,
      ),
    ),
    away_ms: inMillis(away),
  });
  say({
    ...bench,
    what: "screens meanwhile",
    seconds_shown: durations.length,
    stood_ms: inMillis(durations.map(({ took }) => took)),
    too_short_or_long: wrong.length,
    steps: screens.flatMap(({ name, steps }) => steps.map((step) => ({ name, ...step }))),
    troubles,
  });
}
