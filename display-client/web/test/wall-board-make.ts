/** Rows and lines for the tests of the wall's board. */
import type { Format, Piece, Row, Scoring, State, Tally } from "../src/shared/wire";
import type { Counted, Group, Line, Making } from "../src/wall/board";
import { Names } from "../src/wall/board-names";
import { block, piece } from "./wall-make";

export interface Made {
  scaled?: boolean;
  place?: number | null;
  tally?: Tally | null;
  last_at?: number | null;
  team?: number | null;
}

/** Somebody with a score in block 0. */
export function row(
  name: string,
  { scaled = false, place = null, tally = null, last_at = null, team = null }: Made = {},
): Row {
  return {
    athlete: name,
    name,
    at_home: false,
    scaled,
    scores: [{ block: 0, tally, place, last_at, marked: false }],
    overall: place,
    total_reps: null,
    team,
  };
}

export const rounds = (rounds: number, extra = 0): Tally => ({ kind: "rounds", rounds, extra });

export const AMRAP: Format = { format: "amrap", window: 420e6, ladder: null };

/** A class of one piece, block 0. */
export const counted = (
  rows: Row[],
  format: Format = AMRAP,
  more: Partial<Piece> = {},
  scoring: Scoring = { by: "rounds" },
): Counted => ({
  rows,
  scoring: [scoring],
  session: {
    title: "Evening on the quay",
    date: null,
    slot: null,
    people: null,
    notes: [],
    whole_class: "places",
    blocks: [block("First tide", { kind: { kind: "piece", ...piece(format), ...more } })],
  } satisfies State["session"],
});

export const making = (more: Partial<Making> = {}): Making => ({
  names: new Names(),
  places: true,
  fits: () => true,
  ...more,
});

export const line = (key: string, more: Partial<Line> = {}): Line => ({
  key,
  name: key,
  team: false,
  atHome: false,
  place: null,
  tally: ["", ""],
  pace: ["", ""],
  scoredAt: 0,
  ...more,
});

/** A group of so many, of whom the upper half has places. */
export function group(title: Group["title"], count: number): Group {
  const placed = Math.ceil(count / 2);
  const lines = Array.from({ length: count }, (_, index) =>
    line(`${title} ${index + 1}`, { name: "Alva", place: index < placed ? index + 1 : null }),
  );
  return { title, lines, placed, of: count };
}
