// `make bench-sync`: one clock on every screen, measured. Each result is a JSON line on the standard output; a table of
// the figures that have a target follows. docs/clock.md says what is measured and how.
//
//   node run.mjs [--parts ABCDEF] [--seconds 300] [--kills 50] [--stops 100] [--picture FILE]
//
// Parts on a bad path run the house and the browsers in network namespaces of their own; they need Linux and root, and
// are left out, said so and told by the exit code where that is lacking.

import { spawn } from "node:child_process";
import { once } from "node:events";
import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { parseArgs } from "node:util";
import { HOUSE_END, lacksForPath, openPath } from "./lib/path.mjs";
import { picture } from "./lib/picture.mjs";
import { table } from "./lib/table.mjs";

const POOR = { toFloorMs: 20, toHouseMs: 20, jitterMs: 15, loss: 0.02, seed: 1 };
const LOPSIDED = { toFloorMs: 40, toHouseMs: 10, jitterMs: 0, loss: 0, seed: 1 };

const PARTS = {
  A: { kind: "screens", path: "loopback", phases: "apart" },
  S: { kind: "screens", path: "loopback", phases: "shared" },
  B: { kind: "screens", path: "poor", on: POOR, phases: "apart" },
  C: { kind: "screens", path: "lopsided", on: LOPSIDED, phases: "apart" },
  D: { kind: "restart", path: "loopback" },
  E: { kind: "stop", path: "poor", on: POOR },
  F: { kind: "alone", path: "poor", on: POOR },
};

const { values: options } = parseArgs({
  options: {
    parts: { type: "string", default: Object.keys(PARTS).join("") },
    seconds: { type: "string", default: "300" },
    kills: { type: "string", default: "50" },
    stops: { type: "string", default: "100" },
    picture: { type: "string" },
  },
});

/** For everything that the parts write: data folders, the browsers' own. */
const folder = await mkdtemp(join(tmpdir(), "floorbell-bench-"));
/** What runs at the moment, to be ended with the bench. */
let child = null;
let path = null;

for (const signal of ["SIGINT", "SIGTERM"]) {
  process.once(signal, async () => {
    if (child !== null) {
      endGroup(child.pid);
      await once(child, "exit");
    }
    path?.abandon();
    await rm(folder, { recursive: true });
    process.exit(130);
  });
}

/** A part leads a process group of its own, which holds all that it has started; what is left of it is ended. */
function endGroup(leader) {
  try {
    process.kill(-leader, "SIGTERM");
  } catch (error) {
    if (error.code !== "ESRCH") throw error;
  }
}

/** Runs one part to its end and returns its results. */
async function run(part, { on, ...wanted }) {
  const [seconds, kills, stops] = [options.seconds, options.kills, options.stops].map(Number);
  const lengths = { screens: { seconds }, alone: { seconds }, restart: { kills }, stop: { stops } };
  const told = JSON.stringify({ part, ...wanted, ...lengths[wanted.kind] });
  const program = [process.execPath, new URL("part.mjs", import.meta.url).pathname, told];
  const environment = { ...process.env, TMPDIR: folder };
  if (on !== undefined) {
    path = await openPath(on);
    program.unshift("ip", "netns", "exec", path.house);
    environment.FLOORBELL_BENCH_LISTEN = HOUSE_END;
    environment.FLOORBELL_BENCH_FLOOR = path.floor;
    environment.FLOORBELL_BENCH_CHROMIUM = environment.CHROMIUM ?? "chromium";
    environment.CHROMIUM = new URL("lib/in-floor.sh", import.meta.url).pathname;
  }
  const results = [];
  try {
    child = spawn(program[0], program.slice(1), {
      env: environment,
      stdio: ["ignore", "pipe", "inherit", "ipc"],
      detached: true,
    });
    child.on("message", (what) => (what === "cut" ? path.cut() : path.join()));
    const ended = once(child, "exit");
    for await (const line of createInterface({ input: child.stdout })) {
      console.log(line);
      results.push(JSON.parse(line));
    }
    const [code] = await ended;
    endGroup(child.pid);
    if (code !== 0) throw new Error(`part ${part} ended with code ${code}`);
  } finally {
    child = null;
    if (path !== null) {
      const passed = await path.close();
      console.log(JSON.stringify({ part, bench: "path", ...passed }));
      path = null;
    }
  }
  return results;
}

const lacks = await lacksForPath();
const results = [];
for (const part of options.parts) {
  const wanted = PARTS[part];
  if (wanted === undefined)
    throw new Error(`there is no part ${part}: choose from ${Object.keys(PARTS).join("")}`);
  if (wanted.on !== undefined && lacks !== null) {
    console.error(`Part ${part} is left out: ${lacks}.`);
    process.exitCode = 3;
    continue;
  }
  try {
    results.push(...(await run(part, wanted)));
  } catch (error) {
    console.error(error.message);
    process.exitCode = 1;
  }
}
await rm(folder, { recursive: true });
console.log(`\n${table(results)}`);
if (options.picture !== undefined) await writeFile(options.picture, picture(results));
