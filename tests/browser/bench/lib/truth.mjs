// True house time for a bench: reference.mjs beside the server, and what follows from its exchanges.

import { spawn } from "node:child_process";
import { createInterface } from "node:readline";

const SECOND = 1e6;

/**
 * House time minus host time, in microseconds, from exchanges: everything that all of them allow. House time is told in
 * whole microseconds, cut off.
 */
export function bracket(exchanges) {
  const low = Math.max(...exchanges.map(({ t2, t3 }) => t2 - t3));
  const high = Math.min(...exchanges.map(({ t0, t1 }) => t1 + 1 - t0));
  return { low, high, middle: (low + high) / 2, width: high - low, exchanges: exchanges.length };
}

/** Starts the reference client beside the server. */
export function openTruth(base, token) {
  const program = new URL("../reference.mjs", import.meta.url).pathname;
  const client = spawn(process.execPath, [program, base, token], { stdio: ["pipe", "pipe", "inherit"] });
  const exchanges = [];
  const clocks = [];
  const waiting = new Set();
  createInterface({ input: client.stdout }).on("line", (line) => {
    const { exchange, life, clock, segments, at } = JSON.parse(line);
    if (exchange) exchanges.push({ ...exchange, life });
    else clocks.push({ clock, segments, at, life });
    for (const look of waiting) look();
  });
  return {
    exchanges,
    clocks,
    /** Resolves once `wanted()` holds; looked at after each line of the client. */
    async until(wanted, what, withinMs = 20_000) {
      let late, look;
      const seen = new Promise((resolve, reject) => {
        look = () => wanted() && resolve();
        late = setTimeout(() => reject(new Error(`it did not come about: ${what}`)), withinMs);
      });
      waiting.add(look);
      look();
      await seen.finally(() => {
        waiting.delete(look);
        clearTimeout(late);
      });
    },
    close: () => client.stdin.end(),
  };
}

/**
 * The instants at which a second changes, in house time, by what the digits then show: for each segment that the clock
 * goes through by itself, its start (which shows the whole length) and each second to its bell.
 */
export function instants({ clock, segments }) {
  const { phase } = clock;
  if (phase.phase !== "running") return [];
  const found = [];
  let { segment: index, anchor, at_anchor: at, added } = phase;
  for (; index < segments.length; index += 1) {
    const segment = segments[index];
    if (segment.dropped) continue;
    if (segment.length === null) break;
    const bell = anchor + segment.length + added - at;
    for (let left = Math.ceil((bell - anchor) / SECOND); left > 0; left -= 1) {
      found.push({ house: Math.max(anchor, bell - left * SECOND), left, segment: index });
    }
    [anchor, at, added] = [bell, 0, 0];
    if (segment.after === "wait") break;
  }
  return found;
}

/** `4:05` or `5` as seconds; null for anything else. */
export function secondsOf(text) {
  const parts = /^(?:(\d+):)?(?:(\d+):)?(\d+)$/.exec(text);
  if (parts === null) return null;
  return text.split(":").reduce((sum, part) => sum * 60 + Number(part), 0);
}
