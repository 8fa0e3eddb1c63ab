/**
 * What the tablet shows at one instant: from the class, those whom it counts for, the taps on it and the clock. Pure.
 * The digits are not in it: they change by the frame, this only when something of it does.
 */
import type { OwnTaps } from "../counting/count";
import { asIDo, repsOfRound } from "../counting/plan";
import { scoringAt, type Way } from "../counting/scoring";
import { isStanding, kindShown, SECOND, type Showing, type Standing } from "../shared/clock";
import type {
  AthleteId,
  Counted,
  Counts,
  FromDevice,
  OwnWindow,
  SegmentIndex,
  SegmentKind,
  State,
} from "../shared/wire";
import { formatOf, segmentWords } from "../shared/words";
import { type Count, count } from "./count";
import { fullBy, touchOf } from "./scoring";
import type { RepsOf } from "./sheet";
import { touchWords } from "./words";

/** A tap made so long after the bell still counts, and is marked for the coach (rule 3.3; common practice). */
export const AFTER_BELL = 2 * SECOND;
/** Who was counted for so little ago stands out. */
export const JUST = 3 * SECOND;

/** The window of work that was last under way here, and until when (house time); null while it is. */
export interface LastWork {
  segment: SegmentIndex;
  until: number | null;
  bell: number | null;
}

/** What the tablet knows. */
export interface Known extends OwnTaps {
  state: State;
  lines: readonly Counted[];
  connected: boolean;
  lastWork: LastWork | null;
  /** Requests that wait for their answer. */
  asked: readonly FromDevice[];
}

export interface View {
  head: Head;
  /** A line over the grid: what a touch does, or why it does nothing. */
  say: string;
  cards: Card[];
  /** From this house time on it is to be worked out anew. */
  until: number;
}

export interface Head {
  kind: SegmentKind | "held";
  word: string;
  /** `2 of 4`, where the block has several windows. */
  window: string | null;
}

/** What a touch on somebody does. */
export type Touch =
  | { touch: "count"; counts: Counts }
  /** A try at a load; when the work is over, the load that counts. */
  | { touch: "attempt"; over: boolean }
  | { touch: "result" }
  | { touch: "nothing"; why: string };

export interface Card {
  athlete: AthleteId;
  name: string;
  scaled: boolean;
  team: number | null;
  /** What is counted; null before there is anything. */
  counted: { segment: SegmentIndex; scoring: Way; count: Count; entered: boolean } | null;
  touch: Touch;
  /** Whether it is their turn in their team. */
  turn: boolean;
  /** Counted for a moment ago, and by this tablet. */
  just: boolean;
  /** Whether a result still waits on this tablet. */
  promised: boolean;
}

/** What all cards have in common at one instant. */
type Mode =
  | { mode: "count"; segment: SegmentIndex; note: string | null }
  | { mode: "refuse"; segment: SegmentIndex | null; why: string }
  | { mode: "result"; segment: SegmentIndex };

/** What to show at house time `at`. */
export function view(known: Known, now: Showing, at: number): View {
  const mode = modeAt(known, now, at);
  const cards = known.lines.map((line) => cardOf(known, line, mode, at));
  const expires = cards.flatMap(({ just, counted }) =>
    just && counted?.count.at != null ? [counted.count.at + JUST] : [],
  );
  const grace = known.lastWork?.until;
  if (grace != null && at < grace + AFTER_BELL) expires.push(grace + AFTER_BELL);
  return {
    head: headOf(known.state, now),
    say: sayOf(known.state, mode),
    cards,
    until: Math.min(...expires),
  };
}

function modeAt(known: Known, now: Showing, at: number): Mode {
  const { state, connected, lastWork } = known;
  if (now.phase === "gathering") return { mode: "refuse", segment: null, why: "The class has not begun." };
  const over = lastWork?.until;
  const grace =
    lastWork !== null && over != null && at >= over && at - over < AFTER_BELL ? lastWork.segment : null;
  if (isStanding(now)) {
    const works = now.segment.kind === "work" && now.phase !== "waiting";
    const next = now.segment.kind === "work" ? now.index : now.next;
    const coming = !works && kindShown(now) === "lead-in" && next !== null && scoringAt(state, next) !== null;
    const segment = works ? now.index : coming ? next : null;
    if (grace !== null && segment !== grace)
      return { mode: "count", segment: grace, note: "The bell. What was done on it still counts." };
    if (segment !== null) {
      if (scoringAt(state, segment) === null)
        return { mode: "refuse", segment: null, why: "Nothing is counted here." };
      const why = refusal(now, works);
      if (why === null) return { mode: "count", segment, note: null };
      // On its own it cannot know that the clock stands: it never refuses finally.
      return connected ? { mode: "refuse", segment, why } : { mode: "count", segment, note: ON_ITS_OWN };
    }
  }
  const last = lastWindow(state, isStanding(now) ? now.index : state.segments.length);
  if (last === null) return { mode: "refuse", segment: null, why: "Nothing is counted here." };
  return { mode: "result", segment: last };
}

const ON_ITS_OWN = "This tablet is on its own. If work is under way, touch: it counts by when you did.";

function refusal(now: Standing, works: boolean): string | null {
  if (now.phase === "held") return "The coach holds the clock. All counts are safe.";
  if (!works) return "Work has not begun. It counts from the bell.";
  return now.resumeIn > 0 ? "Work goes on at zero. All counts are safe." : null;
}

function sayOf(state: State, mode: Mode): string {
  if (mode.mode === "refuse") return mode.why;
  const scoring = scoringAt(state, mode.segment);
  if (scoring === null) return "";
  if (mode.mode === "count") return mode.note ?? touchWords(scoring);
  const asks = scoring.by === "rounds" || scoring.by === "time" || scoring.by === "amount";
  return asks ? "The work is over. Touch somebody to enter how far they came." : "The work is over.";
}

/** The last window of scored work at or before a segment. */
function lastWindow(state: State, before: number): SegmentIndex | null {
  const found = state.segments.findLastIndex(
    (segment, index) => index <= before && !segment.dropped && scoringAt(state, index) !== null,
  );
  return found < 0 ? null : found;
}

function headOf({ session, segments }: State, now: Showing): Head {
  if (!isStanding(now))
    return { kind: "open", word: now.phase === "done" ? "Over" : session.title, window: null };
  const kind = kindShown(now);
  const block = session.blocks[now.segment.block];
  const words = segmentWords({ ...now.segment, kind }, block);
  const ahead = now.next === null ? undefined : segments[now.next];
  const comes = kind === "lead-in" && now.segment.kind !== "work";
  const window = comes ? ahead?.window : kind === "rest" ? null : now.segment.window;
  return {
    kind: now.phase === "held" ? "held" : kind,
    word: now.phase === "held" ? "Held" : now.phase === "waiting" ? `${words}, over` : words,
    window: window == null ? null : `${window.number} of ${window.of}`,
  };
}

function cardOf(known: Known, line: Counted, mode: Mode, at: number): Card {
  const { state } = known;
  const row = state.rows.find(({ athlete }) => athlete === line.athlete);
  const scoring = mode.segment === null ? null : scoringAt(state, mode.segment);
  const counted =
    mode.segment === null || scoring === null ? null : countedOf(known, line, mode.segment, scoring);
  const made = counted?.count.at ?? null;
  return {
    athlete: line.athlete,
    name: line.name,
    scaled: line.choice.scaled,
    team: row?.team ?? null,
    counted,
    turn: mode.segment !== null && windowOf(line, mode.segment)?.turn === line.athlete,
    touch: touchIn(mode, counted),
    just: made !== null && at - made < JUST,
    promised: known.asked.some(
      (asked) => asked.type === "ask" && "athlete" in asked && asked.athlete === line.athlete,
    ),
  };
}

function countedOf(known: Known, line: Counted, segment: SegmentIndex, byPlan: Way): Card["counted"] {
  const told = windowOf(line, segment);
  const scoring = told?.scoring ?? byPlan;
  const format = formatOf(known.state.session.blocks[known.state.segments[segment]?.block ?? -1]);
  const scheme = format?.format === "for-time" ? format.scheme : [];
  const window = { athlete: line.athlete, segment, scoring, told, scheme };
  return { segment, scoring, count: count(window, known), entered: told?.entered ?? false };
}

export const windowOf = ({ windows }: Counted, segment: SegmentIndex): OwnWindow | undefined =>
  windows.find((window) => window.segment === segment);

/** What the movements of a round count as somebody does them, round by round. */
export function repsOfRounds(state: State, { choice }: Counted, segment: SegmentIndex, scoring: Way): RepsOf {
  const index = state.segments[segment]?.block ?? -1;
  const block = state.session.blocks[index];
  const doing = asIDo(state, index, choice);
  return scoring.by === "amount" ? () => [scoring.step] : (round) => repsOfRound(block, doing, round);
}

function touchIn(mode: Mode, counted: Card["counted"]): Touch {
  if (mode.mode === "refuse" || counted === null)
    return { touch: "nothing", why: mode.mode === "refuse" ? mode.why : "Nothing is counted here." };
  const { scoring, count } = counted;
  if (mode.mode === "result") {
    if (scoring.by === "load") return { touch: "attempt", over: true };
    const asks = scoring.by === "rounds" || scoring.by === "time" || scoring.by === "amount";
    if (asks && count.finished === null) return { touch: "result" };
    return { touch: "nothing", why: "The work is over. The coach can change this." };
  }
  if (scoring.by === "load") return { touch: "attempt", over: false };
  const full = fullBy(scoring, count);
  const counts = touchOf(scoring, count);
  if (full !== null || counts === null) return { touch: "nothing", why: full ?? "" };
  return { touch: "count", counts };
}
