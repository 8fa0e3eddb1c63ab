/**
 * Where the rows of the board stand: groups to columns and pages. Pure. Lengths are root em, hundredths of the
 * picture's height, unless they are said to be in em of the rows' type.
 *
 * All rows are of one size, which is read from 10 m; so only few stand at a time. While people work these are the
 * first few and whoever scored last; else everybody, page by page.
 */
import type { Group, Line } from "./board";

/** What the rows have to themselves, under the groups' headings. */
export interface Room {
  width: number;
  height: number;
}

/**
 * Size of every character of a row. From 10 m, 20 arc minutes are 58.2 mm, of the 685 mm of a 55-inch screen's height
 * 8.5 %; B612's capitals and figures are 0.75 em high.
 */
export const TYPE = 11.4;
/** From row to row, in em: what hangs below a line just clears the capitals of the next; more than the second falls apart. */
const PITCH_MIN = 1.03;
const PITCH_MAX = 1.2;
/** Between two columns. */
export const GAP = 3;
/** Nothing is read in three columns of this size. */
const COLUMNS_MAX = 2;

/** Gaps and margins of a row, in em: before the name, before the tally, and at both ends. */
const AROUND = 1.1;
/** A digit of a place, in em. */
export const DIGIT = 0.65;
/** Between tally and pace. */
const PACE_GAP = 0.8;
/** The house of who is at home, with its gap. */
const HOME = 1;
/** A longer name may be cut where rows would else be fewer: most first names are not (own choice). */
const NAME_CUT = 3.6;
/** A longer name is cut in any case. */
export const NAME_MAX = 8.2;

/** What a row has to hold, in em. */
export interface Needs {
  /** Digits of the greatest place that is shown. */
  place: number;
  name: number;
  /** What is left of the widest name where it is cut; those of teams are not, they are made to be short. */
  nameLeast: number;
  tally: number;
}

export function needsOf(shown: readonly Group[], tally: number, nameWidth: (name: string) => number): Needs {
  const name = Math.max(
    0,
    ...shown.flatMap(({ lines }) => lines.map((line) => nameWidth(line.name) + (line.atHome ? HOME : 0))),
  );
  const place = Math.max(
    0,
    ...shown.map(({ placed, of }) => (placed > 0 ? `${Math.ceil(of / 2)}`.length : 0)),
  );
  const teams = shown.some(({ lines }) => lines.some(({ team }) => team));
  return {
    place,
    name: Math.min(name, NAME_MAX),
    nameLeast: Math.min(name, teams ? NAME_MAX : NAME_CUT),
    tally,
  };
}

/** What a row needs in width, in em; `name` is what it needs for the name. */
export const rowWidth = ({ place, tally }: Needs, name: number): number =>
  AROUND + place * DIGIT + name + tally;

/** What the name of a line has in width, in em. */
export const nameRoom = ({ width }: Grid, needs: Needs, { atHome }: Line, beside: number): number =>
  width / TYPE - AROUND - needs.place * DIGIT - needs.tally - (atHome ? HOME : 0) - beside;

/** What the pace beside the tally takes in width, in em. */
export const paceWidth = ({ tally }: Needs): number => tally + PACE_GAP;

/** Whether a second tally fits in the row beside the first, with its gap. */
export const paceFits = ({ columns, width }: Grid, needs: Needs): boolean =>
  columns === 1 && (rowWidth(needs, needs.name) + paceWidth(needs)) * TYPE <= width;

/** Whether all people of the one group that there is fit, with whole names, in a column of this room. */
export function isFew(shown: readonly Group[], room: Room, needs: Needs): boolean {
  const [group, other] = shown;
  const { columns, rows } = gridOf(room, needs);
  return (
    group !== undefined &&
    other === undefined &&
    columns === 1 &&
    group.lines.length <= rows &&
    rowWidth(needs, needs.name) * TYPE <= room.width
  );
}

/** How the room is divided. */
export interface Grid {
  columns: number;
  rows: number;
  /** Of a column. */
  width: number;
  pitch: number;
}

export function gridOf(room: Room, needs: Needs): Grid {
  const half = (room.width - GAP) / COLUMNS_MAX;
  const columns = rowWidth(needs, needs.nameLeast) * TYPE <= half ? COLUMNS_MAX : 1;
  const rows = Math.max(1, Math.floor(room.height / (TYPE * PITCH_MIN) + 1e-9));
  const width = columns === 1 ? room.width : half;
  return { columns, rows, width, pitch: Math.min(room.height / rows, TYPE * PITCH_MAX) };
}

/** Part of a group that stands on a page, in columns of its own. */
export interface Panel {
  group: Group;
  column: number;
  columns: number;
  /** The lines that stand, from the top left; then down the next column. */
  lines: readonly Line[];
  /** Index of the first of them in the group, where they are neighbours there; null of leaders and latest. */
  from: number | null;
}

export type Page = Panel[];

/** Who has which slots of a group that has more people than slots, while people work. */
export type Choose = (group: Group, slots: number) => readonly Line[];

/**
 * The pages by turns. Groups stand side by side where there are columns for them; else they take turns, and
 * which is first changes with each time round.
 */
export function pagesOf(shown: readonly Group[], grid: Grid, round: number, choose: Choose | null): Page[] {
  const beside = shown.length <= grid.columns;
  const columns = beside ? Math.floor(grid.columns / Math.max(1, shown.length)) : grid.columns;
  const panels = shown.map((group, index) =>
    panelsOf(group, { column: beside ? index * columns : 0, columns }, columns * grid.rows, choose),
  );
  const longest = Math.max(0, ...panels.map(({ length }) => length));
  const turns = Array.from({ length: longest }, (_, turn) => turn);
  if (beside) return turns.map((turn) => panels.flatMap((own) => own[turn % Math.max(1, own.length)] ?? []));
  const order = round % 2 === 0 ? panels : panels.toReversed();
  return turns.flatMap((turn) => order.flatMap((own) => (own[turn] === undefined ? [] : [[own[turn]]])));
}

/** A group in pages of like size; while people work, those of it that are chosen. */
function panelsOf(
  group: Group,
  place: Pick<Panel, "column" | "columns">,
  slots: number,
  choose: Choose | null,
): Panel[] {
  const { lines } = group;
  if (choose !== null && lines.length > slots)
    return [{ ...place, group, lines: choose(group, slots), from: null }];
  const pages = Math.ceil(lines.length / slots);
  const size = Math.ceil(lines.length / Math.max(1, pages));
  return Array.from({ length: pages }, (_, page) => {
    const from = page * size;
    return { ...place, group, lines: lines.slice(from, from + size), from };
  });
}
