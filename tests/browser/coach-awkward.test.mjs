// The coach's awkward moments: the network goes during the roll, two coaches settle at once, a tally is
// corrected while the athlete taps, a phone is out of reach when the class ends; and who stands out.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { apart, openBrowser, picture, press, SCREENS, shows, until } from "./lib/browser.mjs";
import { openHouse, PASSPHRASE } from "./lib/house.mjs";
import { openLine } from "./lib/line.mjs";

const SHEET = `# Rough water

Slot: 30 min

## Swell: AMRAP 1 min, lead-in 2 s

Aim: 20 to 30 rounds

- 2 squat

## Rest 2 min, then wait

## Calm: AMRAP 10 min, lead-in 2 s

Aim: 5 to 7 rounds

- 10 squat
- 10 push-up
`;

const NAMES = ["Ada Kell", "Birk Sand", "Cato Lund", "Dina Reef"];

let house, browser, coachLine, phoneLine, coach, second, phone;

before(async () => {
  house = await openHouse();
  browser = await openBrowser();
  [coachLine, phoneLine] = [await openLine(house), await openLine(house)];
  await house.setUp();
  const { code } = await house.openClass(SHEET);
  coach = await signIn("tablet", coachLine.base);
  second = await signIn("phone", house.base);
  phone = await browser.device("phone", `${phoneLine.base}/#c=${code}`);
  await phone.getByLabel("Your name").fill("Vera Spar");
  await press(phone, "Come in");
  await shows(phone, "You are in");
  await tab(coach, "Floor");
  await press(coach, "Add");
  for (const name of NAMES) {
    await coach.getByLabel("Name").fill(name);
    await coach.locator("form").getByRole("button", { name: "Add" }).click();
    await line(coach, name).waitFor({ state: "attached" });
  }
  await press(coach, "Close");
});

after(async () => {
  await browser?.close();
  await coachLine?.close();
  await phoneLine?.close();
  await house?.close();
});

async function signIn(screen, base) {
  const page = await browser.device(screen, `${base}/coach`);
  await page.getByLabel("Coaches' passphrase").fill(PASSPHRASE);
  await press(page, "Sign in");
  await page.getByRole("navigation").waitFor();
  return page;
}

const tab = (page, name) => page.getByRole("navigation").getByRole("button", { name }).click();
const line = (page, name) => page.getByRole("button", { name: new RegExp(`${name}\\b`) }).first();
const has = (page, name, wanted) =>
  until(page, () => line(page, name).locator(".tally").innerText(), (text) => text === wanted, `${name}'s tally`);
const call = async (name) => {
  await apart(coach);
  await coach.locator(".calls").getByRole("button", { name }).click();
};
const touch = async () => {
  await apart(phone);
  await phone.locator("#touch[aria-disabled=false]").click();
};

test("a tally tablet is let in and given people by its number", async () => {
  const tablet = await browser.device("tablet", `${house.base}/tally`);
  const number = await tablet.locator(".pairing-number").innerText();
  await tab(coach, /^Now/);
  await shows(coach, `A tally tablet that shows ${number} asks to be let in.`);
  await press(coach, "Let in");
  await tab(coach, "House");
  await shows(coach, "Counts for nobody yet.");
  await press(coach, "Assign");
  await press(coach, "Add all without a phone");
  await coach.locator(".over").getByRole("button", { name: /Dina Reef/ }).click();
  await coach.setViewportSize(SCREENS.phone);
  await picture(coach, "coach-assign-phone");
  await coach.setViewportSize(SCREENS.tablet);
  await picture(coach, "coach-assign-tablet");
  await coach.locator(".over").locator(".yes").click();
  await shows(coach, "Counts for Ada Kell, Birk Sand and Cato Lund.");
  await shows(tablet, "Cato Lund");
  await picture(coach, "coach-house-tablet");
  await coach.locator(".tablet").getByRole("button", { name: "Assign" }).click();
  await press(coach, "Nobody");
  await coach.locator(".over").locator(".yes").click();
  await shows(tablet, "Nobody is assigned to it yet");
  await tablet.close();
});

test("who is overdue stands out to the coach, in lines that stay", async () => {
  await call("Start");
  await shows(coach, "Work");
  await tab(coach, /^Now/);
  const card = coach.getByLabel("Who stands out");
  await card.getByText(/round overdue since 0:0\d/).first().waitFor();
  assert.match(await card.getByRole("listitem").first().innerText(), /^Ada Kell\s+round overdue/);
  await coach.setViewportSize(SCREENS.phone);
  await picture(coach, "coach-stands-out-phone");
  await coach.setViewportSize(SCREENS.tablet);
  await picture(coach, "coach-stands-out-tablet");
  await card.getByRole("button", { name: "All 5" }).click();
  await coach.locator(".over").getByText("Vera Spar").waitFor();
  await press(coach, "Close");
});

test("the roll goes on without the network, and all of it arrives", async () => {
  await call("Next");
  await shows(coach, "Rest");
  await tab(coach, "Floor");
  coachLine.cut();
  await shows(coach, "On its own");
  await coach.getByRole("button", { name: /^Roll call/ }).click();
  const over = coach.locator(".over");
  for (const name of NAMES) {
    await over.locator(".roll-who", { hasText: name }).waitFor();
    await over.getByRole("button", { name: "9", exact: true }).click();
    await over.getByRole("button", { name: "Next", exact: true }).click();
  }
  await shows(coach, "1 to go · 4 on the way");
  await press(coach, "Skip");
  coachLine.mend();
  await shows(coach, /^1 to go$/);
  await press(coach, "Close");
  await tab(second, "Floor");
  for (const name of NAMES) await has(second, name, "9");
});

test("a tally that is corrected while the athlete taps counts on from there", async () => {
  await call("Next");
  await shows(coach, "Work");
  await touch();
  await has(coach, "Vera Spar", "1");
  await line(coach, "Vera Spar").click();
  const over = coach.locator(".over");
  await over.getByLabel("Rounds").fill("4");
  await over.getByRole("button", { name: "Set", exact: true }).click();
  await until(coach, () => over.locator(".big-tally").innerText(), (text) => text.startsWith("4"), "the tally");
  await touch();
  await until(coach, () => over.locator(".big-tally").innerText(), (text) => text.startsWith("5"), "a round more");
  await press(coach, "Close");
});

test("of two coaches who look at one mark, one settles it, and the other sees that", async () => {
  await touch();
  await touch();
  for (const page of [coach, second]) await page.getByRole("button", { name: /^To settle/ }).click();
  await shows(second, "All count");
  await coach.getByRole("button", { name: /^All count/ }).click();
  await shows(coach, "Settled: counts.");
  await shows(second, "Settled.");
  for (const page of [coach, second]) await press(page, "Close");
  await has(coach, "Vera Spar", "7");
});

test("a phone that is out of reach at the end is named, and its taps count when they come", async () => {
  phoneLine.cut();
  await touch();
  await call("Next");
  await tab(coach, /^Now/);
  await shows(coach, /Out of reach:.* Vera Spar's phone. Taps may wait there/);
  await picture(coach, "coach-out-of-reach-tablet");
  await press(coach, "Close the class");
  await shows(coach, /Out of reach:.* Vera Spar's phone. Taps may wait there/);
  await press(coach, "Keep it open");
  phoneLine.mend();
  await tab(coach, "Floor");
  await has(coach, "Vera Spar", "8");
  assert.deepEqual(browser.troubles, []);
});
