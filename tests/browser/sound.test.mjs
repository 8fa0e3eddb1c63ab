// Sound on a wall: a real browser lets none through before a touch or key, and then does; and the sheet on which a
// wall's volume and trim are set, with the arrows and OK of a remote.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { openBrowser, picture, until } from "./lib/browser.mjs";
import { openHouse } from "./lib/house.mjs";

let house, browser;

before(async () => {
  house = await openHouse();
  browser = await openBrowser(["--autoplay-policy=document-user-activation-required"]);
});

after(async () => {
  await browser?.close();
  await house?.close();
});

const open = () => browser.device("wall", `${house.base}/wall`);
const sheetOf = (wall) => wall.getByRole("dialog", { name: "Settings of this wall" });

/** A wall that no one has touched. The test tool's own looks at a page count as touches, so this one is watched past it. */
async function untouched(screen) {
  const wall = await browser.device(screen, "about:blank");
  await wall.addInitScript(() => {
    window.contexts = [];
    window.AudioContext = class extends AudioContext {
      constructor(...options) {
        super(...options);
        window.contexts.push(this);
      }
    };
  });
  const tool = await wall.context().newCDPSession(wall);
  await wall.goto(`${house.base}/wall`);
  const evaluate = async (expression) =>
    (await tool.send("Runtime.evaluate", { expression, awaitPromise: true, returnByValue: true, userGesture: false }))
      .result.value;
  return {
    wall,
    states: () => evaluate("contexts.map(({ state }) => state).join()"),
    /** Waits for the frame in which the hint stands, or does no longer. */
    async hint(stands) {
      const came = await evaluate(`new Promise((done) => {
        const late = performance.now() + 15_000;
        const look = () => {
          const as = (document.querySelector(".sound-hint.stands") !== null) === ${stands};
          if (as || performance.now() > late) done(as);
          else requestAnimationFrame(look);
        };
        look();
      })`);
      assert.ok(came, stands ? "the hint stands" : "the hint goes");
    },
  };
}

for (const [how, screen, gesture] of [
  ["a key", "wall", (wall) => wall.keyboard.press("ArrowUp")],
  ["a click", "wall", (wall) => wall.mouse.click(300, 300)],
  ["a touch", "tablet", (wall) => wall.touchscreen.tap(300, 300)],
]) {
  test(`${how} lets sound through, and the hint goes`, async () => {
    const { wall, states, hint } = await untouched(screen);
    await hint(true);
    assert.equal(await states(), "suspended");
    await gesture(wall);
    await hint(false);
    assert.equal(await states(), "running");
    await wall.context().close();
  });
}

test("the first key lets sound through and does no more, the next one opens the settings", async () => {
  const { wall, hint } = await untouched("wall");
  await hint(true);
  await wall.keyboard.press("Enter");
  await hint(false);
  assert.equal(await sheetOf(wall).isVisible(), false);
  await wall.keyboard.press("Enter");
  await sheetOf(wall).waitFor();
  await wall.context().close();
});

test("volume, trim and light are set with arrows and OK, and kept", async () => {
  const wall = await open();
  const sheet = sheetOf(wall);
  const keys = async (...names) => {
    for (const name of names) await wall.keyboard.press(name);
  };
  await keys("s", "ArrowLeft", "ArrowLeft", "ArrowDown", "ArrowRight", "ArrowRight", "ArrowRight");
  const values = () => sheet.locator(".line-value").allInnerTexts();
  assert.deepEqual(await values(), ["80 %", "30 ms earlier", "Dark room"]);
  await picture(wall, "wall-settings");
  await keys("ArrowUp", "ArrowUp", "ArrowUp", "Enter");
  assert.deepEqual(await values(), ["80 %", "30 ms earlier", "Daylight"]);
  await picture(wall, "wall-settings-daylight");
  await keys("Escape");
  await sheet.waitFor({ state: "hidden" });

  await wall.reload();
  await wall.getByRole("button", { name: "Settings of this wall" }).click();
  assert.deepEqual(await values(), ["80 %", "30 ms earlier", "Daylight"]);
  await keys("Escape");
  await wall.context().close();
});

test("the trim is found by tapping to what is heard and to what is seen", async () => {
  const wall = await open();
  const keys = async (...names) => {
    for (const name of names) await wall.keyboard.press(name);
  };
  await keys("s");
  // Somebody who hears each tick 120 ms after they see the disc full. A key counts by its own time, and each stage
  // begins with the touch or key that ends the one before: with the clock stopped, all in one instant.
  await wall.evaluate(() => {
    const now = performance.now();
    performance.now = () => now;
    const taps = (late) => {
      for (let beat = 1; beat <= 10; beat += 1) {
        const event = new KeyboardEvent("keydown", { key: "Enter" });
        Object.defineProperty(event, "timeStamp", { value: now + beat * 1000 + late });
        window.dispatchEvent(event);
      }
    };
    [...document.querySelectorAll(".sheet-line")].find(({ textContent }) => /tapping/.test(textContent)).click();
    taps(320);
    window.second = document.querySelector(".sheet h1").textContent;
    taps(200);
    delete performance.now;
  });
  assert.equal(await wall.evaluate(() => window.second), "2 of 2: look");
  await wall.getByText("The sound comes 120 ms after the picture.").waitFor();
  await picture(wall, "wall-trim-found");
  await keys("Enter");
  const value = () => wall.locator(".line-value").nth(1).innerText();
  await until(wall, value, (shown) => shown === "120 ms earlier", "the trim that was found");
  await wall.context().close();
  assert.deepEqual(browser.troubles, []);
});
