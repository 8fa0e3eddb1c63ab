/**
 * Which boards take turns. Pure. While people work, the piece's own, and what they are on pace for; at rest and at
 * the end the piece's, its last window's by itself, and the whole class's.
 */
import type { Standing } from "../shared/clock";
import { scoreOf } from "../shared/state";
import type { BlockIndex, State } from "../shared/wire";
import { formatOf, titleOf } from "../shared/words";
import type { Board } from "./board";
import { TOTAL_WIDTH, tallyWidth } from "./board-words";
import { hasBoard, windowTitle } from "./plan-words";

/** A board in its turn. */
export interface Turn {
  board: Board;
  /** What it is called; empty where the clock beside it says so. */
  title: string;
  /** Whether the pace is shown in place of the tally: the rows stand as they are. */
  pace: boolean;
  /** Room for a tally, and of it for the reps of an unfinished round, in em of the rows' type. */
  tally: number;
  rest: number;
}

/** While people work at a piece. */
export function turnsInWork(state: State, block: BlockIndex, standing: Standing): Turn[] {
  const own = pieceTurn(state, block, mayHaveExtras(standing));
  const paced = state.rows.some((row) => scoreOf(row, block)?.pace != null);
  const turn = { ...own, title: "" };
  const window = windowTitle(standing.segment, state.session.blocks[block]).toLowerCase();
  const title = ["On pace for", window].filter((part) => part !== "").join(", ");
  return paced ? [turn, { ...turn, title, pace: true }] : [turn];
}

/** At rest, and while the clock waits: `block` is the piece that was done last, up to segment `index`. */
export function turnsAtRest(state: State, block: BlockIndex, index: number, places: boolean): Turn[] {
  return [pieceTurn(state, block, true), ...windowTurns(state, block, index), ...wholeClass(state, places)];
}

/** When the class is done. */
export function turnsDone(state: State, places: boolean): Turn[] {
  return [...wholeClass(state, places), ...piecesOf(state).map((block) => pieceTurn(state, block, true))];
}

function pieceTurn({ session, scoring }: State, block: BlockIndex, extras: boolean): Turn {
  const piece = session.blocks[block];
  const title = piece === undefined ? "" : titleOf(piece);
  const [tally, rest] = tallyWidth(formatOf(piece), scoring[block] ?? null, extras);
  return { board: { board: "piece", block }, title, pace: false, tally, rest };
}

/** The last window that has a tally by itself, where the piece is done several times. */
function windowTurns(state: State, block: BlockIndex, index: number): Turn[] {
  const piece = state.session.blocks[block];
  const windows = state.segments.flatMap((segment, at) =>
    segment.block === block && segment.kind === "work" ? [at] : [],
  );
  const last = windows.filter((at) => at <= index).at(-1);
  const segment = last === undefined ? undefined : state.segments[last];
  const told = state.rows.some((row) =>
    scoreOf(row, block)?.windows?.some((window) => window.segment === last),
  );
  const repeated = piece?.kind.kind === "piece" && piece.kind.repeats > 1;
  if (!repeated || last === undefined || segment === undefined || !told) return [];
  const own = pieceTurn(state, block, true);
  const title = `${own.title}, ${windowTitle(segment, piece).toLowerCase()}`;
  return [{ ...own, board: { board: "window", block, segment: last }, title }];
}

/** Of a single piece it is that piece's board; and without places only reps in all are left of it. */
function wholeClass({ session, rows }: State, places: boolean): Turn[] {
  const scored = piecesOf({ session }).filter((block) =>
    rows.some((row) => scoreOf(row, block)?.place != null),
  );
  if (scored.length < 2 || (!places && session.whole_class === "places")) return [];
  const board = { board: "whole-class" } as const;
  const tally = session.whole_class === "reps" ? TOTAL_WIDTH : 0;
  return [{ board, title: "Whole class", pace: false, tally, rest: 0 }];
}

const piecesOf = ({ session }: Pick<State, "session">): BlockIndex[] =>
  session.blocks.flatMap((block, index) => (hasBoard(block) ? [index] : []));

/** Reps of an unfinished round are entered after a bell: until the first of the piece there are none. */
const mayHaveExtras = ({ segment }: Standing): boolean =>
  segment.window !== null && (segment.kind === "rest" || segment.window.number > 1);
