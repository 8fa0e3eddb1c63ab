// True house time, apart from the program's own way to it: a client beside the server that exchanges timestamps over
// loopback and keeps nothing but what must be true. An answer was read after it was asked for and written before it
// came back, so that house time minus host time lies between the greatest t2 - t3 and the least t1 - t0.
//
//   node reference.mjs ADDRESS TOKEN
//
// Host time is CLOCK_MONOTONIC, house time runs on CLOCK_BOOTTIME: the kernel runs both at one rate. Each exchange
// and each clock of the class is a JSON line. When the server goes away it connects again, as often as needed.

import { randomUUID } from "node:crypto";
import { setTimeout as sleep } from "node:timers/promises";
import { hostNow, openWebSocket } from "./lib/websocket.mjs";

/** A few a second, so that many find the machine idle; well under what the house takes from one device. */
const EXCHANGE_MS = 200;
const AGAIN_MS = 20;

const [base, token] = process.argv.slice(2);
const address = `${base.replace("http", "ws")}/api/follow?as=coach`;
const device = randomUUID();
const say = (line) => process.stdout.write(`${JSON.stringify(line)}\n`);

let socket = null;
let asked = null;
let life = 0;
let state = null;

function heard(text, t3) {
  const message = JSON.parse(text);
  if (message.type === "sync" && message.t0 === asked?.id) {
    say({ exchange: { t0: asked.t0, t1: message.t1, t2: message.t2, t3 }, life });
    asked = null;
  }
  if (message.type === "state") state = message;
  if (message.type === "state" || message.type === "frame") {
    if (message.clock)
      say({ clock: message.clock, segments: message.segments ?? state.segments, at: t3, life });
  }
}

/** Asks for the time, again and again; an answer that has not come by the next turn is given up. */
async function ask() {
  for (;;) {
    if (socket !== null) {
      const t0 = hostNow();
      asked = { id: Math.floor(t0), t0 };
      socket.send(JSON.stringify({ type: "sync", t0: asked.id }));
    }
    await sleep(EXCHANGE_MS);
  }
}

// Ends with whoever started it.
process.stdin.on("end", () => process.exit()).resume();
void ask();
for (;;) {
  socket = await openWebSocket(address, { protocol: "floorbell.v1", token }, heard);
  if (socket !== null) {
    life += 1;
    socket.send(JSON.stringify({ type: "hello", device }));
    await socket.closed;
    socket = null;
  }
  await sleep(AGAIN_MS);
}
