// A wall without a house behind it: the page is the built one, and the test plays the house. Every state of a class
// can be put on the wall so, and every frame of it looked at.

import { chance } from "../bench/lib/statistics.mjs";

const SECOND = 1e6;

/**
 * Runs in the page: a socket that answers as a house does, and says what `stage.say` is given. With `turns` "held" the
 * turns of the board come when the test says so: `stage.held()` tells how long the page would stand.
 */
function plays(turns) {
  const AHEAD = 1e9;
  /** Only pages of the board stand so long. */
  const [TURN_MIN_MS, TURN_MAX_MS] = [3_100, 30_000];
  let socket = null;
  let held = null;
  const later = window.setTimeout.bind(window);
  const never = window.clearTimeout.bind(window);
  if (turns === "held") {
    window.setTimeout = (act, ms, ...more) => {
      if (!(ms >= TURN_MIN_MS && ms <= TURN_MAX_MS)) return later(act, ms, ...more);
      held = { act, stands: ms };
      return held;
    };
    window.clearTimeout = (timer) => {
      if (timer === held) held = null;
      else never(timer);
    };
  }
  const house = () => Math.round(performance.now() * 1000) + AHEAD;
  window.stage = {
    house,
    held: () => ({ stands: held.stands }),
    turn: () => held.act(),
    say: (message) => socket.onmessage({ data: typeof message === "string" ? message : JSON.stringify(message) }),
  };
  window.WebSocket = class {
    static OPEN = 1;
    readyState = 0;
    bufferedAmount = 0;
    constructor() {
      socket = this;
      queueMicrotask(() => {
        this.readyState = 1;
        this.onopen();
      });
    }
    send(text) {
      const { type, t0 } = JSON.parse(text);
      if (type !== "sync") return;
      queueMicrotask(() => stage.say({ type: "sync", t0, t1: t0 + AHEAD, t2: t0 + AHEAD }));
    }
    close() {}
  };
}

/** Opens the wall of `base`; the script `before` runs in the page before its own. */
export async function openStage(browser, base, screen, { places = true, turns = "run", before = "" } = {}) {
  const script = `(${plays})(${JSON.stringify(turns)});${before}`;
  const page = await browser.device(screen, `${base}/wall`, script);
  const welcome = {
    type: "welcome",
    generation: "stage",
    house: "Quayside Hall",
    emergency: "Call 112.",
    role: "wall",
    accepted: true,
    number: 7,
    places,
  };
  let number = 0;
  const say = (message) => page.evaluate((message) => stage.say(message), message);
  await say(welcome);
  return {
    page,
    house: () => page.evaluate(() => stage.house()),
    /** The whole state, with the clock so many seconds into a segment. */
    async state(state, segment, into) {
      const now = await this.house();
      number += 1;
      await say({ ...state, type: "state", number, clock: runningAt(segment, now - into * SECOND) });
    },
    async done(state) {
      number += 1;
      await say({ ...state, type: "state", number, clock: { revision: 1, phase: { phase: "done" }, stopped: false } });
    },
    /** Rows that changed. */
    async rows(rows, more = {}) {
      number += 1;
      await say({ type: "frame", number, rows, ...more });
    },
    frame: () => page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))),
  };
}

const runningAt = (segment, anchor) => ({
  revision: 1,
  phase: { phase: "running", segment, anchor, at_anchor: 0, added: 0 },
  stopped: false,
});

const FIRST = ["Mirela", "Tomas", "Ines", "Bo", "Alva", "Henk", "Ruta", "Desmond", "Yara", "Kofi", "Signe", "Pavel", "Oona", "Luca", "Maud"];
const LAST = ["Halvorsen", "Brine", "Harrow", "Weiss", "Quill", "Tidewell", "Marsh", "Ostrow"];

/** Invented people: so many, each by another name. */
export const people = (count) =>
  Array.from({ length: count }, (_, index) => {
    const first = FIRST[index % FIRST.length];
    return `${first} ${LAST[index % LAST.length]}`;
  });

/** Rows with scores in block 0, ranked within their group by `value`, greatest first; `tally` writes a value. */
export function rows(count, { team = () => null, scaled = () => false, value, tally, pace = () => null, scoredAt = () => 0, scores }) {
  const all = people(count).map((name, index) => ({ index, name, value: value(index), scaled: scaled(index) }));
  const placeOf = (own) =>
    1 + all.filter((other) => other.scaled === own.scaled && other.value !== null && other.value > own.value).length;
  return all.map((own) => ({
    athlete: `athlete-${own.index}`,
    name: own.name,
    at_home: false,
    scaled: own.scaled,
    scores: scores?.(own.index) ?? [
      {
        block: 0,
        tally: own.value === null ? null : tally(own.value),
        place: own.value === null ? null : placeOf(own),
        last_at: scoredAt(own.index),
        marked: false,
        pace: pace(own.value),
        windows: [],
      },
    ],
    overall: own.value === null ? null : placeOf(own),
    total_reps: null,
    team: team(own.index),
  }));
}

const movement = (count, name, text = null) => ({
  name,
  amount: { count, unit: "reps" },
  sides: "both",
  load: text === null ? null : { text, grams: [], pieces: 1, by_feel: false },
  height: null,
  tempo: null,
  standard: null,
  cues: [],
  options: [],
});

export const AMRAP = { format: "amrap", window: 420 * SECOND, ladder: null };

const segment = (block, kind, length, more = {}) => ({
  block,
  kind,
  length: length * SECOND,
  planned: length * SECOND,
  after: "next",
  window: null,
  movement: null,
  lead_in: 0,
  announce: true,
  dropped: false,
  ...more,
});

/** Segments of the class below. */
export const [LEAD_IN, WORK, REST, WORK_AGAIN] = [0, 1, 2, 3];

/** A class of one piece, a rest and another piece; `length` is that of its work. */
export function aClass({ format = AMRAP, length = 420, sharing = { sharing: "alone" }, rows }) {
  const piece = (name) => ({
    name,
    kind: {
      kind: "piece",
      format,
      lead_in: 10 * SECOND,
      repeats: 1,
      repeat_rest: 0,
      sharing,
      first_there_splits_ties: false,
      windows: "together",
    },
    movements: [movement(11, "goblet squat", "16 kg"), movement(8, "step-up"), movement(7, "kettlebell swing", "16 kg")],
    aim: { text: "steady, 5 to 7 rounds", rounds: [5, 7] },
    cues: [],
    coach_notes: [],
    notes: [],
    announce: true,
  });
  const restBlock = {
    ...piece("Rest 3 min"),
    kind: { kind: "rest", length: 180 * SECOND, after: "next" },
    movements: [],
    aim: null,
  };
  return {
    class: "class",
    scoring: [{ by: "rounds" }],
    session: {
      title: "Evening on the quay",
      date: null,
      slot: null,
      people: null,
      notes: [],
      whole_class: "places",
      blocks: [piece("First tide: AMRAP 7 min"), restBlock, piece("Second tide: AMRAP 7 min")],
    },
    join: null,
    segments: [
      segment(0, "lead-in", 10),
      segment(0, "work", length),
      segment(1, "rest", 180, { lead_in: 10 * SECOND }),
      segment(2, "work", length),
    ],
    swaps: [],
    started: 0,
    closed: false,
    rows,
  };
}

/** Numbers from a seed, for people of unlike strength. */
export function strengths(count, least, most, seed = 1) {
  const random = chance(seed);
  return Array.from({ length: count }, () => least + Math.floor((most - least + 1) * random()));
}
