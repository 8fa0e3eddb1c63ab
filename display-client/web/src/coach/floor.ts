/** Who is on the floor and how it stands with them, as lines for the coach. Pure. */
import { SECOND, type Showing } from "../shared/clock";
import { scoreOf } from "../shared/state";
import type {
  BlockIndex,
  HouseTime,
  Person,
  Row,
  Scoring,
  Segment,
  SegmentIndex,
  Session,
} from "../shared/wire";
import { choiceWords, tallyText } from "./words";

/** A connected phone is heard at least every 10 s; past this it has missed two. */
const SILENT_FROM = 25 * SECOND;

/** Behind every place that there can be. */
const UNPLACED = 1_000_000;

export type Order = "name" | "place";

export interface Line {
  person: Person;
  place: number | null;
  tally: string;
  /** How they do the class, in words. */
  choice: string;
  /** Something in their count is marked for the coach. */
  marked: boolean;
  /** For how long their phone has said nothing, microseconds; null where it is heard, or there is none. */
  silent: number | null;
}

/**
 * The window of work that the floor is about: the one that runs or that a lead-in leads to, else the last one before,
 * else the first to come.
 */
export function windowInView(showing: Showing, segments: readonly Segment[]): SegmentIndex | null {
  const work = segments.flatMap(({ kind, dropped }, index) => (kind === "work" && !dropped ? [index] : []));
  if (showing.phase === "done") return work.at(-1) ?? null;
  if (showing.phase === "gathering") return work[0] ?? null;
  const { index, segment } = showing;
  const before = work.findLast((window) => window <= index) ?? null;
  const comes = work.find((window) => window >= index) ?? null;
  return segment.kind === "lead-in" ? (comes ?? before) : (before ?? comes);
}

/** One line for each person: those here first, in the order asked for; then those expected, by name. */
export function lines(
  people: readonly Person[],
  rows: readonly Row[],
  block: BlockIndex | null,
  scoring: Scoring | null,
  session: Session,
  at: HouseTime,
  order: Order,
): Line[] {
  const made = people.map((person): Line => {
    const row = rows.find(({ athlete }) => athlete === person.athlete);
    const score = row === undefined || block === null ? undefined : scoreOf(row, block);
    const quiet = person.heard === null ? 0 : at - person.heard;
    return {
      person,
      place: score?.place ?? null,
      tally: tallyText(score?.tally ?? null, scoring),
      choice: choiceWords(person.choice, session),
      marked: row?.scores.some(({ marked }) => marked) ?? false,
      silent: quiet >= SILENT_FROM ? quiet : null,
    };
  });
  return made.sort(
    (a, b) =>
      Number(b.person.here) - Number(a.person.here) ||
      (order === "place" ? (a.place ?? UNPLACED) - (b.place ?? UNPLACED) : 0) ||
      a.person.name.localeCompare(b.person.name),
  );
}
