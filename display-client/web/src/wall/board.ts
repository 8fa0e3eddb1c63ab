/**
 * Who stands on the wall's board, in groups. Pure: from the rows that the server ranked to lines of text. The server
 * alone ranks. As written and scaled are equals (rule 4.3): each is ranked by itself, and neither comes first.
 *
 * Places are shown for the upper half of a group. The others are listed by name, with what they counted but without
 * a place: a wall is for everybody, and nobody is told from it before the whole hall that they came last, or how far
 * down they are. Their own phone tells them. A house may ask that no places are shown at all: then everybody is
 * listed by name.
 */
import { scoreOf } from "../shared/state";
import type { BlockIndex, Row, Score, SegmentIndex, State, WindowScore } from "../shared/wire";
import { type Names, teamName } from "./board-names";
import { tallyOnBoard } from "./board-words";

export interface Line {
  /** The athlete, or the team. */
  key: string;
  name: string;
  team: boolean;
  atHome: boolean;
  /** None before the first tally, and where it is not shown. */
  place: number | null;
  /** What was counted, in two parts: `12` and `+ 5`. */
  tally: readonly [main: string, rest: string];
  /** What the window ends at if the pace holds; empty where that is not known. */
  pace: readonly [main: string, rest: string];
  /** House time of the last count; 0 before the first. */
  scoredAt: number;
}

export interface Group {
  title: "As written" | "Scaled";
  /** Those whose place is shown, in its order; then the others by name. */
  lines: Line[];
  /** How many of them have their place shown. */
  placed: number;
  /** How many there are in the group: more than are listed, where only places would be told of them. */
  of: number;
}

/** What is ranked: a piece with all its windows, one window of it, or the whole class. */
export type Board =
  | { board: "piece"; block: BlockIndex }
  | { board: "window"; block: BlockIndex; segment: SegmentIndex }
  | { board: "whole-class" };

/** What the lines are made from besides the state. */
export interface Making {
  names: Names;
  /** Whether the house shows places. */
  places: boolean;
  /** Whether a name fits in a row, to shorten those of teams by. */
  fits: (name: string) => boolean;
}

export type Counted = Pick<State, "session" | "scoring" | "rows">;

/** The groups that have people. */
export function groups(state: Counted, board: Board, making: Making): Group[] {
  making.names.take(state.rows);
  const lines =
    board.board === "whole-class" ? athletes(state, board, making) : sharers(state, board, making);
  const group = (title: Group["title"], scaled: boolean): Group =>
    arranged(
      title,
      lines.filter((line) => line.scaled === scaled),
      board,
      state,
      making.places,
    );
  return [group("As written", false), group("Scaled", true)].filter(({ of }) => of > 0);
}

/** With where they stand among all by name. */
type Ranked = Line & { scaled: boolean; order: number };

function arranged(
  title: Group["title"],
  lines: Ranked[],
  board: Board,
  { session }: Counted,
  places: boolean,
): Group {
  const upper = places ? Math.ceil(lines.length / 2) : 0;
  const placed = lines
    .filter(({ place }) => place !== null && place <= upper)
    .sort((a, b) => (a.place ?? 0) - (b.place ?? 0));
  const told = new Set(placed);
  // Where the whole class is ranked by places, there is nothing else to tell.
  const onlyPlaces = board.board === "whole-class" && session.whole_class === "places";
  const others = onlyPlaces ? [] : lines.filter((line) => !told.has(line));
  for (const line of others) line.place = null;
  return {
    title,
    lines: [...placed, ...others.sort((a, b) => a.order - b.order)],
    placed: placed.length,
    of: lines.length,
  };
}

/** One line for each who has a tally of their own in this piece: a team shares one. */
function sharers(state: Counted, board: Exclude<Board, { board: "whole-class" }>, making: Making): Ranked[] {
  const kind = state.session.blocks[board.block]?.kind;
  const shared = kind?.kind === "piece" && kind.sharing.sharing !== "alone";
  const teams = new Map<number, Row[]>();
  for (const row of shared ? state.rows : []) {
    if (row.team !== null) teams.set(row.team, [...(teams.get(row.team) ?? []), row]);
  }
  const alone = shared ? state.rows.filter(({ team }) => team === null) : state.rows;
  return [
    ...[...teams].flatMap(([team, members]) => teamLine(team, members, board, state, making) ?? []),
    ...athletes({ ...state, rows: alone }, board, making),
  ];
}

/** All members have the same scores. */
function teamLine(
  team: number,
  members: readonly Row[],
  board: Board,
  state: Counted,
  { names, fits }: Making,
): Ranked | undefined {
  const [first] = members;
  if (first === undefined) return undefined;
  return {
    ...line(first, board, state, names),
    key: `team ${team}`,
    name: teamName(
      team,
      members.map(({ athlete }) => names.of(athlete)),
      fits,
    ),
    team: true,
    scaled: members.some(({ scaled }) => scaled),
    atHome: members.some(({ at_home }) => at_home),
  };
}

const athletes = (state: Counted, board: Board, { names }: Making): Ranked[] =>
  state.rows.map((row) => line(row, board, state, names));

/** Made whole in one literal: this runs for everybody at each tap, and an object put together from parts takes much longer. */
function line(row: Row, board: Board, state: Counted, names: Names): Ranked {
  const { athlete, at_home: atHome, scaled } = row;
  const whole = board.board === "whole-class";
  const score = whole ? undefined : scoreOf(row, board.block);
  const scoring = whole ? null : (state.scoring[board.block] ?? null);
  const counted = board.board === "window" ? windowOf(score, board.segment) : score;
  return {
    key: athlete,
    name: names.of(athlete),
    team: false,
    atHome,
    scaled,
    order: names.order(athlete),
    place: (whole ? row.overall : counted?.place) ?? null,
    tally: whole ? totalOf(row) : tallyOnBoard(counted?.tally ?? null, scoring),
    pace: score?.pace == null ? NONE : tallyOnBoard(score.pace, scoring),
    scoredAt: score?.last_at ?? 0,
  };
}

const NONE = ["", ""] as const;

/** Reps in all, where they rank the whole class; of places there is nothing to add. */
const totalOf = ({ total_reps: reps }: Row): readonly [string, string] =>
  reps === null ? NONE : [`${reps}`, "reps"];

const windowOf = (score: Score | undefined, segment: SegmentIndex): WindowScore | undefined =>
  score?.windows?.find((window) => window.segment === segment);
