// Two network namespaces, the house and the floor, joined by a path that loses and delays packets
// (forwarder.py). Needs Linux, root and /dev/net/tun.

import { execFileSync, spawn } from "node:child_process";
import { once } from "node:events";
import { constants } from "node:fs";
import { access } from "node:fs/promises";
import { createInterface } from "node:readline";

/** Where the house listens at its end of the path; any free port. */
export const HOUSE_END = "10.77.0.1:0";

/** Why no path can be made on this machine; null where it can. */
export async function lacksForPath() {
  if (process.getuid() !== 0) return "network namespaces need root";
  const tun = await access("/dev/net/tun", constants.R_OK | constants.W_OK).catch((error) => error);
  if (tun) return `no packets can be carried: ${tun.message}`;
  try {
    execFileSync("ip", ["netns", "list"], { stdio: "ignore" });
  } catch (error) {
    return `\`ip netns\` does not work: ${error.message}`;
  }
  return null;
}

/** Makes the namespaces and the path. `close` takes all of it away and tells what has passed. */
export async function openPath({ toFloorMs, toHouseMs, jitterMs, loss, seed }) {
  const names = { house: `floorbell-house-${process.pid}`, floor: `floorbell-floor-${process.pid}` };
  const remove = () => {
    for (const name of Object.values(names))
      execFileSync("ip", ["netns", "delete", name], { stdio: "ignore" });
  };
  for (const name of Object.values(names)) execFileSync("ip", ["netns", "add", name]);
  const told = { to_floor_ms: toFloorMs, to_house_ms: toHouseMs, jitter_ms: jitterMs, loss, seed };
  const script = new URL("forwarder.py", import.meta.url).pathname;
  const forwarder = spawn("python3", [script, names.house, names.floor, JSON.stringify(told)], {
    stdio: ["pipe", "pipe", "inherit"],
  });
  const ended = once(forwarder, "exit");
  const lines = createInterface({ input: forwarder.stdout })[Symbol.asyncIterator]();
  if ((await lines.next()).value !== "ready") {
    remove();
    throw new Error("the path could not be made");
  }
  return {
    ...names,
    cut: () => forwarder.stdin.write("cut\n"),
    join: () => forwarder.stdin.write("join\n"),
    async close() {
      forwarder.stdin.end();
      const { value } = await lines.next();
      await ended;
      remove();
      return JSON.parse(value);
    },
    /** At once, for a bench that is being ended. */
    abandon() {
      forwarder.kill("SIGKILL");
      remove();
    },
  };
}
