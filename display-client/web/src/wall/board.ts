/**
 * Who stands where on the wall's board. Pure: from the rows that the server ranked to groups, and from groups to
 * slots in columns. The server alone ranks; here only is decided who is shown where there is no room for all.
 *
 * As written and scaled stand side by side as equals (rule 4.3). What does not fit is shown in pages by turns; while
 * people work, the first few and whoever scored last.
 */
import { scoreOf } from "../shared/state";
import type { AthleteId, Format, Row } from "../shared/wire";
import { tallyWords } from "../shared/words";

export interface Line {
  athlete: AthleteId;
  name: string;
  atHome: boolean;
  place: number | null;
  main: string;
  rest: string;
  /** House time of the last round; 0 before the first. */
  scoredAt: number;
}

export interface Group {
  title: "As written" | "Scaled";
  lines: Line[];
}

/** What is ranked: one piece, or the whole class. */
export type Ranked = { block: number; format: Format | undefined } | "whole-class";

/**
 * Names as short as they can be told apart: `Mirela H.`; whole where two would read alike. A column is narrow, and
 * the whole name stands on the athlete's own phone.
 */
export function shortNames(rows: readonly Row[]): Map<AthleteId, string> {
  const shorts = rows.map(({ name }) => shortName(name));
  return new Map(
    rows.map(({ athlete, name }, index) => {
      const short = shorts[index] ?? name;
      return [athlete, shorts.indexOf(short) === shorts.lastIndexOf(short) ? short : name];
    }),
  );
}

function shortName(name: string): string {
  const words = name.split(/\s+/).filter((word) => word !== "");
  const [first, last] = [words[0], words.at(-1)];
  if (first === undefined || last === undefined || words.length === 1) return name;
  return `${first} ${[...last][0]}.`;
}

/** The groups that have people, each in the order of its places; who has no place yet comes last. */
export function groups(rows: readonly Row[], ranked: Ranked): Group[] {
  const names = shortNames(rows);
  const group = (title: Group["title"], scaled: boolean): Group => ({
    title,
    lines: rows
      .filter((row) => row.scaled === scaled)
      .map((row) => line(row, names.get(row.athlete) ?? row.name, ranked))
      .sort((a, b) => (a.place ?? Number.MAX_VALUE) - (b.place ?? Number.MAX_VALUE)),
  });
  return [group("As written", false), group("Scaled", true)].filter(({ lines }) => lines.length > 0);
}

function line(row: Row, name: string, ranked: Ranked): Line {
  const { athlete, at_home: atHome } = row;
  if (ranked === "whole-class") {
    const places = row.scores.map(({ place }) => place ?? "–").join(" · ");
    return { athlete, name, atHome, place: row.overall, main: places, rest: "", scoredAt: 0 };
  }
  const score = scoreOf(row, ranked.block);
  const [main, rest] = tallyWords(score?.tally ?? null, ranked.format);
  return { athlete, name, atHome, place: score?.place ?? null, main, rest, scoredAt: score?.last_at ?? 0 };
}

/** Ways to divide the board, largest type first; the last is the smallest type that is read from afar. */
const DIVISIONS: readonly { columns: number; rows: number; tallRows: number }[] = [
  { columns: 2, rows: 5, tallRows: 10 },
  { columns: 3, rows: 7, tallRows: 14 },
  { columns: 4, rows: 9, tallRows: 20 },
];
/** Who is always shown while people work and there is no room for all. */
const LEADERS = 8;

export interface Slot {
  column: number;
  row: number;
}

export interface Layout {
  /** How many columns share the width. */
  columns: number;
  /** Which size of type: an index, 0 the largest. */
  size: number;
  slots: Map<AthleteId, Slot>;
  /** What stands over each group, across its columns. */
  headings: { title: string; column: number; columns: number; shown: number; of: number }[];
  /** How many pages there are by turns; 1 where all fit, or while people work. */
  pages: number;
}

export interface LayOptions {
  /** Counts up with time; picks the page. */
  turn: number;
  /** Whether people work now. */
  working: boolean;
  /** Whether the board has twice the height, as when the class is done. */
  tall: boolean;
}

export function lay(shown: readonly Group[], { turn, working, tall }: LayOptions): Layout {
  const { size, rows, columnsOf } = divide(shown, tall);
  const layout: Layout = { columns: 0, size, slots: new Map(), headings: [], pages: 1 };
  shown.forEach(({ title, lines }, index) => {
    const columns = columnsOf[index] ?? 1;
    const room = columns * rows;
    const pages = working ? 1 : Math.ceil(lines.length / room);
    const part = working ? pick(lines, room) : page(lines, turn % pages, pages);
    const perColumn = Math.ceil(part.length / columns);
    part.forEach(({ athlete }, at) => {
      const column = layout.columns + Math.floor(at / perColumn);
      layout.slots.set(athlete, { column, row: at % perColumn });
    });
    layout.headings.push({ title, column: layout.columns, columns, shown: part.length, of: lines.length });
    layout.columns += columns;
    layout.pages = Math.max(layout.pages, pages);
  });
  return layout;
}

/** The largest type at which everybody fits, and how many columns each group takes; else the smallest, shared out. */
function divide(shown: readonly Group[], tall: boolean): { size: number; rows: number; columnsOf: number[] } {
  const divisions = DIVISIONS.map(({ columns, rows, tallRows }) => ({
    columns,
    rows: tall ? tallRows : rows,
  }));
  for (const [size, { columns, rows }] of divisions.entries()) {
    const columnsOf = shown.map(({ lines }) => Math.ceil(lines.length / rows));
    if (columnsOf.reduce((sum, each) => sum + each, 0) <= columns) return { size, rows, columnsOf };
  }
  const size = divisions.length - 1;
  const { columns, rows } = divisions[size] ?? { columns: 1, rows: 1 };
  const columnsOf = shown.map(() => 1);
  const crowd = (index: number) => (shown[index]?.lines.length ?? 0) / (columnsOf[index] ?? 1);
  for (let spare = columns - shown.length; spare > 0; spare -= 1) {
    const fullest = columnsOf.reduce((best, _, index) => (crowd(index) > crowd(best) ? index : best), 0);
    columnsOf[fullest] = (columnsOf[fullest] ?? 0) + 1;
  }
  return { size, rows, columnsOf };
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
