/**
 * Who stands out in the work under way, for the coach alone (rule 5.3): first what the coach can do something about
 * now. Pure; `Calm` keeps the list from jumping.
 */
import { minutes, SECOND, type Showing } from "../shared/clock";
import type { AthleteId, CoachView, Segment, Session, Span } from "../shared/wire";
import { windowOf } from "./scoring";
import { parties, teamSize } from "./teams";

export interface Outstanding {
  athlete: AthleteId;
  name: string;
  /** What stands out, the most pressing first. None of it changes with each second. */
  words: readonly string[];
}

/** Who stands out, most pressing first: overdue, then fading, then below the aim, then above it. */
export function standsOut(
  { people, readings }: Pick<CoachView, "people" | "readings">,
  showing: Showing,
  segments: readonly Segment[],
  session: Session,
): Outstanding[] {
  const standing = showing.phase === "running" || showing.phase === "held" ? showing : null;
  const work = standing?.segment.kind === "work" ? standing : null;
  const block = work?.segment.block ?? lastWork(segments, showing)?.block;
  const aim = block === undefined ? null : (session.blocks[block]?.aim?.rounds ?? null);
  const found = parties(people, teamSize(session, block) > 1).flatMap(({ members, name }) => {
    const [first] = members;
    if (first === undefined) return [];
    const reading = readings.find(({ athlete }) => members.some((member) => member.athlete === athlete));
    const dueAt = work === null ? null : (windowOf(first, work.index)?.overdue_at ?? null);
    const overdue = dueAt !== null && work !== null && work.classTime >= dueAt;
    const words = [
      ...(overdue ? [`round overdue since ${time(dueAt)}`] : []),
      ...(reading?.fades ? ["fades"] : []),
      ...(reading?.aim == null ? [] : [aimWords(reading.aim, aim, work !== null)]),
    ];
    const weight = (overdue ? 8 : 0) + (reading?.fades ? 4 : 0) + (reading?.aim === "below" ? 2 : 0);
    return words.length === 0 ? [] : [{ athlete: first.athlete, name, words, weight }];
  });
  return found
    .sort((a, b) => b.weight - a.weight || a.name.localeCompare(b.name))
    .map(({ athlete, name, words }) => ({ athlete, name, words }));
}

const time = (span: Span): string => minutes(Math.floor(span / SECOND));

function aimWords(side: "below" | "above", aim: [number, number] | null, underWay: boolean): string {
  const range = aim === null ? "the aim" : `the aim of ${aim[0]} to ${aim[1]}`;
  if (!underWay) return `ended ${side} ${range}`;
  return `on pace for ${side === "below" ? "less" : "more"} than ${range}`;
}

function lastWork(segments: readonly Segment[], showing: Showing): Segment | undefined {
  const before = "index" in showing ? showing.index : showing.phase === "done" ? segments.length : -1;
  return segments.findLast(({ kind, dropped }, index) => kind === "work" && !dropped && index < before);
}

/** A new list is shown at most this often: it is to be read at a glance, with one's eyes mostly on the floor. */
const SHOWN_FOR = 5 * SECOND;

/** Keeps a list as it is for a while, so that lines do not jump. */
export class Calm {
  private shown: readonly Outstanding[] = [];
  private since = Number.NEGATIVE_INFINITY;
  private of: string | null = null;

  /** The list to show at house time `at`; another stretch of the class (`of`) brings its own at once. */
  look(list: () => readonly Outstanding[], of: string, at: number): readonly Outstanding[] {
    if (of !== this.of || at - this.since >= SHOWN_FOR || at < this.since) {
      this.shown = list();
      [this.since, this.of] = [at, of];
    }
    return this.shown;
  }
}
