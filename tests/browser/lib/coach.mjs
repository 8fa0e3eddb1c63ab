// A coach without a page: says what a coach device would, and waits for the answers.

import { randomUUID } from "node:crypto";
import { openWebSocket } from "../bench/lib/websocket.mjs";

/** Longer than anything here takes on a busy machine. */
const WITHIN_MS = 15_000;

/** Connects as the coach who is signed in at `house`. */
export async function openCoach(house) {
  let clock, view;
  const answers = new Map();
  const looks = new Set();
  const socket = await openWebSocket(
    `${house.reach}/api/follow?as=coach`,
    { protocol: "floorbell.v1", token: house.token() },
    (text) => {
      const message = JSON.parse(text);
      if (message.clock) ({ clock } = message);
      if (message.type === "coach") view = message;
      if (message.type === "answer") answers.get(message.to)?.(message);
      for (const look of looks) look();
    },
  );
  if (socket === null) throw new Error("the house did not let the coach in");
  socket.send(JSON.stringify({ type: "hello", device: randomUUID() }));

  /** Resolves with what `read` finds in the coach's view, once it finds something. */
  async function until(read, what) {
    let late, look;
    const found = new Promise((resolve, reject) => {
      look = () => {
        const value = view === undefined ? undefined : read(view);
        if (value !== undefined && value !== null && value !== false) resolve(value);
      };
      late = setTimeout(() => reject(new Error(`it did not come about: ${what}: ${JSON.stringify(view)}`)), WITHIN_MS);
      looks.add(look);
      look();
    });
    return found.finally(() => {
      clearTimeout(late);
      looks.delete(look);
    });
  }

  async function request(message) {
    const id = randomUUID();
    const answer = new Promise((resolve, reject) => {
      const late = setTimeout(() => reject(new Error(`no answer to ${JSON.stringify(message)}`)), WITHIN_MS);
      answers.set(id, (heard) => {
        clearTimeout(late);
        resolve(heard);
      });
    });
    socket.send(JSON.stringify({ id, ...message }));
    const { outcome, text } = await answer;
    if (outcome === "refused") throw new Error(`${JSON.stringify(message)}: ${text}`);
  }

  const segment = () => ("segment" in clock.phase ? clock.phase.segment : null);
  return {
    until,
    ask: (ask) => request({ type: "ask", ...ask }),
    /** Calls to the clock as it stands. */
    call: (call, more = {}) =>
      request({ type: "call", call, ...more, seen: { segment: segment(), revision: clock.revision } }),
    close: () => socket.end(),
  };
}
