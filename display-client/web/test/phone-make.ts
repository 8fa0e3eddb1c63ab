/** A class of the Quayside Hall as a phone sees it, for the tests of the phone page. */

import type { Known } from "../src/phone/view";
import { SECOND } from "../src/shared/clock";
import type { Entry } from "../src/shared/outbox";
import type {
  Block,
  Choice,
  Clock,
  Movement,
  OwnView,
  OwnWindow,
  Phase,
  Row,
  Segment,
  SegmentIndex,
  Session,
  State,
  Tap,
  Unscored,
} from "../src/shared/wire";
import { segment } from "./make";

export const CLASS = "c0ffee00-0000-4000-8000-000000000001";
export const ME = "a0000000-0000-4000-8000-000000000001";

export function movement(name: string, more: Partial<Movement> = {}): Movement {
  return {
    name,
    amount: null,
    sides: "both",
    load: null,
    height: null,
    tempo: null,
    standard: null,
    cues: [],
    options: [],
    ...more,
  };
}

const reps = (count: number) => ({ count, unit: "reps" }) as const;
const seconds = (count: number) => ({ count, unit: "seconds" }) as const;
const weight = (text: string, grams: number[]) => ({ text, grams, pieces: 1, by_feel: false });

function block(name: string, kind: Block["kind"], movements: Movement[], more: Partial<Block> = {}): Block {
  return { name, kind, movements, aim: null, cues: [], coach_notes: [], notes: [], announce: true, ...more };
}

const selfPaced: Unscored = { pace: "self-paced", rounds: 2, given: 480 * SECOND };
const coachLed: Unscored = { pace: "coach-led", rounds: 1, given: null };

/** A round of 11 + 8 + 7. */
export const QUAY: Movement[] = [
  movement("goblet squat", {
    amount: reps(11),
    load: weight("16 kg", [16_000]),
    standard: "hip crease below the knee, then stand all the way up",
    options: [
      {
        name: "squat to box 45 cm",
        amount: reps(11),
        sides: "both",
        load: null,
        reasons: ["mechanics"],
        side: "easier",
        counts_as: null,
      },
      {
        name: "goblet squat",
        amount: null,
        sides: "both",
        load: weight("8 kg", [8_000]),
        reasons: ["lighter"],
        side: "easier",
        counts_as: null,
      },
    ],
  }),
  movement("step-up", {
    amount: reps(8),
    sides: "alternating",
    height: "50 cm",
    standard: "both feet on the box, hips and knees straight",
    options: [
      {
        name: "step-up 30 cm",
        amount: reps(8),
        sides: "alternating",
        load: null,
        reasons: ["low-impact"],
        side: "easier",
        counts_as: null,
      },
      {
        name: "step-up on a stair",
        amount: reps(8),
        sides: "alternating",
        load: null,
        reasons: ["at-home"],
        side: "sideways",
        counts_as: null,
      },
    ],
  }),
  movement("kettlebell swing", {
    amount: reps(7),
    load: weight("16/12 kg", [16_000, 12_000]),
    standard: "the bell at chest height, arms straight",
    options: [
      {
        name: "kettlebell deadlift",
        amount: reps(7),
        sides: "both",
        load: null,
        reasons: ["mechanics", "low-impact"],
        side: "easier",
        counts_as: "stand tall at the top",
      },
    ],
  }),
];

export const SESSION: Session = {
  title: "Harbour evening",
  date: "2026-03-12",
  slot: 60 * 60 * SECOND,
  people: 14,
  whole_class: "places",
  notes: [
    "Water stands by the door: drink when you like. Every load and every movement has another way to do it.",
  ],
  blocks: [
    block("Casting off", { kind: "warm-up", ...selfPaced }, [
      movement("easy row", { amount: seconds(60) }),
      movement("step back lunge", { amount: reps(8), sides: "alternating" }),
      movement("plank", { amount: seconds(20), sides: "per-side" }),
      movement("squat", { amount: reps(5), tempo: [4, 0, 1, 0] }),
    ]),
    block("The goblet squat", { kind: "drill", ...coachLed }, [
      movement("squat to box 45 cm", { amount: reps(5) }),
      movement("squat", { amount: reps(5), tempo: [4, 0, 1, 0] }),
      movement("goblet squat", { amount: reps(5), load: weight("8 kg", [8_000]) }),
    ]),
    block(
      "Quay run",
      {
        kind: "piece",
        format: { format: "amrap", window: 240 * SECOND, ladder: null },
        lead_in: 10 * SECOND,
        repeats: 2,
        repeat_rest: 90 * SECOND,
        sharing: { sharing: "alone" },
        first_there_splits_ties: false,
        windows: "together",
      },
      QUAY,
      {
        aim: {
          text: "steady from the start, 4 to 5 rounds, no set broken before round three",
          rounds: [4, 5],
        },
      },
    ),
    block(
      "Mooring line",
      {
        kind: "piece",
        format: {
          format: "intervals",
          work: 20 * SECOND,
          rest: 10 * SECOND,
          rounds: 1,
          score: "total",
        },
        lead_in: 10 * SECOND,
        repeats: 1,
        repeat_rest: 0,
        sharing: { sharing: "alone" },
        first_there_splits_ties: false,
        windows: "together",
      },
      [movement("row for calories")],
    ),
    block("Ebb tide", { kind: "cool-down", ...selfPaced, given: 360 * SECOND }, [
      movement("calf stretch", { amount: seconds(30), sides: "per-side" }),
    ]),
  ],
};

/** What stands where in `SEGMENTS`. */
export const AT = {
  warmUp: 0,
  drill: 1,
  leadIn: 3,
  first: 4,
  rest: 5,
  second: 6,
  between: 7,
  intervals: 8,
  end: 9,
};

export const SEGMENTS: Segment[] = [
  segment("open", null, "wait", { block: 0 }),
  segment("open", null, "wait", { block: 1, movement: 0 }),
  segment("open", null, "wait", { block: 1, movement: 1 }),
  segment("lead-in", 10, "next", { block: 2 }),
  segment("work", 240, "next", { block: 2, window: { number: 1, of: 2 } }),
  segment("rest", 90, "next", { block: 2, lead_in: 10 * SECOND, window: { number: 1, of: 2 } }),
  segment("work", 240, "wait", { block: 2, window: { number: 2, of: 2 } }),
  segment("lead-in", 10, "next", { block: 3 }),
  segment("work", 20, "wait", { block: 3 }),
  segment("open", null, "wait", { block: 4 }),
];

export function row(athlete: string, name: string, more: Partial<Row> = {}): Row {
  return {
    athlete,
    name,
    at_home: false,
    scaled: false,
    scores: [],
    overall: null,
    total_reps: null,
    team: null,
    ...more,
  };
}

/** The score of a row in the Quay run. */
export const scored = (rounds: number, place: number) => [
  {
    block: 2,
    tally: { kind: "rounds", rounds, extra: 0 } as const,
    place,
    last_at: null,
    marked: false,
  },
];

export function clock(phase: Phase, stopped = false): Clock {
  return { revision: 7, phase, stopped };
}

/** Running since `anchor` seconds of house time. */
export const runs = (index: SegmentIndex, anchor = 0, atAnchor = 0): Phase => ({
  phase: "running",
  segment: index,
  anchor: anchor * SECOND,
  at_anchor: atAnchor * SECOND,
  added: 0,
});

export function state(phase: Phase, more: Partial<State> = {}): State {
  return {
    number: 1,
    class: CLASS,
    session: SESSION,
    scoring: [null, null, { by: "rounds" }, { by: "amount", unit: "calories", step: 1 }, null],
    join: null,
    clock: clock(phase),
    segments: SEGMENTS,
    swaps: [],
    started: 0,
    closed: false,
    rows: [row(ME, "Ines")],
    ...more,
  };
}

export function own(windows: OwnWindow[] = [], choice: Choice = { scaled: false, options: [] }): OwnView {
  return {
    athlete: ME,
    name: "Ines Vale",
    shown: "whole",
    choice,
    windows,
    counter: null,
    counts_for: [],
    team: [],
    questions: [],
  };
}

export function ownWindow(segment: SegmentIndex, rounds: number, more: Partial<OwnWindow> = {}): OwnWindow {
  return {
    segment,
    scoring: { by: "rounds" },
    tally: { kind: "rounds", rounds, extra: 0 },
    entered: false,
    splits: [],
    pace: null,
    last_tap: null,
    last_by: null,
    last: null,
    turn: null,
    as_written: null,
    overdue_at: null,
    reps: [11, 8, 7],
    ...more,
  };
}

/** A tap made at so many seconds of house time. */
export function entry(id: string, at: number, more: Partial<Tap> = {}, kept: Entry["kept"] = null): Entry {
  const tap: Tap = {
    id,
    athlete: ME,
    segment: AT.first,
    counts: { kind: "round" },
    made_at: at * SECOND,
    bound: 0,
    heard: 7,
    ...more,
  };
  return { id, class: CLASS, tap, kept };
}

export function counted(id: string): Entry["kept"] {
  const standing = { type: "kept", tap: id, standing: "counted", at: 0, mark: null } as const;
  return { at: 0, generation: "journal", standing };
}

export function known(phase: Phase, more: Partial<Known> = {}): Known {
  return {
    state: state(phase),
    own: own(),
    athlete: ME,
    whom: null,
    connected: true,
    places: true,
    lastWork: null,
    taps: [],
    undone: new Map(),
    keptSince: new Set(),
    ...more,
  };
}
