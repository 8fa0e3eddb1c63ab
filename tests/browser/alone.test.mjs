// A wall whose network is cut in the middle of a piece: it goes on through bell, rest and the next lead-in by
// itself, marked as on its own, and takes over what was called meanwhile once it is back.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { openBrowser, picture, press, shows, until } from "./lib/browser.mjs";
import { openHouse, PASSPHRASE } from "./lib/house.mjs";
import { openLine } from "./lib/line.mjs";

const SHEET = `# Short tides

Slot: 20 min

## Two tides: AMRAP 0:06, 2 times, rest 0:06 between, lead-in 3 s

- 5 step-up
- 5 sit-up

## Rest 5 min
`;

let house, browser, line, coach, wall;

before(async () => {
  house = await openHouse();
  browser = await openBrowser();
  line = await openLine(house);
  await house.setUp();
  await house.openClass(SHEET);
  coach = await browser.device("tablet", `${house.base}/coach`);
  await coach.getByLabel("Coaches' passphrase").fill(PASSPHRASE);
  await press(coach, "Sign in");
  wall = await browser.device("wall", `${line.base}/wall`);
  await press(coach, "Let in");
  await shows(wall, "Scan to come in");
});

after(async () => {
  await browser?.close();
  await line?.close();
  await house?.close();
});

const alone = () => wall.locator(".alone.stands");

/** What stands on the wall, each time it changes: the phase, the digits, and whether it is on its own. */
const watch = () =>
  wall.evaluate(() => {
    const look = () => {
      const now = [
        document.querySelector(".phase-word")?.textContent ?? "",
        document.querySelector(".digits")?.textContent ?? "",
        document.querySelector(".alone.stands") === null ? "" : "alone",
      ].join(" ");
      if (window.stood.at(-1) !== now) window.stood.push(now);
      requestAnimationFrame(look);
    };
    window.stood = [];
    look();
  });
const stood = () => wall.evaluate(() => window.stood);

test("cut off in a piece, it goes on through bell, rest and lead-in to the next work", async () => {
  await watch();
  await press(coach, /^Start/);
  await until(wall, stood, (all) => all.includes("Work 0:04 "), "the first work");
  line.cut();
  await alone().waitFor();
  const all = await until(
    wall,
    stood,
    (all) => all.includes("Work 0:05 alone"),
    "the next work, alone",
  );
  const told = all.filter((now) => now.endsWith(" alone")).map((now) => now.replace(" alone", ""));
  const wanted = ["Work 0:01", "Rest 0:06", "Rest 0:05", "Rest 0:04", "Lead-in 3", "Lead-in 2", "Lead-in 1", "Work 0:06"];
  const from = told.indexOf("Work 0:01");
  assert.deepEqual(told.slice(from, from + wanted.length), wanted);
  await picture(wall, "wall-alone");
});

test("back, it shows what was called meanwhile, and is no longer on its own", async () => {
  await press(coach, /^Hold/);
  await shows(coach, "Held");
  assert.equal(await wall.getByText("Held").count(), 0);
  line.mend();
  await shows(wall, "Held");
  await alone().waitFor({ state: "detached" });
  const digits = () => wall.locator(".digits").innerText();
  assert.equal(await digits(), await coach.getByRole("timer").innerText());
  assert.deepEqual(browser.troubles, []);
});
