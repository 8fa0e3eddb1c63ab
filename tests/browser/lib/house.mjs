// A real house for the tests: the built program on a free port, with a data folder that goes away.

import { spawn } from "node:child_process";
import { once } from "node:events";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";

export const PASSPHRASE = "a rope of twelve strands";

const program = process.env.FLOORBELL_BIN;
if (!program) throw new Error("FLOORBELL_BIN names the built program; `make test-browser` sets it.");

/** Starts the program; resolves once it says where to go. */
async function start(data, listen) {
  const server = spawn(program, ["serve", "--data", data, "--listen", listen], {
    stdio: ["ignore", "pipe", "inherit"],
  });
  const ended = once(server, "exit");
  const lines = createInterface({ input: server.stdout });
  let base, setUp;
  for await (const line of lines) {
    base ??= line.match(/coach\s+(http:\/\/\S+)\/coach/)?.[1];
    setUp ??= line.match(/#set-up=(\w+)/)?.[1];
    if (line.includes("Ctrl-C stops")) break;
  }
  if (!base) throw new Error("the program ended before it said where to go");
  server.stdout.resume();
  return { server, ended, base, setUp };
}

/** Opens a house with a coach. `close` ends it; `crash` ends it with SIGKILL and starts it anew. */
export async function openHouse(listen = "127.0.0.1:0") {
  const data = await mkdtemp(join(tmpdir(), "floorbell-"));
  let running = await start(data, listen);
  const { base, setUp } = running;
  const at = listen.replace(/\d+$/, new URL(base).port);
  let token;
  async function ask(method, path, body) {
    const text = typeof body === "string";
    const answer = await fetch(base + path, {
      method,
      headers: {
        ...(token && { authorization: `Bearer ${token}` }),
        "content-type": text ? "text/markdown" : "application/json",
      },
      body: body === undefined || text ? body : JSON.stringify(body),
    });
    const content = await answer.text();
    if (!answer.ok) throw new Error(`${method} ${path}: ${answer.status} ${content}`);
    return content && JSON.parse(content);
  }
  const house = {
    base,
    /** Where a program on the same machine reaches it: an address, for names take time to look up. */
    reach: `http://${at}`,
    token: () => token,
    setUpLink: `${base}/coach#set-up=${setUp}`,
    ask,
    /** Sets the house up without a browser, and signs in as its coach. */
    async setUp() {
      await ask("POST", "/api/set-up", {
        token: setUp,
        passphrase: PASSPHRASE,
        house: "Quayside Hall",
        emergency: "Call 112. First aid and the defibrillator hang by the door.",
      });
      await house.signIn();
    },
    async signIn() {
      ({ token } = await ask("POST", "/api/sign-in", { passphrase: PASSPHRASE }));
    },
    /** Keeps a sheet and opens a class from it. */
    async openClass(sheet) {
      await ask("PUT", "/api/sheets/tonight", sheet);
      return ask("POST", "/api/classes", { sheet: "tonight" });
    },
    async crash() {
      running.server.kill("SIGKILL");
      await running.ended;
      running = await start(data, at);
    },
    async close() {
      running.server.kill("SIGTERM");
      await running.ended;
      await rm(data, { recursive: true });
    },
  };
  return house;
}
