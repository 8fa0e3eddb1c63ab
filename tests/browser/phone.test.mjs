// Counting on the phone in every format, and the moments at which counts go wrong: a reload with taps waiting, one
// person on two phones, two phones of one team, and somebody else who counts.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { apart, picture, press, shows, until } from "./lib/browser.mjs";
import { openLine } from "./lib/line.mjs";
import { openPhoneClass } from "./lib/phone-class.mjs";

const SHEET = `# Evening on the quay

Slot: 90 min

## Quay run: AMRAP 9 min, lead-in 1 s

- 11 goblet squat 16 kg
- 8 alternating step-up, 50 cm
- 7 kettlebell swing 16 kg

## Rest 5 min

## Stack the crates: 3 rounds for time, cap 10 min, lead-in 1 s

- 20 squat
- 10 sit-up

## Rest 5 min

## Signals: every 2 min for 10 min, lead-in 1 s

- 12 kettlebell swing 16 kg

## Rest 5 min

## Carry: AMRAP 6 min, lead-in 1 s

- 120 m carry 2 × 16 kg

## Rest 5 min

## Mooring line: max calories in 4 min, lead-in 1 s

- row for calories

## Rest 5 min

## Lift the anchor: build to a heavy set of 3 in 15 min, lead-in 1 s

- front squat, by feel

## Rest 5 min

## Coil the rope: quality for 10 min, lead-in 1 s

- plank 30 s

## Rest 5 min

## Haul away: AMRAP 10 min, in pairs, lead-in 1 s

- 12 cal row
- 10 sandbag to shoulder 20 kg

## Cool-down: 5 min
`;

let klass, coach, line, ines, tomas;
const phones = () => [ines, tomas];

before(async () => {
  klass = await openPhoneClass(SHEET);
  ({ coach } = klass);
  line = await openLine(klass.house);
  ines = await klass.phone("Ines Harrow", line.base);
  tomas = await klass.phone("Tomas Brine");
});

after(async () => {
  await line?.close();
  await klass?.close();
});

/** The large area, once it takes a touch. */
const area = (phone) => phone.locator("#touch[aria-disabled=false]");
const number = (phone) => phone.locator(".number");
const says = (phone, text) => number(phone).filter({ hasText: text }).waitFor();

/** Work of a block, once every phone counts in it. */
async function work(name) {
  const segment = await coach.work(name);
  if (coach.state().clock.phase.phase === "held") await coach.call("resume");
  for (const phone of phones()) await phone.getByRole("heading", { name: /Work/ }).waitFor();
  return segment;
}

/** The rest after it, once the two seconds after its bell have passed. */
async function rest(phone) {
  await coach.call("next");
  await phone.locator('[data-foot="entry"]').waitFor();
}

const amount = (least) => ({ tally }) => tally.kind === "count" && tally.amount >= least;
const rounds = (wanted) => ({ tally }) => tally.kind === "rounds" && tally.rounds === wanted;

test("rounds wait on the phone through a reload, and count by when they were made", async () => {
  const segment = await work("Quay run");
  await area(ines).click();
  await says(ines, /^1$/);
  await coach.window("Ines Harrow", segment, rounds(1));
  line.cut();
  await shows(ines, "On its own");
  await apart(ines);
  await area(ines).click();
  await says(ines, /^2$/);
  await shows(ines, "1 tap waits on this phone");
  line.mend();
  await ines.reload();
  const { tally } = await coach.window("Ines Harrow", segment, rounds(2));
  assert.deepEqual(tally, { kind: "rounds", rounds: 2, extra: 0 });
  await says(ines, /^2$/);
  await shows(ines, "All kept");
});

test("one person on two phones has one count, and takes back what either counted", async () => {
  const context = await ines.context().browser().newContext({ viewport: { width: 390, height: 844 }, hasTouch: true });
  await context.addCookies(await ines.context().cookies());
  const second = await context.newPage();
  await second.goto(line.base);
  await second.evaluate(
    (me) => localStorage.setItem("floorbell.me", JSON.stringify(me)),
    { class: coach.state().class, athlete: coach.athlete("Ines Harrow") },
  );
  await second.reload();
  await says(second, /^2$/);
  await area(second).click();
  for (const phone of [ines, second]) await says(phone, /^3$/);
  await apart(second);
  await press(ines, "Undo");
  for (const phone of [ines, second]) await says(phone, /^2$/);
  await context.close();
});

test("somebody else counts, and each touch is for whom the phone says", async () => {
  await press(tomas, "Me");
  await press(tomas, "Let somebody count for me");
  await press(tomas, "Ines Harrow");
  await shows(tomas, "Ines Harrow counts for you");
  assert.equal(await tomas.locator("#touch").count(), 0);
  const turn = ines.getByRole("button", { name: /^Count for\s*Tomas/ });
  await turn.waitFor();
  const mine = await area(ines).boundingBox();
  await turn.click();
  await shows(ines, "You count for");
  const theirs = await area(ines).boundingBox();
  assert.ok(theirs.y + theirs.height < mine.y + mine.height - 40, "the other person's area stands elsewhere");
  await picture(ines, "phone-counts-for");
  await apart(ines);
  await area(ines).click();
  const segment = coach.state().clock.phase.segment;
  await coach.window("Tomas Brine", segment, rounds(1));
  await coach.window("Ines Harrow", segment, rounds(2));
  await says(tomas, /^1$/);
  await ines.reload();
  await shows(ines, "You count for");
  await press(tomas, "Count yourself again");
  await ines.getByText("You count for").waitFor({ state: "detached" });
  await says(ines, /^2$/);
});

test("extra reps take two touches: how far, and save", async () => {
  const segment = coach.state().clock.phase.segment;
  await rest(ines);
  await ines.getByRole("button", { name: "at the end of step-up" }).click();
  await picture(ines, "phone-extra");
  await press(ines, "Save 2 + 19");
  const { tally } = await coach.window("Ines Harrow", segment, ({ entered }) => entered);
  assert.deepEqual(tally, { kind: "rounds", rounds: 2, extra: 19 });
});

test("for time, finishing has its own place, and the cap asks for the reps", async () => {
  const segment = await work("Stack");
  for (const done of [1, 2]) {
    await area(ines).click();
    await says(ines, new RegExp(`^${done}$`));
    await apart(ines);
  }
  await shows(ines, "The last round: touch Finish when it is done");
  await ines.locator("#touch").click({ force: true });
  await says(ines, /^2$/);
  await ines.locator("#finish").click();
  await says(ines, /^0:\d\d$/);
  await coach.window("Ines Harrow", segment, ({ tally }) => tally.kind === "finished");
  await picture(ines, "phone-finished");
  await press(ines, "Undo");
  await says(ines, /^2$/);
  await apart(ines);
  await ines.locator("#finish").click();
  await area(tomas).click();
  await coach.window("Tomas Brine", segment, ({ tally }) => tally.kind === "at-cap" && tally.reps === 30);
  await rest(tomas);
  await tomas.getByRole("button", { name: "at the end of squat" }).click();
  await press(tomas, "Save 50 reps");
  await coach.window("Tomas Brine", segment, ({ tally }) => tally.kind === "at-cap" && tally.reps === 50);
  await press(tomas, "Change");
  await press(tomas, "I finished");
  await tomas.getByRole("textbox").fill("12:00");
  await press(tomas, "Save");
  await shows(tomas, "From 0:01 to 10:00 in minutes and seconds.");
  await tomas.getByRole("textbox").fill("9:58");
  await press(tomas, /^Save/);
  await coach.window("Tomas Brine", segment, ({ tally }) => tally.kind === "finished" && tally.time === 598_000_000);
});

test("a stretch of work is made once", async () => {
  const segment = await work("Signals");
  await area(ines).click();
  await says(ines, "Made");
  await coach.window("Ines Harrow", segment, ({ tally }) => tally.made === 1);
  assert.equal(await area(ines).count(), 0);
});

test("trips of 120 m, and 45 m of the last one", async () => {
  const segment = await work("Carry");
  await area(ines).click();
  await says(ines, /^120$/);
  await apart(ines);
  await area(ines).click();
  await says(ines, /^240$/);
  await rest(ines);
  await ines.getByRole("textbox").fill("121");
  await press(ines, /^Save/);
  await shows(ines, "From 0 to 120 m, a whole number.");
  await ines.getByRole("textbox").fill("45");
  await press(ines, "Save 285 m");
  await coach.window("Ines Harrow", segment, amount(285));
});

test("calories by ones, fives and tens, by touch and by key", async () => {
  const segment = await work("Mooring");
  for (let ones = 0; ones < 6; ones += 1) await area(ines).click();
  await press(ines, "+5");
  await press(ines, "+10");
  await says(ines, /^21$/);
  await ines.evaluate(() => document.activeElement?.blur());
  await ines.keyboard.press("Space");
  await ines.keyboard.press("Enter");
  await says(ines, /^23$/);
  await area(ines).focus();
  await ines.keyboard.press("Space");
  await ines.keyboard.press("Enter");
  await says(ines, /^25$/);
  const { tally } = await coach.window("Ines Harrow", segment, amount(25));
  assert.equal(tally.amount, 25);
  const spoken = () => ines.locator("[aria-live=polite]").innerText();
  await until(ines, spoken, (text) => text === "25 cal", "what is read out");
  assert.equal(await ines.locator("[aria-live=polite], [role=status], [role=alert]").count(), 1);
});

test("attempts at a load, good or no lift, from the last one on", async () => {
  const segment = await work("Lift");
  const load = ines.getByRole("textbox", { name: "Load of this attempt" });
  await load.fill("1001");
  await press(ines, "Good lift");
  await shows(ines, "From −1000 to 1000 kg: 0 is unweighted, below zero is assistance.");
  await load.fill("80");
  await press(ines, "Good lift");
  await ines.getByRole("listitem").filter({ hasText: "80 kg" }).waitFor();
  await apart(ines);
  await press(ines, "more: 2.5 kg");
  await press(ines, "No lift");
  const { attempts } = await coach.window("Ines Harrow", segment, ({ attempts }) => attempts?.length === 2);
  assert.deepEqual(
    attempts.map(({ grams, good }) => [grams, good]),
    [
      [80_000, true],
      [82_500, false],
    ],
  );
  await picture(ines, "phone-attempts");
  await press(ines, "Undo");
  await coach.window("Ines Harrow", segment, ({ attempts, tally }) => attempts.length === 1 && tally.grams === 80_000);
});

test("quality is done by one touch", async () => {
  const segment = await work("Coil");
  await area(ines).click();
  await says(ines, "Done");
  await coach.window("Ines Harrow", segment, ({ tally }) => tally.kind === "done");
});

test("two phones of a team: one round 50 ms and 3 s apart, another after it", async () => {
  const team = [coach.athlete("Ines Harrow"), coach.athlete("Tomas Brine")];
  await coach.ask({ ask: "team", teams: [team] });
  const segment = await work("Haul");
  await Promise.all([area(ines).waitFor(), area(tomas).waitFor()]);
  const began = Date.now();
  await area(ines).dispatchEvent("click", { detail: 0 });
  await passed(tomas, began + 50);
  await area(tomas).dispatchEvent("click", { detail: 0 });
  await shows(tomas, "Ines Harrow has that round: it counts once.");
  await shows(ines, "You have that round.");
  for (const phone of phones()) await says(phone, /^1$/);
  await shows(tomas, "your turn");
  await shows(ines, "Tomas Brine’s turn");
  await passed(tomas, began + 3000);
  await area(tomas).dispatchEvent("click", { detail: 0 });
  const doubles = ({ marks = [] }) => marks.filter(({ worth }) => worth?.why === "team-mate").length;
  const { tally } = await coach.window("Tomas Brine", segment, (window) => doubles(window) === 2);
  assert.equal(tally.rounds, 1);
  await passed(tomas, began + 5100);
  await area(tomas).dispatchEvent("click", { detail: 0 });
  for (const phone of phones()) await says(phone, /^2$/);
  await shows(ines, "last: Tomas Brine");
  await picture(ines, "phone-team");
  assert.deepEqual(klass.browser.troubles, []);
});

/** Waits for an instant on the page's own clock. */
const passed = (page, instant) => page.waitForFunction((instant) => Date.now() >= instant, instant, { polling: 5 });
