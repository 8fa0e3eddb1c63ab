// A tally tablet: paired and assigned by the coach, it counts for twelve people on one screen; what it counted while the
// house was away and across a reload is there, once.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { apart, openBrowser, picture, press, shows, until } from "./lib/browser.mjs";
import { openCoach } from "./lib/coach.mjs";
import { openHouse } from "./lib/house.mjs";

const SHEET = `# Twelve at the quay

Slot: 60 min

## Tide: AMRAP 10 min, lead-in 2 s

Aim: steady, 5 to 7 rounds

- 11 goblet squat 16 kg
- 8 alternating step-up, 50 cm
- 7 kettlebell swing 16 kg

## Rest 5 min

## Heavy: build to a heavy set of 3 in 10 min, lead-in 2 s

Aim: three good sets

- 3 deadlift by feel
`;

/** Segments of the class, after its lead-in; the rest ends with the next one. */
const [TIDE, REST, HEAVY] = [1, 2, 3];

const NAMES = [
  "Ines Harrow",
  "Tomas Brine",
  "Mirela Quill",
  "Bo Weiss",
  "Alva Halvorsen-Tidewell",
  "Henk Marsh",
  "Ruta Ostrow",
  "Desmond",
  "Yara Brine",
  "Kofi",
  "Signe <b>Bold</b>",
  "Pavel Tidewell",
];

/** Every size has to hold; the least is that of an old tablet. */
const SIZES = [
  [1024, 768],
  [1280, 800],
  [800, 600],
  [768, 1024],
  [800, 1280],
  [600, 960],
];

/** What is touched to count is at least so many CSS pixels each way. */
const COUNT_PX = 120;

let house, browser, coach, tablet, ids;

before(async () => {
  house = await openHouse();
  browser = await openBrowser();
  await house.setUp();
  await house.openClass(SHEET);
  coach = await openCoach(house);
});

after(async () => {
  coach?.close();
  await browser?.close();
  await house?.close();
});

const card = (name) => tablet.locator(".card").filter({ has: tablet.getByText(name, { exact: true }) });
const touch = (name) => card(name).locator(".touch");
const number = (name) => card(name).locator(".number").innerText();
const counted = (name, rounds) =>
  until(tablet, () => number(name), (shown) => shown === `${rounds}`, `${name} has ${rounds}`);

/** The tally that the house has for somebody in a window. */
const told = (name, segment, wanted) =>
  coach.until((view) => {
    const person = view.people.find((person) => person.name === name);
    const tally = person?.windows.find((window) => window.segment === segment)?.tally;
    return JSON.stringify(tally) === JSON.stringify(wanted);
  }, `${name} has ${JSON.stringify(wanted)}`);

const rounds = (rounds, extra = 0) => ({ kind: "rounds", rounds, extra });

test("a tablet waits with its number until the coach lets it in and assigns people", async () => {
  for (const name of NAMES) await coach.ask({ ask: "add-athlete", name, at_home: false, here: true });
  const people = await coach.until((view) => view.people.length === NAMES.length && view.people, "all are in");
  ids = new Map(people.map(({ name, athlete }) => [name, athlete]));

  tablet = await browser.device("tablet", `${house.base}/tally`);
  await shows(tablet, "waits for the coach");
  const number = await coach.until((view) => view.tablets_waiting[0], "it waits");
  assert.equal(await tablet.locator(".pairing-number").innerText(), `${number}`);
  await picture(tablet, "tally-pairing");
  await tablet.reload();
  await shows(tablet, "waits for the coach");
  assert.equal(await tablet.locator(".pairing-number").innerText(), `${number}`, "it keeps its number");

  await coach.ask({ ask: "wall", number, accept: true });
  await shows(tablet, "Nobody is assigned to it yet");
  await coach.ask({ ask: "assign", number, athletes: NAMES.map((name) => ids.get(name)) });
  await touch(NAMES[11]).waitFor();
  assert.deepEqual(await tablet.locator(".card .name").allInnerTexts(), NAMES, "in the coach's order, as text");
  const all = ({ role, counts_for }) => role === "tablet" && counts_for?.length === NAMES.length;
  await coach.until((view) => view.devices.some(all), "the coach sees for whom it counts");
  // It says that it takes nothing, and why.
  await touch(NAMES[0]).click({ force: true });
  await shows(tablet, "Ines Harrow: The class has not begun.");
});

/** Every button at every size: large enough, on the screen, and none over another. */
async function measure() {
  for (const [width, height] of SIZES) {
    await tablet.setViewportSize({ width, height });
    const boxes = await tablet.locator(".card button").evaluateAll((buttons) =>
      buttons.map((button) => {
        const { left, top, right, bottom } = button.getBoundingClientRect();
        return { counts: button.matches(".touch"), left, top, right, bottom };
      }),
    );
    await picture(tablet, `tally-${width}x${height}`);
    const counts = boxes.filter((box) => box.counts);
    const at = `${width} × ${height}`;
    assert.equal(counts.length, NAMES.length);
    for (const { left, top, right, bottom } of counts) {
      assert.ok(right - left >= COUNT_PX && bottom - top >= COUNT_PX, `${at}: ${right - left} × ${bottom - top}`);
    }
    for (const box of boxes) {
      assert.ok(box.left >= 0 && box.right <= width && box.bottom <= height, `${at}: ${JSON.stringify(box)}`);
      assert.ok(box.right - box.left >= 44 && box.bottom - box.top >= 44, `${at}: ${JSON.stringify(box)}`);
      for (const other of boxes) {
        const meet =
          box !== other &&
          box.left < other.right &&
          other.left < box.right &&
          box.top < other.bottom &&
          other.top < box.bottom;
        assert.ok(!meet, `${at}: ${JSON.stringify([box, other])}`);
      }
    }
  }
  await tablet.setViewportSize({ width: 1024, height: 768 });
}

test("every target is 120 px or more on every screen, and none lies over another", measure);

test("a touch is a round, undo takes it back, and a touch before the bell counts nothing", async () => {
  await coach.call("start");
  await until(tablet, () => tablet.locator(".segment").innerText(), (text) => /Work/.test(text), "work");
  await touch("Kofi").click();
  await counted("Kofi", 1);
  await told("Kofi", TIDE, rounds(1));
  assert.equal(await card("Kofi").getAttribute("data-just"), "true");
  await card("Kofi").getByRole("button", { name: /^Undo/ }).click();
  await counted("Kofi", 0);
  await told("Kofi", TIDE, rounds(0));

  // Two fingers at once are two people; two touches within 400 ms of one are one.
  await touch("Desmond").click();
  await touch("Bo Weiss").click();
  await touch("Bo Weiss").click();
  for (const name of ["Desmond", "Bo Weiss"]) {
    await counted(name, 1);
    await told(name, TIDE, rounds(1));
  }
  await card("Desmond").getByRole("button", { name: /^More/ }).click();
  await picture(tablet, "tally-more");
  await press(tablet, "One more round, that was forgotten");
  await counted("Desmond", 2);
  await told("Desmond", TIDE, rounds(2));
});

test("what is counted while the house is away waits across a reload, and counts once", async () => {
  await tablet.context().setOffline(true);
  await house.crash();
  coach.close();
  await shows(tablet, "On its own");
  for (const name of NAMES.slice(0, 5)) await touch(name).click();
  await apart(tablet);
  await touch("Ines Harrow").click();
  await counted("Ines Harrow", 2);
  await shows(tablet, "6 taps wait on this tablet");
  await picture(tablet, "tally-alone");
  // All that can stand on top stands there now.
  await measure();

  await tablet.context().setOffline(false);
  await tablet.reload();
  coach = await openCoach(house);
  for (const [name, count] of [["Ines Harrow", 2], ["Tomas Brine", 1], ["Bo Weiss", 2], ["Desmond", 2], ["Kofi", 0]]) {
    await counted(name, count);
    await told(name, TIDE, rounds(count));
  }
  await until(tablet, () => tablet.locator(".waits").count(), (count) => count === 0, "none waits");
});

test("the stop notice covers it, and the coach sees that it does", async () => {
  await coach.call("stop");
  await shows(tablet, "The coach has stopped the class");
  await picture(tablet, "tally-stop");
  await coach.until((view) => view.devices.find(({ role }) => role === "tablet")?.stop_seen, "it is confirmed");
  await coach.call("resume");
  await tablet.locator(".stop").waitFor({ state: "detached" });
});

test("after the bell, a touch asks how far somebody came", async () => {
  await coach.call("jump", { to: REST });
  // Taps still count for two seconds.
  await shows(tablet, "The work is over");
  await touch("Ines Harrow").click();
  await shows(tablet, "How far did the next round come?");
  await press(tablet, "At the end of it");
  const second = tablet.locator(".reached li").nth(1);
  await second.locator(".point").click();
  for (let reps = 0; reps < 4; reps += 1) await second.getByRole("button", { name: "1 more" }).click();
  await picture(tablet, "tally-result");
  await press(tablet, "Save 2 + 15");
  await told("Ines Harrow", TIDE, rounds(2, 15));
  await until(tablet, () => touch("Ines Harrow").innerText(), (text) => /rounds \+ 15/.test(text), "it is shown");

  await touch("Kofi").click();
  await tablet.locator(".row").getByRole("button", { name: "1 more" }).click();
  await press(tablet, "Save 1");
  await told("Kofi", TIDE, rounds(1));
});

test("loads are counted by attempts", async () => {
  await coach.call("jump", { to: HEAVY });
  await until(tablet, () => tablet.locator(".segment").innerText(), (text) => /Work/.test(text), "work");
  const attempt = async (name, words) => {
    await apart(tablet);
    await touch(name).click();
    await press(tablet, words);
  };
  await touch("Kofi").click();
  await press(tablet, "+ 10");
  await press(tablet, "+ 2.5");
  await picture(tablet, "tally-load");
  await press(tablet, "Good lift");
  await counted("Kofi", "32.5");
  await attempt("Kofi", "No lift");
  await told("Kofi", HEAVY, { kind: "load", grams: 32_500 });
  await shows(tablet, "2 attempts");
});

test("somebody who is taken off it goes, and a tablet that is turned away waits anew", async () => {
  const { number } = await coach.until((view) => view.devices.find(({ role }) => role === "tablet"), "its number");
  await coach.ask({ ask: "assign", number, athletes: [ids.get("Kofi")] });
  await until(tablet, () => tablet.locator(".card").count(), (count) => count === 1, "one is left");
  await picture(tablet, "tally-one");
  await coach.ask({ ask: "wall", number, accept: false });
  await shows(tablet, "waits for the coach");
  assert.deepEqual(browser.troubles, []);
});
