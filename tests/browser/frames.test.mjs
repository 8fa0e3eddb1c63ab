// What a page touches while nothing happens but time: the text of its digits, and with them the line that fills.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { openBrowser, press, shows } from "./lib/browser.mjs";
import { openHouse, PASSPHRASE } from "./lib/house.mjs";

const SHEET = `# A long swell

Slot: 40 min

## Swell: AMRAP 20 min, lead-in 2 s

- 5 step-up
- 5 sit-up
`;

let house, browser, coach, wall, phone;

before(async () => {
  house = await openHouse();
  browser = await openBrowser();
  await house.setUp();
  const { code } = await house.openClass(SHEET);
  coach = await browser.device("tablet", `${house.base}/coach`);
  await coach.getByLabel("Coaches' passphrase").fill(PASSPHRASE);
  await press(coach, "Sign in");
  wall = await browser.device("wall", `${house.base}/wall`);
  await press(coach, "Let in");
  await shows(wall, "Scan to come in");
  phone = await browser.device("phone", `${house.base}/#c=${code}`);
  await phone.getByLabel("Your name").fill("Ines Harrow");
  await press(phone, "Come in");
  await shows(phone, "You are in");
  await press(coach, /^Start/);
  for (const page of [coach, wall, phone]) await shows(page, "Work");
});

after(async () => {
  await browser?.close();
  await house?.close();
});

/** What a page changes until its digits have changed four times, but for the digits' text and the line. */
const touched = (page) =>
  page.evaluate(
    () =>
      new Promise((done) => {
        const digits = document.querySelector(".digits");
        const line = document.querySelector(".line-fill, #run");
        const other = [];
        let changes = 0;
        let steps = 0;
        const observer = new MutationObserver((records) => {
          for (const { type, target, attributeName } of records) {
            if (type === "characterData" && digits.contains(target)) changes += 1;
            else if (target === line && attributeName === "style") steps += 1;
            else other.push(`${type} ${attributeName ?? ""} ${target.className ?? target.data}`);
          }
          if (steps > changes) other.push(`${steps} steps of the line in ${changes} changes`);
          if (changes < 4) return;
          observer.disconnect();
          done(other);
        });
        observer.observe(document, { subtree: true, childList: true, characterData: true, attributes: true });
      }),
  );

test("a frame writes the digits and their line, and nothing else, on all three pages", async () => {
  assert.deepEqual(await touched(wall), []);
  assert.deepEqual(await touched(phone), []);
  // Until the call that was made can no longer be taken back, the coach page still has that to say.
  await coach.getByRole("button", { name: /^Take back/ }).waitFor({ state: "detached" });
  // The coach page says anew each second when the class will end.
  const ends = (change) => /^characterData\s+(\d\d:\d\d|.* to spare|.* over.*)$/.test(change);
  assert.deepEqual((await touched(coach)).filter((change) => !ends(change)), []);
  assert.deepEqual(browser.troubles, []);
});
