// The board on the wall: how large it is, that no row is ever twice there or missing, and that everybody is shown.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { openBrowser, picture, until } from "./lib/browser.mjs";
import { openHouse } from "./lib/house.mjs";
import { aClass, AMRAP, LEAD_IN, openStage, REST, rows, strengths, WORK } from "./lib/stage.mjs";

/** 20 arc minutes at 10 m, of the height of a 55-inch screen: 58.18 mm of 684.85. */
const LEAST_OF_HEIGHT = 0.08495;

let house, browser;

before(async () => {
  house = await openHouse();
  browser = await openBrowser();
});

after(async () => {
  await browser?.close();
  await house?.close();
});

const rounds = (value) => ({ kind: "rounds", rounds: Math.floor(value), extra: Math.round((value % 1) * 100) });
const everyThird = (index) => index % 3 === 2;

function people(count, { scaled = () => false, scoredAt, team, extras = false } = {}) {
  const done = strengths(count, 2, 9);
  return rows(count, {
    scaled,
    scoredAt,
    team,
    tally: rounds,
    value: (index) => done[index] + (extras ? (index % 26) / 100 : 0),
  });
}

/** What stands on the board, from the top left, each with what a test may ask of it. */
const standing = (page) =>
  page.evaluate(() =>
    [...document.querySelectorAll(".row")]
      .map((row) => ({ row, ...row.getBoundingClientRect().toJSON() }))
      .sort((a, b) => a.left - b.left || a.top - b.top)
      .map(({ row, left, top }) => ({
        key: row.dataset.key,
        left,
        top,
        place: row.querySelector(".place").textContent,
        name: row.querySelector(".name").textContent,
        scored: row.classList.contains("scored"),
      })),
  );

/** The shortest character of the rows that stand, as a share of the screen, and what is cut off or out of the picture. */
const seen = (page) =>
  page.evaluate(async () => {
    await document.fonts.ready;
    const pen = document.createElement("canvas").getContext("2d");
    const found = { least: 1, texts: 0, cut: [] };
    for (const part of document.querySelectorAll(".row :is(.place, .name, .main, .rest, .pace)")) {
      if (part.textContent === "" || part.offsetParent === null) continue;
      const { fontWeight, fontSize, fontFamily } = getComputedStyle(part);
      if (!fontFamily.startsWith("B612") || !document.fonts.check(`${fontWeight} 10px B612`)) found.cut.push("font");
      const scale = part.getBoundingClientRect().height / part.offsetHeight;
      pen.font = `${fontWeight} ${fontSize} ${fontFamily}`;
      for (const character of ["H", "0", "1"]) {
        const height = pen.measureText(character).actualBoundingBoxAscent * scale;
        found.least = Math.min(found.least, height / innerHeight);
      }
      found.texts += 1;
      const { left, right, top, bottom } = part.getBoundingClientRect();
      const inside = left >= 0 && right <= innerWidth && top >= 0 && bottom <= innerHeight;
      if (!inside || part.scrollWidth > part.clientWidth + 1) found.cut.push(part.textContent);
    }
    return found;
  });

for (const screen of ["wall", "wall4k"]) {
  test(`every character of a row is read from 10 m (${screen})`, async () => {
    const stage = await openStage(browser, house.base, screen);
    for (const count of [5, 14, 40, 60]) {
      for (const scaled of [() => false, everyThird]) {
        const now = await stage.house();
        const worked = aClass({ rows: people(count, { scaled, scoredAt: (index) => now - index * 1e6 }) });
        const rested = aClass({ rows: people(count, { scaled, extras: true }) });
        const shows = {
          work: () => stage.state(worked, WORK, 200),
          "lead-in": () => stage.state(worked, LEAD_IN, 2),
          rest: () => stage.state(rested, REST, 20),
          done: () => stage.done(rested),
        };
        for (const [when, show] of Object.entries(shows)) {
          await show();
          await stage.frame();
          const { least, texts, cut } = await seen(stage.page);
          const what = `${count} people at ${when}`;
          assert.ok(texts >= 8, `${what}: ${texts} texts`);
          assert.ok(least >= LEAST_OF_HEIGHT, `${what}: ${least}`);
          assert.deepEqual(cut, [], what);
          if (count === 40 && scaled === everyThird) await picture(stage.page, `${screen}-board-${when}`);
        }
      }
    }
    await stage.page.context().close();
  });
}

/** Follows the rows frame by frame: how often each key is on the page, and where. */
const follow = (page) =>
  page.evaluate(() => {
    window.followed = [];
    const look = () => {
      const seen = {};
      for (const row of document.querySelectorAll(".row")) {
        const { left, top } = row.getBoundingClientRect();
        const here = { left, top, opacity: Number(getComputedStyle(row).opacity) };
        seen[row.dataset.key] = [...(seen[row.dataset.key] ?? []), here];
      }
      followed.push(seen);
      window.looking = requestAnimationFrame(look);
    };
    look();
  });

/** Waits until nothing on the board moves any longer, and returns what was followed. */
const followed = async (page) => {
  await page.evaluate(async () => {
    const moving = () => document.querySelector(".board").getAnimations({ subtree: true });
    await new Promise(requestAnimationFrame);
    while (moving().length > 0) await Promise.allSettled(moving().map(({ finished }) => finished));
  });
  return page.evaluate(() => {
    cancelAnimationFrame(looking);
    return followed;
  });
};

test("no row is twice there or missing while rows pass each other", async () => {
  const stage = await openStage(browser, house.base, "wall");
  const { page } = stage;
  const made = [5, 5, 4, 4, 3, 3, 2, 2];
  const ranked = () => rows(8, { value: (index) => made[index], tally: rounds });
  await stage.state(aClass({ rows: ranked() }), WORK, 200);
  await until(page, () => standing(page), (rows) => rows.length === 8, "eight rows");
  await followed(page).catch(() => []);
  await follow(page);
  // The last comes first, and in the middle of that move another passes all.
  made[7] = 8;
  await stage.rows(ranked());
  await stage.frame();
  made[4] = 9;
  await stage.rows(ranked());
  const frames = await followed(page);
  const keys = Array.from({ length: 8 }, (_, index) => `athlete-${index}`);
  assert.ok(frames.length > 10, `${frames.length} frames`);
  for (const frame of frames) {
    for (const key of keys) {
      assert.equal(frame[key]?.length, 1, `${key} in a frame`);
      assert.equal(frame[key][0].opacity, 1, `${key} is seen`);
    }
  }
  const path = frames.map((frame) => frame["athlete-4"][0].top + frame["athlete-4"][0].left);
  assert.ok(new Set(path.map(Math.round)).size > 5, `it moves smoothly: ${path.map(Math.round)}`);
  const order = await standing(page);
  assert.deepEqual(order.slice(0, 2).map(({ key, place }) => [key, place]), [["athlete-4", "1"], ["athlete-7", "2"]]);
  assert.equal(new Set(order.map(({ left, top }) => `${left} ${top}`)).size, 8, "each in a place of its own");
  await page.context().close();
});

test("who has just scored stands beside the leaders at once, marked, and nobody twice", async () => {
  const stage = await openStage(browser, house.base, "wall");
  const { page } = stage;
  const done = strengths(60, 2, 6);
  const scored = Array(60).fill(0);
  const now = () => rows(60, { value: (index) => done[index], tally: rounds, scoredAt: (index) => scored[index] });
  await stage.state(aClass({ rows: now() }), WORK, 200);
  await until(page, () => standing(page), (rows) => rows.length === 8, "eight of sixty");
  const weakest = done.indexOf(2);
  await follow(page);
  scored[weakest] = await stage.house();
  await stage.rows([now()[weakest]]);
  await until(
    page,
    () => standing(page),
    (rows) => rows.some(({ key, scored }) => key === `athlete-${weakest}` && scored),
    "who scored",
  );
  // A leader who scores stays in the lead, and stands once.
  const [leader] = await standing(page);
  const index = Number(leader.key.split("-")[1]);
  done[index] += 1;
  scored[index] = await stage.house();
  await stage.rows(now());
  for (const frame of await followed(page)) {
    for (const [key, places] of Object.entries(frame)) assert.equal(places.length, 1, key);
  }
  const shown = await standing(page);
  assert.equal(shown.length, 8);
  assert.equal(shown[0].key, leader.key);
  assert.equal(shown.find(({ key }) => key === `athlete-${weakest}`).place, "", "no place is told of the last");
  await picture(page, "wall-board-sixty");
  await page.context().close();
});

test("at rest everybody has their page, each option in its turn, and each page its time", async () => {
  const stage = await openStage(browser, house.base, "wall", { turns: "held" });
  const { page } = stage;
  await stage.state(aClass({ rows: people(60, { scaled: everyThird, extras: true }) }), REST, 20);
  const seen = new Map();
  const titles = [];
  for (let pages = 0; pages < 12; pages += 1) {
    const shown = await until(page, () => standing(page), (rows) => rows.length > 0, "a page");
    for (const { key, place } of shown) seen.set(key, place);
    titles.push(await page.locator(".group:not([hidden])").allInnerTexts());
    const { stands } = await page.evaluate(() => stage.held());
    assert.ok(stands >= 400 * shown.length, `${shown.length} rows stand for ${stands} ms`);
    await page.evaluate(() => stage.turn());
    await stage.frame();
  }
  assert.equal(seen.size, 60, "everybody was shown");
  const [first, second] = titles.map(([title]) => title.replaceAll(/\s+/g, " "));
  assert.equal(first, "First tide · As written 1 to 6 of 40");
  assert.equal(second, "First tide · Scaled 1 to 5 of 20");
  assert.match(titles.at(-1)[0], /Scaled/, "the next time round the other option is first");
  const told = [...seen.values()].filter((place) => place !== "");
  assert.equal(Math.max(...told.map(Number)) <= 20, true, "places of the upper half alone");
  await page.context().close();
});

test("a house may show no places: counts alone, by name", async () => {
  const stage = await openStage(browser, house.base, "wall", { places: false });
  const { page } = stage;
  await stage.state(aClass({ rows: people(6, { extras: true }) }), REST, 20);
  const shown = await until(page, () => standing(page), (rows) => rows.length === 6, "six rows");
  assert.ok(shown.every(({ place }) => place === ""));
  const names = shown.map(({ name }) => name);
  assert.deepEqual(names, names.toSorted((a, b) => a.localeCompare(b)));
  await page.context().close();
});

test("a team has one row, with the names of its members", async () => {
  const stage = await openStage(browser, house.base, "wall");
  const { page } = stage;
  const made = people(6, { team: (index) => Math.floor(index / 2) + 1 });
  const state = aClass({ rows: made, sharing: { sharing: "team", size: 2 } });
  await stage.state(state, WORK, 200);
  const shown = await until(page, () => standing(page), (rows) => rows.length === 3, "three teams");
  assert.deepEqual(shown.map(({ name }) => name).toSorted(), ["Alva & Henk", "Ines & Bo", "Mirela & Tomas"]);
  await page.context().close();
});

test("who asks for less motion sees rows change places at once", async () => {
  const stage = await openStage(browser, house.base, "wall");
  const { page } = stage;
  await page.emulateMedia({ reducedMotion: "reduce" });
  const made = [5, 4, 3, 2];
  const ranked = () => rows(4, { value: (index) => made[index], tally: rounds });
  await stage.state(aClass({ rows: ranked(), format: AMRAP }), WORK, 200);
  await until(page, () => standing(page), (rows) => rows.length === 4, "four rows");
  await follow(page);
  made[3] = 6;
  await stage.rows(ranked());
  const tops = new Set((await followed(page)).map((frame) => frame["athlete-3"][0].top));
  assert.ok(tops.size <= 2, `it stood at ${[...tops]}`);
  await page.context().close();
  assert.deepEqual(browser.troubles, []);
});
