// What a coach does for others: counting for somebody without a phone, another movement for all, a
// plan made shorter, a result that no phone counts, the clicker in the pocket, and the end.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { apart, openBrowser, picture, press, shows, until } from "./lib/browser.mjs";
import { openHouse, PASSPHRASE } from "./lib/house.mjs";

const SHEET = `# Strength at the pier

Slot: 40 min

## Pier: AMRAP 8 min, lead-in 2 s

Aim: steady

- 10 goblet squat 16 kg
  - easier (mechanics): 10 squat to box 45 cm
- 8 push-up
  - easier: 8 push-up on a box

## Rest 2 min, then wait

## Heavy: build to a heavy set of 3 in 10 min, lead-in 2 s

Aim: three good sets

- 3 deadlift by feel

## Talk: how it went, 5 min
`;

let house, browser, coach, wall, phone;

before(async () => {
  house = await openHouse();
  browser = await openBrowser();
  await house.setUp();
  const { code } = await house.openClass(SHEET);
  coach = await browser.device("phone", `${house.base}/coach`);
  await coach.getByLabel("Coaches' passphrase").fill(PASSPHRASE);
  await press(coach, "Sign in");
  wall = await browser.device("wall", `${house.base}/wall`);
  await press(coach, "Let in");
  phone = await browser.device("phone", `${house.base}/#c=${code}`);
  await phone.getByLabel("Your name").fill("Ines Harrow");
  await press(phone, "Come in");
  await shows(phone, "You are in");
});

after(async () => {
  await browser?.close();
  await house?.close();
});

const tab = (name) => coach.getByRole("navigation").getByRole("button", { name }).click();
const key = async (name) => {
  await apart(coach);
  await coach.keyboard.press(name);
};
const onWall = (wanted, what) =>
  until(wall, () => wall.locator("main").innerText(), (text) => wanted.test(text), what);

test("another movement for all is shown to all", async () => {
  await tab(/^Now/);
  await coach.getByText("1 option").first().click();
  await press(coach, "For all");
  await shows(coach, "All do");
  await shows(phone, /squat to box/);
});

test("a plan is made shorter, and as it was again", async () => {
  await tab("Plan");
  const end = () => coach.getByText(/^started now, ends/).first().innerText();
  const planned = await end();
  const talk = coach.getByRole("listitem").filter({ hasText: "Talk: how it went" }).last();
  await talk.getByRole("button", { name: "Leave out" }).click();
  await until(coach, end, (shown) => shown !== planned, "an earlier end");
  await picture(coach, "coach-plan");
  await talk.getByRole("button", { name: "Restore" }).click();
  await talk.getByRole("button", { name: "Leave out" }).waitFor();
});

test("a clicker starts the class, holds it and goes on", async () => {
  await tab(/^Now/);
  await key("PageDown");
  await shows(coach, "Lead-in");
  await phone.locator("#touch[aria-disabled=false]").waitFor();
  await key("b");
  await shows(phone, "Held");
  await key("PageDown");
  await phone.getByText("Held", { exact: true }).waitFor({ state: "hidden" });
});

test("the coach counts for somebody without a phone", async () => {
  await tab("Floor");
  await press(coach, "Add");
  await coach.getByLabel("Name").fill("Old Tar");
  await coach.locator("form").getByRole("button", { name: "Add" }).click();
  await shows(coach, "no phone");
  await press(coach, "Close");
  await phone.locator("#touch[aria-disabled=false]").waitFor();
  const more = coach.getByRole("button", { name: "One more round for Old Tar" });
  await more.click();
  await onWall(/Ol[d.]*( T\.)?\s+1\b/, "the round on the wall");
  await apart(coach);
  await more.click();
  await onWall(/Ol[d.]*( T\.)?\s+2\b/, "two rounds");
  await picture(coach, "coach-floor");
});

test("a result that no phone counts is entered as it is", async () => {
  await tab(/^Now/);
  for (const wanted of ["Rest", "Lead-in"]) {
    await key("PageDown");
    await shows(coach, wanted);
  }
  await shows(coach, "Work");
  await shows(coach, "Heavy");
  await tab("Floor");
  await coach.getByRole("button", { name: /^Old Tar/ }).click();
  await coach.getByLabel("kg", { exact: true }).fill("sixty");
  await press(coach, "Set");
  await shows(coach, /from −1000 to 1000/);
  await coach.getByLabel("kg", { exact: true }).fill("62.5");
  await press(coach, "Set");
  await onWall(/Ol[d.]*( T\.)?\s+62\.5/, "the load on the wall");
  await picture(wall, "wall-load");
  await press(coach, "Close");
});

test("closing is asked twice, and then the phone has the results", async () => {
  await tab(/^Now/);
  await key("PageDown");
  await shows(coach, "Talk: how it went");
  await key("PageDown");
  await press(coach, "Close the class");
  await press(coach, "Keep it open");
  assert.notEqual((await house.ask("GET", "/api/classes")).open, null);
  await press(coach, "Close the class");
  await press(coach, "Close for good");
  await shows(coach, "Open a class from a sheet");
  await shows(phone, "The class is closed");
  assert.equal((await house.ask("GET", "/api/classes")).open, null);
  await picture(phone, "phone-over");
  assert.deepEqual(browser.troubles, []);
});
