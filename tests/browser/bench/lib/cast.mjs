// A house with a running class and the screens that follow it, each with what it notes in host time.

import { openBrowser, press, shows } from "../../lib/browser.mjs";
import { openHouse, PASSPHRASE } from "../../lib/house.mjs";
import { script } from "./instrument.mjs";
import { chance } from "./statistics.mjs";
import { openTruth } from "./truth.mjs";
import { hostNow } from "./websocket.mjs";

const NAMES = ["Ansa", "Brine", "Cove", "Dune", "Eddy", "Fjord", "Gale", "Haven"];
/** Real rounds take about so long; each phone a little different. */
const TAP_EVERY_MS = 28_000;
/** Crystals of phones and televisions are commonly within this (from memory). */
const RATE_PPM = 40;
/** Looks at a page's clock from outside. */
const LOOKS = 40;

/** A frame of 60 Hz. */
const FRAME_MS = 1000 / 60;
const PHASES_SEED = 3;
/** Draws for each screen, taken by turns: more than any run has. */
const DRAWS = 60;

/**
 * Opens a house, a class of `sheet`, a coach, a wall and so many phones; their rate errors lie evenly to both sides. With
 * `phases` "apart" their frames have nothing to do with each other, by a chance that is the same each time.
 */
export async function openCast(sheet, { phones, phases = "apart", tapping = true }) {
  const house = await openHouse(process.env.FLOORBELL_BENCH_LISTEN);
  const random = chance(PHASES_SEED);
  const cast = { house, screens: [], close: async () => {} };
  try {
    await house.setUp();
    const { code } = await house.openClass(sheet);
    const truth = openTruth(house.reach, house.token());
    const browser = await openBrowser();
    cast.close = async () => {
      truth.close();
      await browser.close();
      await house.close();
    };
    const open = async (name, kind, address) => {
      const ratePpm = RATE_PPM * ((2 * cast.screens.length) / (phones + 1) - 1);
      const phasesMs = Array.from({ length: DRAWS }, () => (phases === "apart" ? FRAME_MS * random() : 0));
      const tapEveryMs = kind === "phone" && tapping ? TAP_EVERY_MS + 1000 * cast.screens.length : 0;
      const page = await browser.device(kind, address, script({ ratePpm, phasesMs, tapEveryMs }));
      cast.screens.push({ name, page, ratePpm });
      return page;
    };
    const coach = await open("coach", "tablet", `${house.base}/coach`);
    await coach.getByLabel("Coaches' passphrase").fill(PASSPHRASE);
    await press(coach, "Sign in");
    const wall = await open("wall", "wall", `${house.base}/wall`);
    await press(coach, "Let in");
    for (const name of NAMES.slice(0, phones)) {
      const phone = await open(name, "phone", `${house.base}/#c=${code}`);
      await phone.getByLabel("Your name").fill(name);
      await press(phone, "Come in");
      await shows(phone, "You are in");
    }
    for (const screen of cast.screens) screen.clock = await clockOf(screen.page);
    cast.start = async () => {
      await press(coach, /^Start/);
      await truth.until(() => truth.clocks.at(-1)?.clock.phase.phase === "running", "the class starts");
    };
    Object.assign(cast, { truth, coach, wall, troubles: browser.troubles });
    return cast;
  } catch (error) {
    await cast.close();
    throw error;
  }
}

/**
 * Where a page's clock stands on the host's. The browser tells the instant of navigation, the zero of the page's clock,
 * on CLOCK_MONOTONIC. That this is so is looked at from outside: host time before and after a reading of the page.
 */
async function clockOf(page) {
  const session = await page.context().newCDPSession(page);
  await session.send("Performance.enable");
  const { metrics } = await session.send("Performance.getMetrics");
  await session.send("Performance.disable");
  const zero = 1e6 * metrics.find(({ name }) => name === "NavigationStart").value;
  let [low, high] = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
  for (let look = 0; look < LOOKS; look += 1) {
    const before = hostNow();
    const { result } = await session.send("Runtime.evaluate", { expression: "noted.real()" });
    const after = hostNow();
    [low, high] = [Math.max(low, before - 1000 * result.value), Math.min(high, after - 1000 * result.value)];
  }
  const origin = await page.evaluate(() => performance.timeOrigin);
  await session.detach();
  return { zero, low, high, origin: origin * 1000 };
}

/**
 * Takes what a screen has noted, in host time (microseconds): of each frame its timestamp (`begin`) and when its callback
 * began (`at`), and house time minus host time by the page, as shown and as estimated, with their bounds.
 */
export async function take({ page, name, ratePpm, clock }) {
  const { frames, perFrame, changes } = await page.evaluate(() => noted.take());
  const column = (place) =>
    Float64Array.from({ length: frames.length / perFrame }, (_, row) => frames[row * perFrame + place]);
  const host = (real) => clock.zero + 1000 * real;
  const ahead = (place) => column(place).map((offset) => offset - clock.zero);
  return {
    name,
    ratePpm,
    begin: column(0).map(host),
    at: column(1).map(host),
    shown: ahead(2),
    shownBound: column(3),
    estimate: ahead(4),
    bound: column(5),
    changes: changes.map(([begin, at, text]) => ({ begin: host(begin), at: host(at), text })),
  };
}
