/**
 * What the phone shows at one instant: from the class, the athlete's own view, the taps on the device and the clock.
 * Pure. The digits are not in it: they change by the frame, this only when something of it does.
 */
import { kindShown, SECOND, type Showing, type Standing } from "../shared/clock";
import { scoreOf } from "../shared/state";
import type {
  AthleteId,
  Block,
  BlockIndex,
  OwnView,
  SegmentIndex,
  SegmentKind,
  State,
  Window,
} from "../shared/wire";
import { formatOf, segmentWords, titleOf } from "../shared/words";
import { type Count, count, type OwnTaps } from "./count";
import { AS_WRITTEN, asIDo, byRounds, type Doing } from "./plan";

/** A tap made so long after the bell still counts, and is marked for the coach (rule 3.3; common practice). */
export const AFTER_BELL = 2 * SECOND;

/** What the phone knows. */
export interface Known extends OwnTaps {
  state: State;
  own: OwnView | null;
  athlete: AthleteId;
  connected: boolean;
  /** The window of work that this phone last showed, and until when (house time). */
  lastWork: { segment: SegmentIndex; until: number } | null;
}

export type View =
  | { screen: "brief" }
  | { screen: "floor"; head: Head; list: List | null; foot: Foot; offer: SegmentIndex | null }
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
  | {
      foot: "count";
      segment: SegmentIndex;
      count: Count;
      standing: Standings;
      refused: string | null;
      note: string | null;
    }
  /** `asked` straight after its bell, while the athlete still knows. */
  | { foot: "entry"; entry: Entry; asked: boolean }
  | { foot: "note"; note: string }
  | { foot: "none" };

/** Where the athlete stands in a piece. */
export interface Standings {
  place: number | null;
  /** People of the same group who have a place. */
  of: number;
  scaled: boolean;
  /** Rounds that the window ends at if the pace holds; null where it is not known. */
  pace: number | null;
  marked: boolean;
}

/** A window of work whose result the athlete may enter. */
export interface Entry {
  segment: SegmentIndex;
  block: BlockIndex;
  window: string | null;
  count: Count;
  entered: boolean;
  marked: boolean;
}

/** What to show at house time `at`. */
export function view(known: Known, now: Showing, at: number): View {
  const { state } = known;
  if (state.closed || now.phase === "done") return { screen: "results" };
  if (now.phase === "gathering") return { screen: "brief" };
  const grace = graceAt(known, now, at);
  return {
    screen: "floor",
    head: headOf(state, now),
    list: listOf(known, now),
    foot: grace === null ? footOf(known, now) : graceFoot(known, grace),
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
  window === null ? null : `${window.number} of ${window.of}`;

/** The movements of the block that runs; in a rest, a lead-in or a block without any, of the one that comes. */
function listOf(known: Known, now: Standing): List | null {
  const { state, own } = known;
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
    title: comes ? `Next: ${nameOf(block, segment.window)}` : titleOf(block),
    block: segment.block,
    doing: asIDo(state, segment.block, own?.choice ?? AS_WRITTEN),
    current: coming === undefined ? now.segment.movement : null,
    timers: selfPaced,
  };
}

function nameOf(block: Block, window: Window | null): string {
  const words = windowWords(window);
  return words === null ? titleOf(block) : `${titleOf(block)}, window ${words}`;
}

const pace = ({ kind }: Block) => (kind.kind === "piece" || kind.kind === "rest" ? null : kind.pace);

function footOf(known: Known, now: Standing): Foot {
  const { state } = known;
  if (now.segment.kind === "work" && now.phase !== "waiting") {
    if (!byRounds(formatAt(state, now.index)))
      return { foot: "note", note: "This piece is not counted by rounds. Tell the coach your result." };
    const refused = known.connected ? refusal(now) : null;
    const note = !known.connected && refusal(now) !== null ? ON_ITS_OWN : null;
    return countFoot(known, now.index, now, refused, note);
  }
  if (kindShown(now) === "lead-in") return leadInFoot(known, now);
  const last = lastWindow(known, now.index);
  if (last === null) return { foot: "none" };
  const entry = entryOf(known, last);
  const just = state.segments[last]?.block === now.segment.block || now.segment.kind === "rest";
  return { foot: "entry", entry, asked: just && known.connected };
}

/** In a lead-in the touch area already stands where it will be, and says why it takes nothing. */
function leadInFoot(known: Known, now: Standing): Foot {
  const work = now.segment.kind === "work" ? now.index : now.next;
  if (work === null || !byRounds(formatAt(known.state, work))) return { foot: "none" };
  const reason = now.phase === "held" ? HELD : "Work has not begun. Rounds count from the bell.";
  return countFoot(known, work, now, known.connected ? reason : null, known.connected ? null : ON_ITS_OWN);
}

const HELD = "The coach holds the clock. Your rounds are safe.";
const ON_ITS_OWN = "This phone is on its own. If work is under way, touch: it counts by when you did.";

function refusal(now: Standing): string | null {
  if (now.phase === "held") return HELD;
  if (now.resumeIn > 0) return "Work goes on at zero. Your rounds are safe.";
  return null;
}

function countFoot(
  known: Known,
  segment: SegmentIndex,
  now: Standing | null,
  refused: string | null,
  note: string | null,
): Foot {
  const block = known.state.segments[segment]?.block ?? 0;
  return {
    foot: "count",
    segment,
    count: countOf(known, segment, now),
    standing: standings(known, segment, block),
    refused,
    note,
  };
}

function countOf(known: Known, segment: SegmentIndex, now: Standing | null): Count {
  const { phase } = known.state.clock;
  const unbroken = phase.phase === "running" && phase.segment === segment && phase.at_anchor === 0;
  const start = now?.index === segment && unbroken ? phase.anchor : null;
  return count(segment, windowOf(known, segment), known, start);
}

const windowOf = ({ own }: Known, segment: SegmentIndex) =>
  own?.windows.find((window) => window.segment === segment);

export function standings(
  { state, own, athlete }: Known,
  segment: SegmentIndex | null,
  block: BlockIndex,
): Standings {
  const row = state.rows.find((row) => row.athlete === athlete);
  const score = row === undefined ? undefined : scoreOf(row, block);
  const pace = own?.windows.find((window) => window.segment === segment)?.pace ?? null;
  return {
    place: score?.place ?? null,
    of: state.rows.filter((each) => each.scaled === row?.scaled && scoreOf(each, block)?.place != null)
      .length,
    scaled: row?.scaled ?? false,
    pace: pace?.kind === "rounds" ? pace.rounds : null,
    marked: score?.marked ?? false,
  };
}

/** The window whose bell went so little ago that a tap still counts for it. */
function graceAt({ lastWork, state }: Known, now: Standing, at: number): SegmentIndex | null {
  if (lastWork === null || at - lastWork.until >= AFTER_BELL || !byRounds(formatAt(state, lastWork.segment)))
    return null;
  const over = now.index > lastWork.segment || (now.index === lastWork.segment && now.phase === "waiting");
  return over ? lastWork.segment : null;
}

const formatAt = ({ session, segments }: State, segment: SegmentIndex) =>
  formatOf(session.blocks[segments[segment]?.block ?? -1]);

const graceFoot = (known: Known, segment: SegmentIndex): Foot =>
  countFoot(known, segment, null, null, "The bell. A round finished on it still counts.");

/** A phone that is on its own cannot know that work is over: it never refuses finally (rule 3.1). */
function offerOf(known: Known, now: Standing, grace: SegmentIndex | null): SegmentIndex | null {
  if (known.connected || grace !== null) return null;
  if (now.segment.kind === "work" && now.phase !== "waiting") return null;
  return lastWindow(known, now.index);
}

/** The last window of work counted by rounds at or before a segment. */
function lastWindow({ state }: Known, before: number): SegmentIndex | null {
  const found = state.segments.findLastIndex(
    (segment, index) =>
      index <= before && !segment.dropped && segment.kind === "work" && byRounds(formatAt(state, index)),
  );
  return found < 0 ? null : found;
}

export function entryOf(known: Known, segment: SegmentIndex): Entry {
  const { state } = known;
  const block = state.segments[segment]?.block ?? 0;
  return {
    segment,
    block,
    window: windowWords(state.segments[segment]?.window ?? null),
    count: countOf(known, segment, null),
    entered: windowOf(known, segment)?.entered ?? false,
    marked: standings(known, segment, block).marked,
  };
}
