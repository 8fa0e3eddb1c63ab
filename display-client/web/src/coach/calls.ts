/**
 * Which calls make sense at this moment. Pure.
 *
 * Two targets stand where the thumb is, each always in its own place, so that a bell never puts another call under a
 * finger on its way down: `still` makes the clock stand or go on (hold, resume), `onward` moves it (start, next).
 * `main` says which of the two the moment asks for. The others are at hand beside them.
 */
import { following, minutes, SECOND, type Showing, type Standing, secondsLeft } from "../shared/clock";
import type { Call, Segment, SegmentIndex, Session } from "../shared/wire";
import { segmentName } from "./words";

/** A call with the words on its target. */
export interface Offer {
  call: Call;
  word: string;
  /** What it leads to. */
  detail: string;
}

export interface CallsNow {
  still: Offer | null;
  onward: Offer | null;
  main: "still" | "onward" | null;
  /** At hand, but not the moment's own. */
  others: Offer[];
  /** Segments that can be jumped to: all that are not dropped, but the one that stands. */
  jumps: SegmentIndex[];
}

/** Within this much of a segment, back goes to the one before (rule 1.6). */
const BACK_TO_BEFORE = 2 * SECOND;

const NONE: CallsNow = { still: null, onward: null, main: null, others: [], jumps: [] };

export function callsNow(showing: Showing, segments: readonly Segment[], session: Session): CallsNow {
  switch (showing.phase) {
    case "done":
      return NONE;
    case "gathering":
      return {
        ...NONE,
        onward: {
          call: { call: "start" },
          word: "Start",
          detail: nameAt(following(segments, -1), segments, session),
        },
        main: "onward",
      };
    default:
      return inSegment(showing, segments, session);
  }
}

function inSegment(
  showing: Extract<Showing, Standing>,
  segments: readonly Segment[],
  session: Session,
): CallsNow {
  const { index, next } = showing;
  const name = (at: SegmentIndex | null) => nameAt(at, segments, session);
  const onward: Offer = { call: { call: "next" }, word: "Next", detail: name(next) };
  return {
    still: stillOffer(showing, name(index)),
    onward,
    main: mainOf(showing),
    others: [
      { call: { call: "back" }, word: "Back", detail: name(backTo(showing, segments)) },
      ...moreTime(showing),
      ...lessTime(showing),
      { call: { call: "restart" }, word: "Restart", detail: blockName(showing.segment.block, session) },
      { call: { call: "finish" }, word: "Finish block", detail: afterBlock(index, segments, session) },
    ],
    jumps: segments.flatMap((segment, at) => (segment.dropped || at === index ? [] : [at])),
  };
}

function stillOffer(showing: Extract<Showing, Standing>, name: string): Offer | null {
  if (showing.phase === "waiting") return null;
  if (showing.phase === "running") return { call: { call: "hold" }, word: "Hold", detail: name };
  const leadIn = showing.segment.kind === "work" ? `${name}, after a lead-in` : name;
  return { call: { call: "resume" }, word: "Resume", detail: leadIn };
}

/** What goes on by itself asks for nothing but a hold; what waits for the coach asks for the next. */
function mainOf({ phase, segment, length }: Extract<Showing, Standing>): "still" | "onward" {
  if (phase === "held") return "still";
  return phase === "waiting" || length === null || segment.after === "wait" ? "onward" : "still";
}

/** Where back leads: to the start of the segment, or within its first 2 s to the one before (rule 1.6). */
function backTo({ index, classTime }: Standing, segments: readonly Segment[]): SegmentIndex {
  if (classTime >= BACK_TO_BEFORE) return index;
  const before = segments.findLastIndex((segment, at) => at < index && !segment.dropped);
  return before < 0 ? index : before;
}

function moreTime({ phase, length }: Extract<Showing, Standing>): Offer[] {
  return length === null || phase === "waiting" ? [] : [addTime(30), addTime(60)];
}

/** Time is never taken away beyond what remains (rule 1.5). */
function lessTime({ phase, remaining }: Extract<Showing, Standing>): Offer[] {
  if (remaining === null || phase === "waiting") return [];
  return [-30, -60].filter((seconds) => remaining > -seconds * SECOND).map(addTime);
}

function addTime(seconds: number): Offer {
  const amount = Math.abs(seconds) < 60 ? `${Math.abs(seconds)} s` : `${Math.abs(seconds) / 60} min`;
  return {
    call: { call: "add-time", span: seconds * SECOND },
    word: seconds < 0 ? `− ${amount}` : `+ ${amount}`,
    detail: seconds < 0 ? "take time away" : "add time",
  };
}

function nameAt(index: SegmentIndex | null, segments: readonly Segment[], session: Session): string {
  const segment = index === null ? undefined : segments[index];
  return segment === undefined ? "the end of the class" : segmentName(segment, session);
}

const blockName = (block: number, session: Session): string => session.blocks[block]?.name ?? "the block";

/** What comes after the block of a segment. */
function afterBlock(index: SegmentIndex, segments: readonly Segment[], session: Session): string {
  const block = segments[index]?.block;
  const next = segments.findIndex((segment, at) => at > index && !segment.dropped && segment.block !== block);
  return next < 0 ? "the end of the class" : `on to ${blockName(segments[next]?.block ?? -1, session)}`;
}

/** What a key or a pedal calls: on with the class, whatever that takes now, or stand still. Nothing during a stop. */
export function keyOffer(key: "onward" | "hold", calls: CallsNow, stopped: boolean): Offer | null {
  if (stopped) return null;
  const still = calls.still?.call.call;
  if (key === "hold") return still === "hold" ? calls.still : null;
  return still === "resume" ? calls.still : calls.onward;
}

/** Length of a segment as planned, for lists: `4:00`. */
export const plannedWords = ({ planned }: Segment): string => minutes(secondsLeft(planned));
