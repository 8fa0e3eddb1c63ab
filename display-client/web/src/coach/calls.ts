/**
 * Which calls make sense at this moment. Pure.
 *
 * Two targets stand where the thumb is, each always in its own place, so that a bell never puts another call under a
 * finger on its way down: `still` makes the clock stand or go on (hold, resume), `onward` moves it (start, next).
 * `main` says which of the two the moment asks for. The others are at hand beside them.
 */
import { following, minutes, SECOND, type Showing, type Standing, secondsLeft } from "../shared/clock";
import type { Call, Segment, SegmentIndex, Session } from "../shared/wire";
import { blockTitle, segmentName } from "./words";

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

/** Nothing is called: before there is a class, and once it is closed. */
export const NO_CALLS: CallsNow = { still: null, onward: null, main: null, others: [], jumps: [] };

export function callsNow(
  showing: Showing,
  segments: readonly Segment[],
  session: Session,
  stopped = false,
): CallsNow {
  const name = (at: SegmentIndex | null) => nameAt(at, segments, session);
  if (stopped) {
    const detail = "takes the stop notice away";
    return { ...NO_CALLS, still: { call: { call: "resume" }, word: "Resume", detail }, main: "still" };
  }
  switch (showing.phase) {
    case "gathering": {
      const onward = {
        call: { call: "start" },
        word: "Start",
        detail: name(following(segments, -1)),
      } as const;
      return { ...NO_CALLS, onward, main: "onward" };
    }
    case "done": {
      const last = segments.findLastIndex(({ dropped }) => !dropped);
      const back = { call: { call: "back" }, word: "Back", detail: name(last) } as const;
      return { ...NO_CALLS, others: [back], jumps: jumpsFrom(null, segments) };
    }
    default:
      return inSegment(showing, segments, session);
  }
}

function inSegment(showing: Showing & Standing, segments: readonly Segment[], session: Session): CallsNow {
  const { index } = showing;
  const name = (at: SegmentIndex | null) => nameAt(at, segments, session);
  return {
    still: stillOffer(showing, name(index)),
    onward: { call: { call: "next" }, word: "Next", detail: nextWords(showing, name(showing.next)) },
    main: mainOf(showing),
    others: [
      { call: { call: "back" }, word: "Back", detail: name(backTo(showing, segments)) },
      ...moreTime(showing),
      ...lessTime(showing),
      { call: { call: "restart" }, word: "Restart", detail: blockTitle(showing.segment.block, session) },
      { call: { call: "finish" }, word: "Finish", detail: afterBlock(index, segments, session) },
    ],
    jumps: jumpsFrom(index, segments),
  };
}

const jumpsFrom = (index: SegmentIndex | null, segments: readonly Segment[]): SegmentIndex[] =>
  segments.flatMap(({ dropped }, at) => (dropped || at === index ? [] : [at]));

/** Next in a rest goes to the lead-in that the rest holds, if that has not begun. */
function nextWords({ segment, remaining }: Standing, next: string): string {
  const leadIn = segment.kind === "rest" && remaining !== null && remaining > segment.lead_in;
  return leadIn && segment.lead_in > 0 ? `${next}, after a lead-in` : next;
}

function stillOffer(showing: Showing & Standing, name: string): Offer | null {
  if (showing.phase === "waiting") return null;
  if (showing.phase === "running") return { call: { call: "hold" }, word: "Hold", detail: name };
  const leadIn = showing.segment.kind === "work" ? `${name}, after a lead-in` : name;
  return { call: { call: "resume" }, word: "Resume", detail: leadIn };
}

/** What people are at asks for nothing but a hold; what the coach leads, or what is over, asks for the next. */
function mainOf({ phase, segment, length }: Showing & Standing): "still" | "onward" {
  if (phase === "held") return "still";
  const led = segment.kind === "open" && (length === null || segment.after === "wait");
  return phase === "waiting" || length === null || led ? "onward" : "still";
}

/** Where back leads: to the start of the segment, or within its first 2 s to the one before (rule 1.6). */
function backTo({ index, classTime }: Standing, segments: readonly Segment[]): SegmentIndex {
  if (classTime >= BACK_TO_BEFORE) return index;
  const before = segments.findLastIndex((segment, at) => at < index && !segment.dropped);
  return before < 0 ? index : before;
}

function moreTime({ phase, length }: Showing & Standing): Offer[] {
  return length === null || phase === "waiting" ? [] : [addTime(30), addTime(60)];
}

/** Time is never taken away beyond what remains (rule 1.5). */
function lessTime({ phase, remaining }: Showing & Standing): Offer[] {
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

/** What comes after the block of a segment. */
function afterBlock(index: SegmentIndex, segments: readonly Segment[], session: Session): string {
  const block = segments[index]?.block;
  const next = segments.findIndex((segment, at) => at > index && !segment.dropped && segment.block !== block);
  return next < 0
    ? "block, and the class"
    : `block, on to ${blockTitle(segments[next]?.block ?? -1, session)}`;
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
