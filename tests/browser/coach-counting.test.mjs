// How a coach counts: the roll on a keypad, what is marked and its settling, teams and who counts for
// whom, on a tablet; every format set by hand.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { apart, openBrowser, picture, press, SCREENS, shows, until } from "./lib/browser.mjs";
import { openHouse, PASSPHRASE } from "./lib/house.mjs";

const SHEET = `# Counting at the quay

Slot: 90 min

## Quay: AMRAP 8 min, lead-in 2 s

Aim: 5 to 7 rounds

- 10 goblet squat 16 kg
- 8 push-up

## Rest 2 min, then wait

## Bollards: 3 rounds for time, cap 12 min, lead-in 2 s

- 20 step-up
- 10 push-up

## Heavy: build to a heavy set of 3 in 10 min, lead-in 2 s

- 3 deadlift by feel

## Haul: AMRAP 10 min, in pairs, lead-in 2 s

- 12 cal row
- 10 sandbag to shoulder
`;

const NAMES = [
  "Ada Kell", "Birk Sand", "Cato Lund", "Dina Reef", "Eli Mast", "Fia Quay", "Gro Stern", "Hal Tide",
  "Ida Buoy", "Joar Helm", "Kaja Rope", "Lo Anchor", "Mei Gale", "Nils Pier", "Odd Sound", "Pia Deck",
  "Ros Keel", "Siv Marlin", "Tor Wake",
];

/** As the roll goes: by name. */
const EVERYBODY = [...NAMES, "Vera Spar"];

let house, browser, coach, phone;

before(async () => {
  house = await openHouse();
  browser = await openBrowser();
  await house.setUp();
  const { code } = await house.openClass(SHEET);
  coach = await browser.device("tablet", `${house.base}/coach`);
  await coach.getByLabel("Coaches' passphrase").fill(PASSPHRASE);
  await press(coach, "Sign in");
  phone = await browser.device("phone", `${house.base}/#c=${code}`);
  await phone.getByLabel("Your name").fill("Vera Spar");
  await press(phone, "Come in");
  await shows(phone, "You are in");
});

after(async () => {
  await browser?.close();
  await house?.close();
});

const tab = (name) => coach.getByRole("navigation").getByRole("button", { name }).click();
const over = () => coach.locator(".over");
const call = async (name) => {
  await apart(coach);
  await coach.locator(".calls").getByRole("button", { name }).click();
};
const line = (name) => coach.getByRole("button", { name: new RegExp(`${name}\\b`) }).first();
/** What somebody has, as the floor says it. */
const has = (name, wanted) =>
  until(coach, () => line(name).locator(".tally").innerText(), (text) => text === wanted, `${name}'s tally`);

/** A screen of the coach on a tablet and on a phone. */
async function pictures(name) {
  await coach.setViewportSize(SCREENS.phone);
  await picture(coach, `${name}-phone`);
  await coach.setViewportSize(SCREENS.tablet);
  await picture(coach, `${name}-tablet`);
}

test("nineteen people without a phone are added", async () => {
  await tab("Floor");
  await press(coach, "Add");
  for (const name of NAMES) {
    await coach.getByLabel("Name").fill(name);
    await coach.locator("form").getByRole("button", { name: "Add" }).click();
    await line(name).waitFor({ state: "attached" });
  }
  await press(coach, "Close");
  await shows(coach, "20 in");
});

test("two taps at once are marked; the number is quiet while work runs", async () => {
  await call("Start");
  await shows(coach, "Work");
  const touch = phone.locator("#touch[aria-disabled=false]");
  await touch.waitFor();
  for (let count = 0; count < 3; count += 1) {
    await apart(phone);
    await touch.click();
  }
  await has("Vera Spar", "3");
  const badge = coach.getByRole("navigation").locator(".badge");
  await badge.waitFor();
  assert.equal(await badge.innerText(), "1");
  assert.notEqual(await badge.getAttribute("data-quiet"), null);
  await pictures("coach-floor");
});

test("who is overdue stands out, and nobody else", async () => {
  await tab(/^Now/);
  await pictures("coach-now");
  await tab("Floor");
});

test("the coach taps for anyone, and takes it back", async () => {
  await line("Ada Kell").click();
  const round = coach.getByRole("button", { name: "+1 round for Ada Kell" });
  await round.click();
  await until(coach, () => over().locator(".big-tally").innerText(), (text) => text.startsWith("1"), "a round");
  await over().getByRole("button", { name: "Undo", exact: true }).click();
  await until(coach, () => over().locator(".big-tally").innerText(), (text) => text.startsWith("–"), "none");
  await over().getByLabel("Rounds").fill("1000");
  await over().getByRole("button", { name: "Set", exact: true }).click();
  await over().getByText("Rounds: a whole number from 0 to 999.").waitFor();
  await pictures("coach-person");
  await press(coach, "Close");
});

test("what is marked is settled with one touch in the rest, and stays until then", async () => {
  await call("Next");
  await shows(coach, "Rest");
  await tab(/^Now/);
  await coach.getByRole("button", { name: /To settle: 1/ }).click();
  await shows(coach, /3 taps from 0:\d\d to 0:\d\d: sooner after the round before than a round can take/);
  await pictures("coach-settle");
  await press(coach, "None counts");
  await shows(coach, "Settled: does not count.");
  await press(coach, "History");
  await shows(coach, "Looked at a tap: it does not count.");
  await pictures("coach-history");
  await press(coach, "Back");
  await press(coach, "Close");
  await tab("Floor");
  await has("Vera Spar", "–");
});

test("twenty people are called with the keypad in three touches each or fewer", async () => {
  await coach.getByRole("button", { name: /^Roll call/ }).click();
  await shows(coach, "20 to go");
  let touches = 0;
  const touch = async (name) => {
    await over().getByRole("button", { name, exact: true }).click();
    touches += 1;
  };
  const called = [];
  for (let at = 0; at < EVERYBODY.length; at += 1) {
    const name = () => over().locator(".roll-who").innerText();
    called.push(await until(coach, name, (next) => next !== called.at(-1), "the next name"));
    await touch(`${4 + (at % 5)}`);
    // One in five has extra reps: two touches more.
    if (at % 5 === 0) {
      await touch("+ reps");
      await touch("9");
    }
    if (at === 0) await pictures("coach-roll");
    await touch("Next");
  }
  assert.deepEqual(called, EVERYBODY);
  assert.ok(touches <= 3 * EVERYBODY.length, `${touches} touches`);
  await shows(coach, "Everybody has a tally.");
  await until(coach, () => over().locator(".roll-of").innerText(), (text) => !text.includes("on the way"), "kept");
  await press(coach, "Done");
  await has("Ada Kell", "4 + 9");
  await has("Tor Wake", "7");
});

test("the roll goes by keyboard, and for time by the end that it had", async () => {
  await call("Next");
  await shows(coach, "Work");
  await coach.getByRole("button", { name: /^Roll call/ }).click();
  await shows(coach, "20 to go");
  for (const key of ["8", "4", "2", "Enter", "7", "4", "c", "ArrowDown", "9", "ArrowUp"]) {
    await coach.keyboard.press(key);
  }
  await over().locator(".roll-who", { hasText: "Cato Lund" }).waitFor();
  for (const screen of ["phone", "tablet"]) {
    await coach.setViewportSize(SCREENS[screen]);
    const keys = await over().evaluate((panel) => {
      const { bottom } = panel.getBoundingClientRect();
      return [...panel.querySelectorAll(".keypad button, .roll-ends button")].map((key) => {
        const box = key.getBoundingClientRect();
        return { in: box.bottom <= bottom, height: box.height };
      });
    });
    assert.ok(keys.every((key) => key.in && key.height >= 44), `${screen}: ${JSON.stringify(keys)}`);
  }
  await pictures("coach-roll-time");
  await press(coach, "Close");
  await has("Ada Kell", "8:42");
  await has("Birk Sand", "74 reps");
});

test("attempts at a load are good or no lift", async () => {
  await call("Next");
  await shows(coach, "Heavy");
  await call("Next");
  await shows(coach, "Work");
  await line("Ada Kell").click();
  const kg = over().getByLabel("Attempt, kg");
  await kg.fill("1001");
  await press(coach, "Good lift for Ada Kell");
  await over().getByText(/from −1000 to 1000/).waitFor();
  await kg.fill("62.5");
  await press(coach, "Good lift for Ada Kell");
  await over().getByText("62.5 kg good").waitFor();
  await kg.fill("70");
  await press(coach, "No lift for Ada Kell");
  await over().getByText("70 kg no lift").waitFor();
  await until(coach, () => over().locator(".big-tally").innerText(), (text) => text.startsWith("62.5 kg"), "the load");
  await pictures("coach-load");
  await press(coach, "Close");
});

test("who is without a team stands out, and teams are made and changed by touches", async () => {
  await tab(/^Now/);
  await shows(coach, "Without a team");
  await press(coach, "Teams");
  await press(coach, "Pair up as they came");
  await shows(coach, "Team 10");
  await over().getByRole("button", { name: "Tor Wake", exact: true }).click();
  await over().getByRole("button", { name: "To this team" }).first().click();
  const first = over().locator(".teams .team").first();
  await first.getByText("3 of 2").waitFor();
  await pictures("coach-teams");
  await first.getByRole("button", { name: "Tor Wake", exact: true }).click();
  await press(coach, "Out of the team");
  await until(coach, () => over().locator(".team.alone").innerText(), (text) => text.includes("Tor Wake"), "alone");
  await press(coach, "Close");
  await shows(coach, /Without a team for Haul: Tor Wake/);
});

test("who counts for somebody is handed over", async () => {
  await tab("Floor");
  await line("Ada Kell").click();
  await over().getByLabel("Who counts").selectOption({ label: "Vera Spar, their team" });
  await press(coach, "Close");
  await line("Ada Kell").getByText("counted by Vera Spar").waitFor();
});

test("a tap of any of a team is settled and taken back for all of it", async () => {
  await call("Next");
  await shows(coach, "Haul");
  await call("Next");
  await shows(coach, "Work");
  await line("Ada Kell").click();
  await coach.getByRole("button", { name: "+1 round for Ada Kell" }).click();
  const tally = () => over().locator(".big-tally").innerText();
  await until(coach, tally, (text) => text.startsWith("1"), "a round");
  await phone.locator("#touch[aria-disabled=false]").click();
  await over().getByText("marked: in").waitFor();
  await press(coach, "Close");
  await coach.getByRole("button", { name: /^To settle/ }).click();
  await over().locator("li", { hasText: "within 5 s of a team mate" }).getByRole("button", { name: "Counts" }).click();
  await shows(coach, "Settled: counts.");
  await press(coach, "Close");
  await has("Ada Kell", "2");
  await line("Ada Kell").click();
  for (const left of ["1", "–"]) {
    await over().getByRole("button", { name: "Undo", exact: true }).click();
    await until(coach, tally, (text) => text.startsWith(left), `${left} left`);
  }
  await pictures("coach-team-person");
  await press(coach, "Close");
});

test("boards may show counts alone", async () => {
  await tab("House");
  await press(coach, "House name, stop notice, places");
  await coach.getByLabel("Boards show places").uncheck();
  await press(coach, "Save");
  await shows(coach, "Saved.");
  assert.equal((await house.ask("GET", "/api/settings")).places, false);
  assert.deepEqual(browser.troubles, []);
});
