// A class for the tests of the phone: a house with a class open, athletes' phones in it, and a coach who is a program,
// so that a test calls what it needs and waits for what comes of it.

import { randomUUID } from "node:crypto";
import { openWebSocket } from "../bench/lib/websocket.mjs";
import { openBrowser, press, shows } from "./browser.mjs";
import { openHouse } from "./house.mjs";

/** Opens a class from a sheet. Phones come in by `phone`; `coach` calls and asks. */
export async function openPhoneClass(sheet) {
  const house = await openHouse();
  const browser = await openBrowser();
  await house.setUp();
  const { code } = await house.openClass(sheet);
  const coach = await openCoach(house);
  return {
    house,
    browser,
    coach,
    code,
    /** A phone of its own that comes in under a name; `base` where it reaches the house by a line that can be cut. */
    async phone(name, base = house.base) {
      const page = await browser.device("phone", `${base}/#c=${code}`);
      await page.getByLabel("Your name").fill(name);
      await press(page, "Come in");
      await shows(page, "You are in");
      return page;
    },
    async close() {
      coach.close();
      await browser.close();
      await house.close();
    },
  };
}

async function openCoach(house) {
  const heard = [];
  let state = null;
  let view = null;
  let waiting = [];
  const settle = () => {
    waiting = waiting.filter(({ found, done }) => {
      const value = found();
      if (value) done(value);
      return !value;
    });
  };
  const line = await openWebSocket(
    `${house.reach}/api/follow?as=coach`,
    { protocol: "floorbell.v1", token: house.token() },
    (text) => {
      const message = JSON.parse(text);
      if (message.type === "state") state = message;
      else if (message.type === "frame" && state !== null) state = merged(state, message);
      else if (message.type === "coach") view = message;
      else heard.push(message);
      settle();
    },
  );
  /** Resolves with what `found` gives once that is something. */
  const when = (found) =>
    new Promise((done) => {
      waiting.push({ found, done });
      settle();
    });
  line.send(JSON.stringify({ type: "hello", device: randomUUID() }));
  await when(() => state);
  async function request(message) {
    const id = randomUUID();
    line.send(JSON.stringify({ ...message, id }));
    const answer = await when(() => heard.find(({ type, to }) => type === "answer" && to === id));
    if (answer.outcome === "refused") throw new Error(answer.text);
    return answer;
  }
  const person = (name) => view?.people.find((each) => each.name === name);
  return {
    when,
    state: () => state,
    athlete: (name) => person(name)?.athlete,
    /** What somebody has in a window, once it is as wanted. */
    window: (name, segment, wanted) =>
      when(() => {
        const found = person(name)?.windows.find((window) => window.segment === segment);
        return found !== undefined && wanted(found) ? found : null;
      }),
    ask: (ask) => request({ type: "ask", ...ask }),
    call: (call, more = {}) => {
      const { revision, phase } = state.clock;
      return request({ type: "call", call, ...more, seen: { segment: phase.segment ?? null, revision } });
    },
    /** Straight to the work of a block, by the name that its heading begins with. A hold is never stale. */
    async work(name) {
      const block = state.session.blocks.findIndex((each) => each.name.startsWith(name));
      const to = state.segments.findIndex((segment) => segment.block === block && segment.kind === "work");
      const { phase } = state.clock.phase;
      if (phase !== "held") await this.call(phase === "gathering" ? "start" : "hold");
      await when(() => state.clock.phase.phase !== phase || phase === "held");
      await this.call("jump", { to });
      await when(() => state.clock.phase.segment === to);
      return to;
    },
    close: () => line.end(),
  };
}

function merged(state, { type: _, rows = [], gone = [], ...rest }) {
  const changed = new Map(rows.map((row) => [row.athlete, row]));
  const kept = state.rows.filter(({ athlete }) => !gone.includes(athlete) && !changed.has(athlete));
  return { ...state, ...rest, rows: [...kept, ...rows] };
}
