/**
 * What the phone shows at one instant: which screen, which movements, and what stands at its foot. Pure.
 *
 * A phone that is connected refuses taps outside of work, with the reason. One that is on its own may have missed a
 * call, so it never refuses finally: it counts, and the server places the tap by when it was made (rules 3.1 to 3.4).
 */

import { type Count, count, type OwnTaps, type Run } from "../counting/count";
import { asIDo, type Doing, inRound } from "../counting/plan";
import { scoringAt, type Way } from "../counting/scoring";
import { kindShown, runs, SECOND, type Showing, type Standing } from "../shared/clock";
import { scoreOf } from "../shared/state";
import type {
  AthleteId,
  Block,
  BlockIndex,
  OwnView,
  SegmentIndex,
  SegmentKind,
  State,
  Tally,
  Window,
} from "../shared/wire";
import { formatOf, segmentWords, titleOf } from "../shared/words";
import { type Person, people, person, windowOf } from "./who";

/** A rate says nothing before it has held for so long (common practice). */
const PACE_AFTER = 30 * SECOND;

/** A tap made so long after the bell still counts, and is marked for the coach (rule 3.3; common practice). */
export const AFTER_BELL = 2 * SECOND;

/** What the phone knows. */
export interface Known extends OwnTaps {
  state: State;
  own: OwnView | null;
  athlete: AthleteId;
  /** For whom touches count now; null: for the phone's own athlete. */
  whom: AthleteId | null;
  connected: boolean;
  /** Whether the house shows places. */
  places: boolean;
  /** The window of work that this phone last showed, and until when (house time). */
  lastWork: { segment: SegmentIndex; until: number } | null;
}

export type View =
  | { screen: "brief" }
  | {
      screen: "floor";
      head: Head;
      list: List | null;
      foot: Foot;
      /** Everybody whom this phone counts for, where that is more than one. */
      deck: Card[];
      offer: SegmentIndex | null;
    }
  | { screen: "results" };

export interface Head {
  kind: SegmentKind | "held";
  word: string;
  /** `2 of 4`, where the block has several windows. */
  window: string | null;
}

/** Movements, as the athlete does them. */
export interface List {
  title: string;
  block: BlockIndex;
  doing: Doing[];
  /** What the sheet says to everyone about the block that runs. */
  notes: readonly string[];
  /** The one that a coach-led block is at. */
  current: number | null;
  /** Whether each has a timer of the athlete's own. */
  timers: boolean;
}

export type Foot =
  | ({ foot: "count"; refused: string | null; note: string | null } & Counting)
  /** Somebody else counts. */
  | ({ foot: "lent"; by: string } & Counting)
  /** `asked` straight after its bell, while the athlete still knows. */
  | { foot: "entry"; entry: Entry; asked: boolean }
  | { foot: "none" };

/** One window as it is counted. */
export interface Counting {
  segment: SegmentIndex;
  scoring: Way;
  whose: Person;
  count: Count;
  standing: Standings;
}

/** One of those whom the phone counts for; `here`: now. */
export type Card = Counting & { here: boolean };

/** Where somebody stands in a piece. */
export interface Standings {
  place: number | null;
  /** People of the same group who have a place. */
  of: number;
  scaled: boolean;
  /** What the window ends at if the pace holds; null where it is not known. */
  pace: Tally | null;
  marked: boolean;
}

/** A window of work whose result may be entered. */
export interface Entry extends Counting {
  block: BlockIndex;
  window: string | null;
  entered: boolean;
}

/** What to show at house time `at`. */
export function view(known: Known, now: Showing, at: number): View {
  const { state } = known;
  if (state.closed || now.phase === "done") return { screen: "results" };
  if (now.phase === "gathering") return { screen: "brief" };
  const grace = graceAt(known, now, at);
  const foot = grace === null ? footOf(known, now) : graceFoot(known, grace);
  return {
    screen: "floor",
    head: headOf(state, now),
    list: listOf(known, now),
    foot,
    deck: deckOf(known, foot),
    offer: offerOf(known, now, grace),
  };
}

function headOf({ session, segments }: State, now: Standing): Head {
  const block = session.blocks[now.segment.block];
  const kind = kindShown(now);
  const shown = now.phase === "held" ? "held" : kind;
  const ahead = now.next === null ? undefined : segments[now.next];
  const comes = kind === "lead-in" && now.segment.kind !== "work";
  const window = comes ? ahead?.window : kind === "rest" ? null : now.segment.window;
  return {
    kind: shown,
    word: wordOf(now, segmentWords({ ...now.segment, kind }, block)),
    window: windowWords(window ?? null),
  };
}

function wordOf({ phase }: Standing, words: string): string {
  if (phase === "held") return "Held";
  return phase === "waiting" ? `${words}, over` : words;
}

const windowWords = (window: Window | null): string | null =>
  window === null || window.of < 2 ? null : `${window.number} of ${window.of}`;

/** The movements of the block that runs; in a rest, a lead-in or a block without any, of the one that comes. */
function listOf(known: Known, now: Standing): List | null {
  const { state } = known;
  const { segments } = state;
  const here = state.session.blocks[now.segment.block];
  const over = now.phase === "waiting" && now.segment.kind !== "open";
  const empty = here === undefined || here.movements.length === 0;
  const coming = now.segment.kind === "rest" || over || empty ? segments[now.next ?? -1] : undefined;
  const segment = coming ?? now.segment;
  const block = state.session.blocks[segment.block];
  if (block === undefined) return null;
  const selfPaced = pace(block) === "self-paced" && coming === undefined;
  const comes = coming !== undefined || segment.kind === "lead-in";
  return {
    notes: now.segment.kind === "open" ? (here?.notes ?? []) : [],
    title: comes ? `Next: ${titleWords(block, segment.window)}` : titleOf(block),
    block: segment.block,
    doing: doingNow(known, segment.block, coming === undefined ? now.index : null),
    current: coming === undefined ? now.segment.movement : null,
    timers: selfPaced,
  };
}

/** The movements of a block as who is counted for does them, in the round that is under way in a segment. */
function doingNow(known: Known, block: BlockIndex, segment: SegmentIndex | null): Doing[] {
  const whose = person(known);
  const rounds = segment === null ? 0 : (countingOf(known, segment, whose)?.count.rounds ?? 0);
  return inRound(known.state.session.blocks[block], asIDo(known.state, block, whose.choice), rounds);
}

function titleWords(block: Block, window: Window | null): string {
  const words = windowWords(window);
  return words === null ? titleOf(block) : `${titleOf(block)}, window ${words}`;
}

const pace = ({ kind }: Block) => (kind.kind === "piece" || kind.kind === "rest" ? null : kind.pace);

function footOf(known: Known, now: Standing): Foot {
  if (now.segment.kind === "work" && now.phase !== "waiting") {
    const refused = known.connected ? refusal(now) : null;
    const note = !known.connected && refusal(now) !== null ? ON_ITS_OWN : null;
    return countFoot(known, now.index, refused, note);
  }
  if (kindShown(now) === "lead-in") return leadInFoot(known, now);
  const last = lastWindow(known, now.index);
  const entry = last === null ? null : entryOf(known, last);
  if (last === null || entry === null) return { foot: "none" };
  const just = known.state.segments[last]?.block === now.segment.block || now.segment.kind === "rest";
  return { foot: "entry", entry, asked: just && known.connected };
}

/** In a lead-in the touch area already stands where it will be, and says why it takes nothing. */
function leadInFoot(known: Known, now: Standing): Foot {
  const work = now.segment.kind === "work" ? now.index : now.next;
  if (work === null) return { foot: "none" };
  const reason = now.phase === "held" ? HELD : "Work has not begun. Touches count from the bell.";
  return countFoot(known, work, known.connected ? reason : null, known.connected ? null : ON_ITS_OWN);
}

const HELD = "The coach holds the clock. Your count is safe.";
const ON_ITS_OWN = "This phone is on its own. If work is under way, touch: it counts by when you did.";

function refusal(now: Standing): string | null {
  if (now.phase === "held") return HELD;
  if (now.resumeIn > 0) return "Work goes on at zero. Your count is safe.";
  return null;
}

function countFoot(known: Known, segment: SegmentIndex, refused: string | null, note: string | null): Foot {
  const whose = person(known);
  const counting = countingOf(known, segment, whose);
  if (counting === null) return { foot: "none" };
  const counter = whose.me && !isShared(known.state, segment) ? known.own?.counter : null;
  return counter == null
    ? { foot: "count", ...counting, refused, note }
    : { foot: "lent", ...counting, by: counter.name };
}

/** What somebody has in a window of scored work, on this phone; null for another segment. */
export function countingOf(known: Known, segment: SegmentIndex, whose: Person): Counting | null {
  const { state } = known;
  const told = windowOf(whose, segment);
  const scoring = told?.scoring ?? scoringAt(state, segment);
  if (scoring === null) return null;
  const block = state.segments[segment]?.block ?? 0;
  const format = formatOf(state.session.blocks[block]);
  const scheme = format?.format === "for-time" ? format.scheme : [];
  const run = runOf(state, segment);
  const window = { segment, scoring, athlete: whose.athlete, me: known.athlete, told, scheme, run };
  return {
    segment,
    scoring,
    whose,
    count: count(window, known),
    standing: standings(known, whose, segment, block),
  };
}

/** How the class time of a segment runs on; null where it does not. */
function runOf({ clock, segments }: State, segment: SegmentIndex): Run | null {
  for (const { index, anchor, atAnchor } of runs(clock, segments)) {
    if (index === segment) return { zero: anchor - atAnchor, from: anchor };
    if (index > segment) break;
  }
  return null;
}

/** Whether a team shares the tally of a segment's piece. */
export function isShared({ session, segments }: State, segment: SegmentIndex): boolean {
  const kind = session.blocks[segments[segment]?.block ?? -1]?.kind;
  return kind?.kind === "piece" && kind.sharing.sharing === "team";
}

function deckOf(known: Known, foot: Foot): Card[] {
  const all = people(known);
  if (all.length < 2 || foot.foot === "none") return [];
  const { segment } = foot.foot === "entry" ? foot.entry : foot;
  const here = person(known).athlete;
  return all.flatMap((whose) => {
    const counting = countingOf(known, segment, whose);
    return counting === null ? [] : { ...counting, here: whose.athlete === here };
  });
}

/** @param segment the window in question; null: the whole piece */
export function standings(
  { state, places }: Pick<Known, "state" | "places">,
  whose: Person,
  segment: SegmentIndex | null,
  block: BlockIndex,
): Standings {
  const row = state.rows.find(({ athlete }) => athlete === whose.athlete);
  const kind = state.session.blocks[block]?.kind;
  const alone = kind?.kind === "piece" && kind.windows === "one-by-one" && segment !== null;
  const placeOf = (each: typeof row): number | null => {
    const score = each === undefined ? undefined : scoreOf(each, block);
    const window = alone ? score?.windows?.find((window) => window.segment === segment) : score;
    return (places && window?.place) || null;
  };
  const windows = whose.windows.filter(
    (each) => each.segment === segment || (segment === null && state.segments[each.segment]?.block === block),
  );
  return {
    place: placeOf(row),
    of: state.rows.filter((each) => each.scaled === row?.scaled && placeOf(each) !== null).length,
    scaled: row?.scaled ?? false,
    pace: segment === null || (windows[0]?.last ?? 0) < PACE_AFTER ? null : (windows[0]?.pace ?? null),
    marked: windows.some(({ marks }) => (marks ?? []).length > 0),
  };
}

/** The window whose bell went so little ago that a tap still counts for it. */
function graceAt({ lastWork, state }: Known, now: Standing, at: number): SegmentIndex | null {
  if (lastWork === null || at - lastWork.until >= AFTER_BELL) return null;
  if (scoringAt(state, lastWork.segment) === null) return null;
  const over = now.index > lastWork.segment || (now.index === lastWork.segment && now.phase === "waiting");
  return over ? lastWork.segment : null;
}

const graceFoot = (known: Known, segment: SegmentIndex): Foot =>
  countFoot(known, segment, null, "The bell. What was done on it still counts.");

/** A phone that is on its own cannot know that work is over: it never refuses finally (rule 3.1). */
function offerOf(known: Known, now: Standing, grace: SegmentIndex | null): SegmentIndex | null {
  if (known.connected || grace !== null) return null;
  if (now.segment.kind === "work" && now.phase !== "waiting") return null;
  return lastWindow(known, now.index);
}

/** The last window of scored work at or before a segment. */
function lastWindow({ state }: Known, before: number): SegmentIndex | null {
  const found = state.segments.findLastIndex(
    (segment, index) => index <= before && !segment.dropped && scoringAt(state, index) !== null,
  );
  return found < 0 ? null : found;
}

/** The result of a window for whom the phone counts now. */
export function entryOf(known: Known, segment: SegmentIndex, whose = person(known)): Entry | null {
  const { state } = known;
  const counting = countingOf(known, segment, whose);
  if (counting === null) return null;
  return {
    ...counting,
    block: state.segments[segment]?.block ?? 0,
    window: windowWords(state.segments[segment]?.window ?? null),
    entered: windowOf(whose, segment)?.entered ?? false,
  };
}
