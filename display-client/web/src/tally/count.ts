/**
 * What somebody has in one window of work: what the house last told, and this tablet's own taps and undos that it has
 * not told about yet. Pure.
 *
 * The house's count and its `kept` come as two messages in either order. A tap is in the house's count when that names
 * it, or a later one, as the last; or when it was kept and the count was told since. All others that may count are
 * added here, so that the number never dips or jumps while messages come in.
 */
import type { Entry } from "../shared/outbox";
import type {
  AthleteId,
  Attempt,
  Counts,
  OwnWindow,
  Scoring,
  SegmentIndex,
  Span,
  TapId,
} from "../shared/wire";

/** What this tablet alone knows about its taps. */
export interface OwnTaps {
  /** The tablet's taps of the class, in the order in which they were made. */
  taps: readonly Entry[];
  /** Taps that were taken back here, and whether the house has said that it did so. */
  undone: ReadonlyMap<TapId, boolean>;
  /** Taps that the house has kept since it last told the counts. */
  keptSince: ReadonlySet<TapId>;
}

/** The window that is counted, and for whom. */
export interface Window {
  athlete: AthleteId;
  segment: SegmentIndex;
  scoring: Scoring;
  told: OwnWindow | undefined;
  /** Reps of a round as this athlete does it; rounds are numbered from 0. */
  repsIn: (round: number) => number;
}

export interface Count {
  /** Full rounds, in formats that have them; where it was made in its time, one. */
  rounds: number;
  /** Reps of the next round. */
  extra: number;
  /** The amount of one thing. */
  amount: number;
  /** Reps in all, at the cap. */
  reps: number;
  /** Whether all of it is done, and when; the time is null until the house has said it. */
  finished: { time: Span | null } | null;
  attempts: readonly Attempt[];
  /** The heaviest good attempt, in grams. */
  best: number | null;
  /** Taps of the window that wait on this tablet. */
  waiting: number;
  /** The tap that undo takes back: the last of this tablet that counts; null where there is none. */
  undoable: TapId | null;
  /** House time at which that was made. */
  at: number | null;
}

export function count(window: Window, { taps, undone, keptSince }: OwnTaps): Count {
  const { athlete, segment, told, scoring } = window;
  const mine = taps.filter(({ tap }) => tap.segment === segment && tap.athlete === athlete);
  const may = mine.filter(({ kept }) => kept === null || kept.standing.standing === "counted");
  const stand = may.filter(({ id }) => !undone.has(id));
  const named = may.slice(0, may.findIndex(({ id }) => id === told?.last_tap) + 1);
  const names = new Set(named);
  const isNamed = (entry: Entry) => names.has(entry) || isBefore(entry, told);
  const isTold = (entry: Entry) => isNamed(entry) || (entry.kept !== null && !keptSince.has(entry.id));

  const untold = stand.filter((entry) => !isTold(entry));
  const takenBack = may.filter(
    (entry) =>
      isNamed(entry) &&
      (undone.get(entry.id) === false || (undone.has(entry.id) && entry.id === told?.last_tap)),
  );
  const more = (worth: (counts: Counts) => number) => total(untold, worth) - total(takenBack, worth);
  const step = scoring.by === "amount" ? scoring.step : 1;
  const attempts = attemptsOf(told, untold, undone);
  const tally = told?.tally;
  const own = untold.at(-1) ?? named.findLast(({ id }) => !undone.has(id));
  return {
    rounds: Math.max(0, toldRounds(window) + more(roundsOf)),
    extra: tally?.kind === "rounds" ? tally.extra : 0,
    amount: Math.max(0, (tally?.kind === "count" ? tally.amount : 0) + more((each) => amountOf(each, step))),
    reps: tally?.kind === "at-cap" ? tally.reps : 0,
    finished: finishedOf(window, untold, takenBack),
    attempts,
    best: bestOf(told, attempts),
    waiting: mine.filter(({ kept }) => kept === null).length,
    undoable: own?.id ?? null,
    at: own?.tap.made_at ?? null,
  };
}

/** Whether a kept tap is no later than the last one that the house's count knows of. */
const isBefore = ({ kept }: Entry, told: OwnWindow | undefined): boolean =>
  kept?.standing.standing === "counted" && told?.last != null && kept.standing.at <= told.last;

const total = (entries: readonly Entry[], worth: (counts: Counts) => number): number =>
  entries.reduce((sum, { tap }) => sum + worth(tap.counts), 0);

const roundsOf = ({ kind }: Counts): number => (kind === "round" || kind === "round-before" ? 1 : 0);

const amountOf = (counts: Counts, step: number): number =>
  counts.kind === "amount" ? counts.amount : roundsOf(counts) * step;

/** Rounds that the house told of. At the cap it tells reps, which are rounds of what this one asks for. */
function toldRounds({ told, scoring, repsIn }: Window): number {
  switch (told?.tally.kind) {
    case "rounds":
      return told.tally.rounds;
    case "made":
      return told.tally.made;
    case "at-cap":
      return scoring.by === "time" ? roundsIn(told.tally.reps, scoring.rounds, repsIn) : 0;
    case "finished":
      return scoring.by === "time" ? scoring.rounds : 0;
    default:
      return 0;
  }
}

/** Full rounds in so many reps. */
function roundsIn(reps: number, most: number, repsIn: (round: number) => number): number {
  let [rounds, left] = [0, reps - repsIn(0)];
  while (left >= 0 && rounds < most) {
    rounds += 1;
    left -= repsIn(rounds);
  }
  return rounds;
}

function finishedOf(
  { told }: Window,
  untold: readonly Entry[],
  takenBack: readonly Entry[],
): { time: Span | null } | null {
  const isFinish = ({ tap }: Entry) => tap.counts.kind === "finish";
  if (untold.some(isFinish)) return { time: null };
  if (takenBack.some(isFinish)) return null;
  if (told?.tally.kind === "finished") return { time: told.tally.time };
  return told?.tally.kind === "done" ? { time: null } : null;
}

function attemptsOf(
  told: OwnWindow | undefined,
  untold: readonly Entry[],
  undone: OwnTaps["undone"],
): Attempt[] {
  const known = (told?.attempts ?? []).filter(({ tap }) => !undone.has(tap));
  const ids = new Set(known.map(({ tap }) => tap));
  const own = untold.flatMap(({ id, tap: { counts } }) =>
    counts.kind === "attempt" && !ids.has(id) ? [{ tap: id, grams: counts.grams, good: counts.good }] : [],
  );
  return [...known, ...own];
}

/** The heaviest good attempt; or the load that was set outright, where that is heavier. */
function bestOf(told: OwnWindow | undefined, attempts: readonly Attempt[]): number | null {
  const good = attempts.filter((each) => each.good).map(({ grams }) => grams);
  const set = told?.entered && told.tally.kind === "load" ? [told.tally.grams] : [];
  return good.length + set.length === 0 ? null : Math.max(...good, ...set);
}
