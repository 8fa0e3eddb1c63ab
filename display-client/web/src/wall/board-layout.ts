/**
 * Where the rows of the board stand, and how large: groups to slots in columns. Pure.
 *
 * Rows are as large as the room lets them be, so a small class is read from the far end of the hall. The size follows
 * from how many people there are in which group and from their names, never from their tallies: it stays while a
 * piece runs. What does not fit is shown in pages by turns; while people work, the first few and whoever scored last.
 * Lengths are root em, hundredths of the picture's height.
 */
import type { AthleteId } from "../shared/wire";
import type { Group, Line, Ranked } from "./board";

/** What the rows have to themselves, under the groups' headings. */
export interface Room {
  width: number;
  height: number;
}

export interface LayOptions {
  /** Counts up with time; picks the page. */
  turn: number;
  /** Whether people work now. */
  working: boolean;
  room: Room;
  /** What a row needs in width, in em of its own type: see `rowWidth`. */
  needs: number;
}

export interface Slot {
  column: number;
  row: number;
}

export interface Layout {
  /** How many columns share the width. */
  columns: number;
  /** Size of the rows' type. */
  type: number;
  /** From one row to the next. */
  pitch: number;
  slots: Map<AthleteId, Slot>;
  /** What stands over each group, across its columns. */
  headings: { title: string; column: number; columns: number; shown: number; of: number }[];
  /** How many pages there are by turns; 1 where all fit, or while people work. */
  pages: number;
}

/** Between two columns. */
const GAP = 3;
const COLUMNS_MAX = 4;
/** The smallest type that is read from 15 m, by the eye of who sees well (common practice), and a calm largest. */
const TYPE_MIN = 3.1;
const TYPE_MAX = 8;
/** From row to row in em of the type: names just clear each other; more than the second falls apart. */
const PITCH_MIN = 1.09;
const PITCH_MAX = 1.4;
/** Who is always shown while people work and there is no room for all. */
const LEADERS = 8;

/** Place, gaps and margins of a row, in em. */
const AROUND = 2.7;
/** The largest name that counts, in em; a longer one is cut rather than making everybody small. */
const NAME_MAX = 8;
/** The house of who is at home. */
const HOME = 1.2;

/** What a row needs in width, in em of its type. `nameWidth` tells the width of a name. */
export function rowWidth(
  shown: readonly Group[],
  tally: number,
  nameWidth: (name: string) => number,
): number {
  const names = shown
    .flatMap(({ lines }) => lines)
    .map(({ name, atHome }) => nameWidth(name) + (atHome ? HOME : 0));
  return AROUND + Math.min(NAME_MAX, Math.max(0, ...names)) + tally;
}

/** Room for the largest tally that is likely (`12`, `12 + 23`, `102.5 kg`, `12 · 10`), so that none moves the rest. */
export function tallyWidth(ranked: Ranked, pieces: number, extras: boolean): number {
  if (ranked === "whole-class") return pieces * 1.3 + (pieces - 1) * 0.9;
  if (ranked.format?.format !== "amrap") return 4.2;
  return extras ? 3.5 : 1.5;
}

/** Few enough, in one group, for a single column: the movements then have the rest of the wall. */
export const isFew = (rows: readonly { scaled: boolean }[]): boolean =>
  rows.length <= 6 && rows.every(({ scaled }) => scaled === rows[0]?.scaled);

export function lay(shown: readonly Group[], { turn, working, room, needs }: LayOptions): Layout {
  const { columnsOf, type, rows } = divide(shown, room, needs);
  const layout: Layout = { columns: 0, type, pitch: 0, slots: new Map(), headings: [], pages: 1 };
  shown.forEach(({ title, lines }, index) => {
    const columns = columnsOf[index] ?? 1;
    const fits = columns * rows;
    const pages = working ? 1 : Math.ceil(lines.length / fits);
    const part = working ? pick(lines, fits) : page(lines, turn % pages, pages);
    const perColumn = Math.ceil(part.length / columns);
    part.forEach(({ athlete }, at) => {
      const column = layout.columns + Math.floor(at / perColumn);
      layout.slots.set(athlete, { column, row: at % perColumn });
    });
    layout.headings.push({ title, column: layout.columns, columns, shown: part.length, of: lines.length });
    layout.columns += columns;
    layout.pages = Math.max(layout.pages, pages);
  });
  layout.pitch = Math.min(room.height / rows, type * PITCH_MAX);
  return layout;
}

interface Division {
  /** How many columns each group takes. */
  columnsOf: number[];
  /** Rows in a column at most. */
  rows: number;
  type: number;
}

/** The division with the largest type, of these the one with the fewest columns; where not all fit, the smallest type. */
function divide(shown: readonly Group[], room: Room, needs: number): Division {
  let best: Division = { columnsOf: [], rows: 1, type: 0 };
  for (let columns = Math.max(1, shown.length); columns <= COLUMNS_MAX; columns += 1) {
    const columnsOf = share(shown, columns);
    const rows = Math.max(
      1,
      ...shown.map(({ lines }, index) => Math.ceil(lines.length / (columnsOf[index] ?? 1))),
    );
    const width = (room.width - (columns - 1) * GAP) / columns;
    const type = Math.min(TYPE_MAX, room.height / rows / PITCH_MIN, width / needs);
    if (type > best.type) best = { columnsOf, rows, type };
  }
  if (best.type >= TYPE_MIN) return best;
  const rows = Math.floor(room.height / (TYPE_MIN * PITCH_MIN));
  return { columnsOf: share(shown, COLUMNS_MAX), rows, type: TYPE_MIN };
}

/** Shares the columns out: one for each group, and each that is left to the fullest. */
function share(shown: readonly Group[], columns: number): number[] {
  const columnsOf = shown.map(() => 1);
  const crowd = (index: number) => (shown[index]?.lines.length ?? 0) / (columnsOf[index] ?? 1);
  for (let spare = columns - shown.length; spare > 0; spare -= 1) {
    const fullest = columnsOf.reduce((best, _, index) => (crowd(index) > crowd(best) ? index : best), 0);
    columnsOf[fullest] = (columnsOf[fullest] ?? 0) + 1;
  }
  return columnsOf;
}

/** One of `pages` pages of like size. */
function page(lines: readonly Line[], index: number, pages: number): Line[] {
  const size = Math.ceil(lines.length / pages);
  return lines.slice(index * size, (index + 1) * size);
}

/** The first few and whoever scored last, in the order of their places. */
function pick(lines: readonly Line[], room: number): Line[] {
  if (lines.length <= room) return [...lines];
  const latest = lines
    .slice(LEADERS)
    .sort((a, b) => b.scoredAt - a.scoredAt)
    .slice(0, room - LEADERS);
  const kept = new Set([...lines.slice(0, LEADERS), ...latest]);
  return lines.filter((line) => kept.has(line));
}
