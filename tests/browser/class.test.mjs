// A class from the set-up link to the results, on the pages that people use: one coach, one wall,
// three phones, and a server that is killed in the middle of work.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { apart, openBrowser, picture, press, shows, until } from "./lib/browser.mjs";
import { openHouse, PASSPHRASE } from "./lib/house.mjs";

const SHEET = `# Evening on the quay

Slot: 30 min

Pain, dizziness or a tight chest: stop, and tell the coach.

## Talk: what we do tonight

Cues: who is new?

## Quay run: AMRAP 10 min, lead-in 2 s

Aim: steady, 5 to 7 rounds

- 11 goblet squat 16 kg
  - easier (mechanics): 11 squat to box 45 cm
- 8 alternating step-up, 50 cm
  - low impact, easier: 8 alternating step-up 30 cm
- 7 kettlebell swing 16 kg
  - lighter: 12 kg

## Rest 5 min

## Cool-down
`;

const HOSTILE = `<img src=x onerror="document.title='broken'">`;

let house, browser, coach, wall, code;
const phones = {};

before(async () => {
  house = await openHouse();
  browser = await openBrowser();
});

after(async () => {
  await browser?.close();
  await house?.close();
});

const call = async (name) => {
  await press(coach, name);
  await apart(coach);
};
/** The touch area of a phone, once it takes a touch; with the rounds that it shows, where they are given. */
const roundArea = (phone, rounds = /\d\s*round/) =>
  phone.locator("#touch[aria-disabled=false]").filter({ hasText: rounds });

/** The board's rows on the wall, from the top left, as text. */
const boardRows = () =>
  wall.locator(".row").evaluateAll((rows) => {
    const at = (row) => row.getBoundingClientRect();
    const sorted = rows.toSorted((a, b) => at(a).left - at(b).left || at(a).top - at(b).top);
    return sorted.map((row) => row.innerText.split("\n").map((part) => part.trim()).filter(Boolean).join(" "));
  });

test("the set-up link sets the passphrase, once", async () => {
  coach = await browser.device("tablet", house.setUpLink);
  await coach.getByLabel("The house's name").fill("Quayside Hall");
  await coach.getByLabel(/A passphrase for coaches/).fill(PASSPHRASE);
  await coach.getByLabel("The same again").fill(PASSPHRASE);
  await coach.getByLabel(/What the stop notice says/).fill("Call 112. First aid is by the door.");
  await picture(coach, "coach-set-up");
  await press(coach, "Set up");
  await shows(coach, "No class is open");

  const late = await browser.device("tablet", house.setUpLink);
  await late.getByRole("button", { name: "Sign in" }).waitFor();
  await late.close();
});

test("the coach opens a class from a sheet, and lets the wall in", async () => {
  await house.signIn();
  await house.ask("PUT", "/api/sheets/tonight", SHEET);
  await coach.reload();
  await press(coach, /Evening on the quay/);
  const open = coach.getByRole("button", { name: /^Open/ });
  await open.first().click();
  await shows(coach, "Class code");
  ({
    open: { code },
  } = await house.ask("GET", "/api/classes"));
  await shows(coach, code);

  wall = await browser.device("wall", `${house.base}/wall`);
  await press(coach, "Let in");
  await shows(wall, "Scan to come in");
  await shows(wall, code);
});

test("athletes come in by the code, as written or scaled", async () => {
  for (const name of ["Ines Harrow", "Tomas Brine", HOSTILE.slice(0, 40)]) {
    const phone = await browser.device("phone", `${house.base}/#c=${code}`);
    await phone.getByLabel("Your name").fill(name);
    await press(phone, "Come in");
    await shows(phone, "You are in");
    phones[name.slice(0, 4)] = phone;
  }
  await picture(phones.Ines, "phone-brief");
  await shows(wall, /Ines/);
  await picture(wall, "wall-gathering");

  const wrong = await browser.device("phone", `${house.base}/#c=CDFG-2345`);
  await shows(wrong, /no class|has ended|code/i);
  assert.equal(await wrong.getByRole("button", { name: "Come in" }).count(), 0);
  await wrong.close();
});

test("a round moves the board on the wall", async () => {
  await call(/^Start/);
  await shows(coach, "who is new?");
  await call(/^Next/);
  await roundArea(phones.Ines).waitFor();
  await shows(wall, "Work");
  for (const [name, taps] of [["Ines", 2], ["Toma", 1]]) {
    for (let done = 1; done <= taps; done += 1) {
      await roundArea(phones[name]).click();
      await roundArea(phones[name], new RegExp(`${done}\\s*round`)).waitFor();
      await apart(phones[name]);
    }
  }
  const rows = await until(wall, boardRows, (rows) => rows[0]?.endsWith("2") && rows[1]?.endsWith("1"), "the board");
  assert.match(rows[0], /^1 Ines/);
  assert.match(rows[1], /^2 Tomas/);
  await picture(wall, "wall-work");
  await picture(phones.Ines, "phone-work");
  await picture(coach, "coach-work");
});

test("a round tapped out of reach counts once the phone is back", async () => {
  await phones.Toma.context().setOffline(true);
  await roundArea(phones.Toma).click();
  await roundArea(phones.Toma, /2\s*rounds/).waitFor();
  await picture(phones.Toma, "phone-on-its-own");
  assert.match((await boardRows())[1], /^2 Tomas.* 1$/);
  await phones.Toma.context().setOffline(false);
  const rows = await until(wall, boardRows, (rows) => rows[1]?.endsWith("2"), "the late tap");
  assert.match(rows[0], /^1/);
  assert.match(rows[1], /^1/);
});

test("killed in the middle of work, the server comes back with every tap", async () => {
  const reading = (page) => page.getByRole("timer").innerText();
  const before = await boardRows();
  await house.crash();
  for (const page of [coach, phones.Ines, phones.Toma]) {
    await until(
      page,
      () => page.evaluate(() => document.body.innerText),
      (text) => !/on its own|no connection|not connected/i.test(text),
      "back",
    );
  }
  assert.deepEqual(await boardRows(), before);
  await roundArea(phones.Ines).click();
  await until(wall, boardRows, (rows) => rows[0]?.endsWith("3"), "a tap after the restart");
  assert.match(await reading(phones.Ines), /^9:\d\d$/);
});

test("stop covers every screen until the coach resumes", async () => {
  await call("STOP");
  for (const page of [wall, phones.Ines, phones.Toma, coach]) await shows(page, "Call 112. First aid is by the door.");
  await picture(wall, "wall-stop");
  await picture(coach, "coach-stop");
  await call(/^Resume, and take/);
  for (const page of [wall, phones.Ines]) await page.getByText("Call 112").first().waitFor({ state: "hidden" });
});

test("after the work, extra reps by the movement reached", async () => {
  await call(/^Next/);
  const phone = phones.Ines;
  await phone.getByRole("radio", { name: /step-up/ }).click();
  await phone.getByRole("button", { name: "one more" }).last().click();
  await phone.getByRole("button", { name: "one more" }).last().click();
  await picture(phone, "phone-extra-reps");
  await press(phone, /^Save/);
  await until(wall, boardRows, (rows) => rows.some((row) => /^1 Ines.*3 ?\+ ?13$/.test(row)), "3 + 13 on the wall");
  await picture(wall, "wall-rest");
});

test("names are text, and a closed class shows results", async () => {
  assert.doesNotMatch(await wall.title(), /broken/);
  for (const page of [coach, phones.Ines]) assert.doesNotMatch(await page.title(), /broken/);
  await call(/^Next/);
  await call(/^Next|^Finish/);
  await picture(wall, "wall-done");
  await picture(phones.Ines, "phone-results");
  await picture(coach, "coach-done");
  assert.deepEqual(browser.troubles, []);
});
