/** The projected end against the slot, and what could give (rule 1.10). Pure; times are microseconds. */
import { following, minutes, SECOND, type Showing, secondsLeft } from "../shared/clock";
import type { Segment, SegmentIndex, Session, Trim } from "../shared/wire";
import { segmentName, spanWords } from "./words";

/** Planned length of everything after a segment; of everything, after -1. */
function plannedAfter(index: SegmentIndex, segments: readonly Segment[]): number {
  return segments.reduce(
    (sum, { dropped, planned }, at) => (at > index && !dropped ? sum + planned : sum),
    0,
  );
}

/**
 * House time at which the class will be over if nothing is called but the nexts that are due, and every open segment
 * takes as long as planned.
 */
export function projectedEnd(showing: Showing, segments: readonly Segment[], at: number): number {
  if (showing.phase === "done") return at;
  if (showing.phase === "gathering") return at + plannedAfter(-1, segments);
  const after = plannedAfter(showing.index, segments);
  if (showing.phase === "waiting") return at + after;
  const left = (showing.length ?? showing.segment.planned) - showing.classTime;
  return at + showing.resumeIn + Math.max(0, left) + after;
}

/** How the projected end lies to the slot: time to spare, negative where it is over; null without a slot. */
export function spare(end: number, started: number | null, at: number, { slot }: Session): number | null {
  return slot === null ? null : (started ?? at) + slot - end;
}

/** `3 min to spare`, `4 min over`, `20 s over`. Over by any amount is said. */
export function spareWords(micros: number): string {
  const seconds = Math.round(Math.abs(micros) / SECOND);
  if (seconds === 0) return "just fits";
  const amount = seconds < 60 ? `${seconds} s` : `${Math.round(seconds / 60)} min`;
  return micros < 0 ? `${amount} over` : `${amount} to spare`;
}

/** Something that could be trimmed with one touch. */
export interface Saving {
  segment: SegmentIndex;
  trim: Trim;
  /** Time that it wins, microseconds. */
  saves: number;
  /** What is trimmed. */
  words: string;
}

/** A rest shorter than this is left as it is: people need it. (common practice) */
const REST_MIN = 60 * SECOND;
/** A rest gives so much at a touch. */
const REST_GIVES = 30 * SECOND;

/**
 * What could give, what wins most first: the last round of a block of several, a talk or set-up, half a minute of a
 * rest. Nothing that has begun; never the warm-up or the cool-down.
 */
export function savings(showing: Showing, segments: readonly Segment[], session: Session): Saving[] {
  if (showing.phase === "done") return [];
  const from = showing.phase === "gathering" ? -1 : showing.index;
  const found = segments.flatMap((segment, at) => {
    if (at <= from || segment.dropped) return [];
    return savingOf(segment, at, segments, session, from) ?? [];
  });
  return found.sort((a, b) => b.saves - a.saves);
}

function savingOf(
  segment: Segment,
  at: SegmentIndex,
  segments: readonly Segment[],
  session: Session,
  from: SegmentIndex,
): Saving | null {
  const name = segmentName(segment, session);
  const block = session.blocks[segment.block];
  switch (segment.kind) {
    case "work": {
      const mates = segments.flatMap((other, index) =>
        other.block === segment.block && other.kind === "work" && !other.dropped ? [index] : [],
      );
      if (mates.length < 2 || mates.at(-1) !== at) return null;
      const before = restBefore(at, segments, from);
      return {
        segment: at,
        trim: { trim: "drop" },
        saves: segment.planned + (before?.planned ?? 0),
        words: `Leave out ${name}`,
      };
    }
    case "rest": {
      const { length } = segment;
      if (length === null || length - REST_GIVES < Math.max(REST_MIN, segment.lead_in)) return null;
      const next = segments[following(segments, at) ?? -1];
      const between = block?.kind.kind !== "rest" && next !== undefined;
      const before = between ? ` before ${segmentName(next, session)}` : "";
      return {
        segment: at,
        trim: { trim: "length", span: length - REST_GIVES },
        saves: REST_GIVES,
        words: `${name}${before}: ${clockWords(length)} to ${clockWords(length - REST_GIVES)}`,
      };
    }
    case "open": {
      if (block?.kind.kind !== "talk" && block?.kind.kind !== "set-up") return null;
      return {
        segment: at,
        trim: { trim: "drop" },
        saves: segment.planned,
        words: `Leave out ${name}`,
      };
    }
    case "lead-in":
      return null;
  }
}

/** The rest that a dropped window of work takes with it. */
function restBefore(at: SegmentIndex, segments: readonly Segment[], from: SegmentIndex): Segment | undefined {
  const before = segments.findLastIndex((segment, index) => index < at && !segment.dropped);
  const segment = segments[before];
  return before > from && segment?.kind === "rest" && segment.block === segments[at]?.block
    ? segment
    : undefined;
}

const clockWords = (span: number): string => minutes(secondsLeft(span));

/** What a saving wins: `wins 5 min 30 s`. */
export const winsWords = ({ saves }: Saving): string => `wins ${spanWords(saves)}`;

/** Whether a segment differs from what the sheet has, so that it can be restored. */
export function isTrimmed({ kind, length, dropped, block }: Segment, session: Session): boolean {
  if (dropped || kind !== "rest" || length === null) return dropped;
  const planned = session.blocks[block]?.kind;
  if (planned?.kind === "rest") return length !== planned.length;
  if (planned?.kind !== "piece") return false;
  const { format, repeat_rest: between } = planned;
  return length !== between && !(format.format === "intervals" && length === format.rest);
}
