/**
 * Who stands on the wall's board, in groups. Pure: from the rows that the server ranked to lines of text. The server
 * alone ranks. As written and scaled stand side by side as equals (rule 4.3).
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
