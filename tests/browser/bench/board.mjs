// `make bench-board`: what a change of the board costs a wall with 60 rows, on a processor slowed four times. Each result
// is a JSON line; a table of the figures that have a target follows.
//
//   node board.mjs [--updates 300]
//
// The script of an update is timed in the page: reading and merging the message, and the frame after it, which draws all
// that changed; less what the same frames take without an update. It is the median, for a machine that does other things
// holds up some. Beside it stand:
//
// - a floor: the least that any page does with such a message, which is to parse it, write the texts of eight rows and
//   move them, by hand and without a thought of places, pages, or who has just scored; measured in the same page;
// - frames with updates and without, for a headless browser on a busy machine drops some anyway.
//
// Updates come ten times a second, the pace of 60 people counting together; each makes somebody score, who may pass
// others. Whole seconds of digits are part of both runs.

import { parseArgs } from "node:util";
import { openBrowser } from "../lib/browser.mjs";
import { openHouse } from "../lib/house.mjs";
import { aClass, openStage, REST, rows, strengths, WORK } from "../lib/stage.mjs";
import { percent, percentile } from "./lib/statistics.mjs";

const PEOPLE = 60;
const SLOWED = 4;
const EVERY_MS = 100;
const TARGET_MS = 4;
/** One frame of 60 Hz, and what is longer than one and a half has lost one. */
const FRAME_MS = 1000 / 60;
const LOST_MS = 1.5 * FRAME_MS;

const { values: options } = parseArgs({ options: { updates: { type: "string", default: "300" } } });
const updates = Number(options.updates);
const WARMS_UP = 100;

/** The messages of a class in which one after the other finishes a round: each the row that changed, and those whose place did. */
function frames(from) {
  const done = strengths(PEOPLE, 2, 6);
  const order = strengths(WARMS_UP + updates, 0, PEOPLE - 1, 2);
  const scoredAt = Array(PEOPLE).fill(0);
  const now = () =>
    rows(PEOPLE, {
      scaled: (index) => index % 3 === 2,
      value: (index) => done[index],
      tally: (value) => ({ kind: "rounds", rounds: value, extra: 0 }),
      pace: (value) => ({ kind: "rounds", rounds: value + 2, extra: 0 }),
      scoredAt: (index) => scoredAt[index],
    });
  let before = now();
  const first = before;
  const texts = order.map((who, at) => {
    done[who] += 1;
    scoredAt[who] = from + at * EVERY_MS * 1000;
    const after = now();
    const changed = after.filter((row, index) => JSON.stringify(row) !== JSON.stringify(before[index]));
    before = after;
    return JSON.stringify({ type: "frame", number: at + 2, rows: changed });
  });
  return { first, texts };
}

/** Runs in the page before its own scripts: notes how long each frame's script took. */
const notesFrames = `{
  const ask = window.requestAnimationFrame.bind(window);
  window.frameScripts = 0;
  window.requestAnimationFrame = (draw) =>
    ask((at) => {
      const begin = performance.now();
      draw(at);
      window.frameScripts += performance.now() - begin;
    });
}`;

/** Runs in the page: calls `act` with each message at its time, and tells what it took, and the gaps between frames. */
const run = (page, texts, act) =>
  page.evaluate(
    async ([texts, every, act]) => {
      const does = { wall: stage.say, nothing: () => {}, floor: window.floor }[act];
      const gaps = [];
      const took = [];
      let last = null;
      let handle = requestAnimationFrame(function frame(at) {
        if (last !== null) gaps.push(at - last);
        last = at;
        handle = requestAnimationFrame(frame);
      });
      for (const text of texts) {
        frameScripts = 0;
        const begin = performance.now();
        does(text);
        const read = performance.now() - begin;
        // Two frames: the one that draws, and one by which it is over.
        await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
        took.push(read + frameScripts);
        await new Promise((done) => setTimeout(done, every - (performance.now() - begin)));
      }
      cancelAnimationFrame(handle);
      return { gaps, took };
    },
    [texts, EVERY_MS, act],
  );

/** Puts eight rows of its own on the page, which `floor` fills and moves. */
const layFloor = (page) =>
  page.evaluate(() => {
    const board = document.createElement("section");
    board.className = "board";
    board.style.cssText = "position: fixed; inset: 50% 0 0 0";
    const lines = Array.from({ length: 8 }, () => {
      const row = document.createElement("div");
      row.className = "row";
      row.append(...["place", "name", "main"].map((name) => Object.assign(document.createElement("span"), { className: name })));
      board.append(row);
      return { row, texts: [...row.children].map((part) => part.appendChild(document.createTextNode(""))) };
    });
    let turn = 0;
    window.floor = (text) => {
      const { rows } = JSON.parse(text);
      requestAnimationFrame(() => {
        turn += 1;
        lines.forEach(({ row, texts: [place, name, main] }, index) => {
          const { name: who, scores } = rows[index % rows.length];
          place.data = scores[0].place;
          name.data = who;
          main.data = scores[0].tally.rounds;
          row.style.transform = `translate(0, ${((index + turn) % 8) * 5}rem)`;
        });
      });
    };
    document.querySelector("#app").append(board);
    return () => board.remove();
  });

const house = await openHouse();
const browser = await openBrowser();
const results = {};
try {
  for (const [when, segment] of Object.entries({ work: WORK, rest: REST })) {
    const stage = await openStage(browser, house.base, "wall", { before: notesFrames });
    const { page } = stage;
    const session = await page.context().newCDPSession(page);
    const { first, texts } = frames((await stage.house()) + 1e6);
    await stage.state(aClass({ rows: first, length: 3600 }), segment, 5);
    await stage.frame();
    await session.send("Emulation.setCPUThrottlingRate", { rate: SLOWED });
    // A wall has run for minutes before it is busy: what the browser compiles at first is no part of an update.
    await run(page, texts.slice(0, WARMS_UP), "wall");
    const measuredTexts = texts.slice(WARMS_UP);
    const still = await run(page, measuredTexts, "nothing");
    const wall = await run(page, measuredTexts, "wall");
    await layFloor(page);
    await run(page, texts.slice(0, WARMS_UP), "floor");
    const floor = await run(page, measuredTexts, "floor");
    const at = ({ took }, share) => percentile(took, share) - percentile(still.took, 0.5);
    const frame = ({ gaps }) => ({
      p50: round(percentile(gaps, 0.5)),
      p99: round(percentile(gaps, 0.99)),
      lost_percent: percent(gaps.filter((gap) => gap > LOST_MS).length, gaps.length),
    });
    results[when] = {
      bench: "board",
      when,
      people: PEOPLE,
      updates,
      slowed: SLOWED,
      rows_in_update: percentile(texts.map((text) => JSON.parse(text).rows.length), 0.5),
      script_ms: { p50: round(at(wall, 0.5)), p99: round(at(wall, 0.99)) },
      floor_ms: { p50: round(at(floor, 0.5)), p99: round(at(floor, 0.99)) },
      ratio: round(at(wall, 0.5) / at(floor, 0.5)),
      frames: frame(wall),
      frames_without: frame(still),
    };
    console.log(JSON.stringify(results[when]));
    await page.context().close();
  }
} finally {
  await browser.close();
  await house.close();
}

console.log("\nwhen | script of an update, p50 ms | target | floor, p50 ms | ratio | frames lost, % | lost without updates, %");
for (const { when, script_ms, floor_ms, ratio, frames, frames_without } of Object.values(results)) {
  const lost = [frames.lost_percent, frames_without.lost_percent];
  console.log([when, script_ms.p50, `≤ ${TARGET_MS}`, floor_ms.p50, ratio, ...lost].join(" | "));
}

function round(value) {
  return Math.round(100 * value) / 100;
}
