/** A class of the Quayside Hall as a tally tablet sees it. */
import { SECOND } from "../src/shared/clock";
import type { Entry } from "../src/shared/outbox";
import type {
  Block,
  Counted,
  Format,
  Movement,
  OwnWindow,
  Phase,
  SegmentIndex,
  State,
  Tap,
} from "../src/shared/wire";
import type { Known } from "../src/tally/view";
import { segment } from "./make";

export const CLASS = "c0ffee00-0000-4000-8000-000000000001";
export const [ANSA, BIRK] = ["ansa", "birk"];

/** Segments: a lead-in, two windows of work with a rest between, and three pieces of other formats. */
export const AT = { leadIn: 0, tide: 1, rest: 2, again: 3, load: 4, time: 5, trips: 6 };

const movement = (count: number, name: string, unit: "reps" | "metres" = "reps"): Movement => ({
  name,
  amount: { count, unit },
  sides: "both",
  load: null,
  height: null,
  tempo: null,
  standard: null,
  cues: [],
  options: [],
});

/** A round of 11 + 8 + 7. */
export const ROUND = [movement(11, "goblet squat"), movement(8, "step-up"), movement(7, "kettlebell swing")];

function piece(name: string, format: Format, movements: Movement[]): Block {
  return {
    name,
    kind: {
      kind: "piece",
      format,
      lead_in: 10 * SECOND,
      repeats: 1,
      repeat_rest: 0,
      sharing: { sharing: "alone" },
      first_there_splits_ties: false,
      windows: "together",
    },
    movements,
    aim: null,
    cues: [],
    coach_notes: [],
    notes: [],
    announce: true,
  };
}

const MIN = 60 * SECOND;
const BLOCKS: Block[] = [
  piece("Tide: AMRAP 4 min", { format: "amrap", window: 4 * MIN, ladder: null }, ROUND),
  piece("Heavy: build to a heavy set of 3 in 4 min", { format: "max-load", reps: 3, window: 4 * MIN }, [
    movement(3, "deadlift"),
  ]),
  piece("Ebb: 21-15-9 for time", { format: "for-time", rounds: 3, scheme: [21, 15, 9], cap: 4 * MIN }, [
    movement(21, "thruster"),
    movement(21, "ring row"),
  ]),
  piece("Trips: AMRAP 4 min", { format: "amrap", window: 4 * MIN, ladder: null }, [
    movement(120, "farmer's carry", "metres"),
  ]),
];

const work = (block: number, more = {}) => segment("work", 240, "wait", { block, ...more });

export function state(phase: Phase, more: Partial<State> = {}): State {
  return {
    number: 1,
    class: CLASS,
    session: {
      title: "Twelve at the quay",
      date: null,
      slot: null,
      people: null,
      notes: [],
      whole_class: "places",
      blocks: BLOCKS,
    },
    scoring: [
      { by: "rounds" },
      { by: "load", reps: 3 },
      { by: "time", cap: 4 * MIN, rounds: 3, reps: 90 },
      { by: "amount", unit: "metres", step: 120 },
    ],
    join: null,
    clock: { revision: 7, phase, stopped: false },
    segments: [
      segment("lead-in", 10, "next", { block: 0 }),
      segment("work", 240, "next", { block: 0, window: { number: 1, of: 2 } }),
      segment("rest", 90, "next", { block: 0, lead_in: 10 * SECOND }),
      work(0, { window: { number: 2, of: 2 } }),
      work(1),
      work(2),
      work(3),
    ],
    swaps: [],
    started: 0,
    closed: false,
    rows: [],
    ...more,
  };
}

/** Running since the zero of house time. */
export const runs = (segment: SegmentIndex): Phase => ({
  phase: "running",
  segment,
  anchor: 0,
  at_anchor: 0,
  added: 0,
});

export function told(segment: SegmentIndex, more: Partial<OwnWindow> = {}): OwnWindow {
  return {
    segment,
    scoring: { by: "rounds" },
    tally: { kind: "rounds", rounds: 0, extra: 0 },
    entered: false,
    splits: [],
    pace: null,
    last_tap: null,
    last_by: null,
    last: null,
    turn: null,
    as_written: null,
    reps: [11, 8, 7],
    overdue_at: null,
    ...more,
  };
}

export const line = (athlete: string, windows: OwnWindow[] = []): Counted => ({
  athlete,
  name: athlete === ANSA ? "Ansa" : "Birk",
  choice: { scaled: false, options: [] },
  windows,
});

/** A tap made at so many seconds of house time. */
export function entry(id: string, at: number, more: Partial<Tap> = {}, kept: Entry["kept"] = null): Entry {
  const tap: Tap = {
    id,
    athlete: ANSA,
    segment: AT.tide,
    counts: { kind: "round" },
    made_at: at * SECOND,
    bound: 0,
    heard: 7,
    ...more,
  };
  return { id, class: CLASS, tap, kept };
}

/** What the house said of a tap that it counts, at so many seconds of class time. */
export function counts(id: string, at: number): Entry["kept"] {
  const standing = { type: "kept", tap: id, standing: "counted", at: at * SECOND, mark: null } as const;
  return { at: 0, generation: "journal", standing };
}

export function known(phase: Phase, more: Partial<Known> = {}): Known {
  return {
    state: state(phase),
    lines: [line(ANSA), line(BIRK)],
    connected: true,
    lastWork: null,
    taps: [],
    undone: new Map(),
    keptSince: new Set(),
    asked: [],
    ...more,
  };
}
