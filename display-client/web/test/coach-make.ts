/** A small class for the tests of the coach page, and its clock in each phase. */
import { SECOND, type Showing, showing } from "../src/shared/clock";
import type {
  Block,
  BlockKind,
  Clock,
  OwnWindow,
  Person,
  Phase,
  Scoring,
  Segment,
  Session,
  Tally,
} from "../src/shared/wire";
import { segment } from "./make";

export function block(name: string, kind: BlockKind): Block {
  return {
    name,
    kind,
    movements: [],
    aim: null,
    cues: [],
    coach_notes: [],
    notes: [],
    announce: true,
  };
}

const unscored = { pace: "self-paced", rounds: 1, given: null } as const;

export const SESSION: Session = {
  title: "Tide tables",
  date: null,
  slot: 30 * 60 * SECOND,
  people: null,
  whole_class: "places",
  notes: [],
  blocks: [
    block("Welcome", { kind: "talk", ...unscored }),
    block("Piece A", {
      kind: "piece",
      format: { format: "amrap", window: 240 * SECOND, ladder: null },
      lead_in: 10 * SECOND,
      repeats: 2,
      repeat_rest: 90 * SECOND,
      sharing: { sharing: "alone" },
      first_there_splits_ties: false,
      windows: "together",
    }),
    block("Cool-down", { kind: "cool-down", ...unscored }),
  ],
};

/** A talk of 1:00 that counts up, lead-in 0:10, two windows of 4:00 with 1:30 between, a cool-down; what ends a block waits. */
export const SEGMENTS: readonly Segment[] = [
  segment("open", null, "wait", { block: 0 }),
  segment("lead-in", 10, "next", { block: 1 }),
  segment("work", 240, "next", { block: 1, window: { number: 1, of: 2 } }),
  segment("rest", 90, "next", { block: 1, lead_in: 10 * SECOND }),
  segment("work", 240, "wait", { block: 1, window: { number: 2, of: 2 } }),
  segment("open", 300, "wait", { block: 2 }),
];

export const clockOf = (phase: Phase, stopped = false): Clock => ({ revision: 3, phase, stopped });

/** What shows when a segment has run for so many seconds. */
export function at(index: number, seconds: number, segments: readonly Segment[] = SEGMENTS): Showing {
  const clock = clockOf({ phase: "running", segment: index, anchor: 0, at_anchor: 0, added: 0 });
  return showing(clock, segments, seconds * SECOND);
}

/** What shows when a segment is held at so many seconds. */
export function held(index: number, seconds: number): Showing {
  return showing(
    clockOf({ phase: "held", segment: index, class_time: seconds * SECOND, added: 0 }),
    SEGMENTS,
    0,
  );
}

/** What shows when the bell of a segment went so many seconds ago. */
export function waiting(index: number, seconds: number): Showing {
  return showing(clockOf({ phase: "waiting", segment: index, since: 0 }), SEGMENTS, seconds * SECOND);
}

/** Somebody in the class, who goes by their name. */
export const person = (name: string, more: Partial<Person> = {}): Person => ({
  athlete: name,
  name,
  here: true,
  at_home: false,
  first_class: false,
  told_me: false,
  choice: { scaled: false, options: [] },
  heard: null,
  team: null,
  counter: null,
  windows: [],
  ...more,
});

const NOTHING: Record<Scoring["by"], Tally> = {
  rounds: { kind: "rounds", rounds: 0, extra: 0 },
  time: { kind: "at-cap", reps: 0 },
  made: { kind: "made", made: 0, of: 1 },
  amount: { kind: "count", amount: 0 },
  load: { kind: "rounds", rounds: 0, extra: 0 },
  done: { kind: "rounds", rounds: 0, extra: 0 },
};

/** What somebody has in a window, as the house tells it: nothing, unless said. */
export const own = (segment: number, scoring: Scoring, more: Partial<OwnWindow> = {}): OwnWindow => ({
  segment,
  scoring,
  tally: NOTHING[scoring.by],
  entered: false,
  splits: [],
  pace: null,
  last_tap: null,
  last_by: null,
  last: null,
  turn: null,
  as_written: null,
  reps: [],
  overdue_at: null,
  ...more,
});

export const ROUNDS: Scoring = { by: "rounds" };
/** A class with teams of two in its piece. */
export const IN_PAIRS: Session = {
  ...SESSION,
  blocks: SESSION.blocks.map((block) =>
    block.kind.kind === "piece"
      ? { ...block, kind: { ...block.kind, sharing: { sharing: "team", size: 2 } } }
      : block,
  ),
};
