// Headless Chromium, one context for each screen, and pictures of what they show.

import assert from "node:assert/strict";
import { mkdir } from "node:fs/promises";
import { chromium } from "playwright-core";

const PICTURES = new URL("../../../artefacts/", import.meta.url);

export const SCREENS = {
  wall: { width: 1920, height: 1080 },
  wall4k: { width: 3840, height: 2160 },
  phone: { width: 390, height: 844 },
  tablet: { width: 1024, height: 768 },
};

/** @param flags more of the browser's own switches */
export async function openBrowser(flags = []) {
  const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
      ...flags,
    ],
  });
  const troubles = [];
  return {
    /** What the pages' consoles complained of. */
    troubles,
    /** A device of its own: no cookies or storage in common with the others. `script` runs before those of its pages. */
    async device(screen, address, script) {
      const context = await browser.newContext({
        viewport: SCREENS[screen],
        hasTouch: screen === "phone" || screen === "tablet",
      });
      if (script !== undefined) await context.addInitScript(script);
      const page = await context.newPage();
      page.on("pageerror", (error) => troubles.push(`${address}: ${error.message}`));
      await page.goto(address);
      return page;
    },
    close: () => browser.close(),
  };
}

/** Keeps a picture of a page beside the build, for people to look at. */
export async function picture(page, name) {
  await mkdir(PICTURES, { recursive: true });
  await page.screenshot({ path: new URL(`${name}.png`, PICTURES).pathname });
}

/** Presses the button of just this name: part of one would also find a button of the view that is being left. */
export const press = (page, name) => page.getByRole("button", { name, exact: true }).first().click();

export const shows = (page, text) => page.getByText(text).first().waitFor();

/** Touches within 400 ms of each other are one, so a further one is made when that has passed. */
export async function apart(page) {
  const since = await page.evaluate(() => performance.now());
  await page.waitForFunction((since) => performance.now() - since > 450, since);
}

/** Waits until what is read is as wanted; it is read again at each frame of the page. */
export async function until(page, read, wanted, what) {
  const given = AbortSignal.timeout(15_000);
  let last;
  while (!given.aborted) {
    last = await read();
    if (wanted(last)) return last;
    await page.evaluate(() => new Promise(requestAnimationFrame));
  }
  assert.fail(`${what}: ${JSON.stringify(last)}`);
}
