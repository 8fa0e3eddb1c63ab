/**
 * What somebody has in one window of work: what the server last told, and this device's own taps and undos that it
 * has not told about yet. Pure.
 *
 * The server's count and its `kept` come as two messages in either order. A tap is therefore in the server's count
 * when it is not later than the last tap which that count names; or when the server kept it and has told the count
 * since. All others that may count are added here, so the number never dips or jumps while messages come in.
 */
import type { Entry } from "../shared/outbox";
import type { AthleteId, Attempt, Counts, OwnWindow, SegmentIndex, Span, TapId } from "../shared/wire";
import type { Way } from "./scoring";

/** What this device alone knows about its taps. */
export interface OwnTaps {
  /** The device's taps of the class, in the order in which they were made. */
  taps: readonly Entry[];
  /** Taps that were taken back here, and whether the server has said that it did so. */
  undone: ReadonlyMap<TapId, boolean>;
  /** Taps that the server has kept since it last told the count. */
  keptSince: ReadonlySet<TapId>;
}

/** The window that is counted. */
export interface Counted {
  segment: SegmentIndex;
  scoring: Way;
  /** For whom, and whose phone this is. */
  athlete: AthleteId;
  me: AthleteId;
  /** What the server told of it. */
  told: OwnWindow | undefined;
  /** Reps of each movement round by round, where they change. */
  scheme: readonly number[];
  /** How its class time runs on now, where it does; it gives times before the server does. */
  run: Run | null;
}

/** Class time that runs on since a house time, `from`; had it run all along, it would have begun at `zero`. */
export interface Run {
  zero: number;
  from: number;
}

export interface Count {
  /** Full rounds, and reps of the next one, in formats that have them; where it was made in its time, one. */
  rounds: number;
  extra: number;
  /** The amount of one thing. */
  amount: number;
  /** Whether all of it is done, and when; the time is null until it is known. */
  finished: { time: Span | null } | null;
  /** Tries at a load, in order, and the heaviest good one in grams. */
  attempts: readonly Attempt[];
  best: number | null;
  /** Taps of the window that wait on this device. */
  waiting: number;
  /** Time of the last round, where it has one. */
  lastSplit: Span | null;
  /** The tap that undo takes back; null where there is none. */
  undoable: TapId | null;
}

export function count(window: Counted, { taps, undone, keptSince }: OwnTaps): Count {
  const { segment, told, athlete, me, run } = window;
  const here = taps.filter(({ tap }) => tap.segment === segment && tap.athlete === athlete);
  const place = new Map(here.map(({ id }, index) => [id, index]));
  const last = told?.last_tap ?? null;
  const lastPlace = last === null ? -1 : (place.get(last) ?? -1);
  const byOther = last !== null && lastPlace < 0;
  const named = ({ id, kept }: Entry) =>
    (place.get(id) ?? 0) <= lastPlace ||
    (byOther && kept !== null && (!keptSince.has(id) || isBefore(kept, told)));
  const mine = here.filter(mayCount);
  const stand = mine.filter(({ id }) => !undone.has(id));

  const untold = stand.filter((entry) => !named(entry) && (entry.kept === null || keptSince.has(entry.id)));
  const takenBack = mine.filter(
    (entry) =>
      named(entry) && (undone.get(entry.id) === false || (undone.has(entry.id) && entry.id === last)),
  );
  const lastIsMine = last !== null && (lastPlace >= 0 || told?.last_by === me);
  return {
    ...sums(window, untold, takenBack, undone),
    waiting: here.filter(({ kept }) => kept === null).length,
    lastSplit: untold.length === 0 ? (told?.splits.at(-1) ?? null) : byOther ? null : splitOfLast(stand, run),
    undoable:
      untold.at(-1)?.id ??
      (lastIsMine && !undone.has(last) ? last : last === null ? null : lastOf(stand.filter(named))),
  };
}

/** Whether a kept tap is no later than the last one that the server's count knows of. */
const isBefore = ({ standing }: NonNullable<Entry["kept"]>, told: OwnWindow | undefined): boolean =>
  standing.standing === "counted" && told?.last != null && standing.at <= told.last;

const lastOf = (entries: readonly Entry[]): TapId | null => entries.at(-1)?.id ?? null;

const mayCount = ({ kept }: Entry): boolean => kept === null || kept.standing.standing === "counted";

type Sums = Pick<Count, "rounds" | "extra" | "amount" | "finished" | "attempts" | "best">;

function sums(
  window: Counted,
  untold: readonly Entry[],
  takenBack: readonly Entry[],
  undone: OwnTaps["undone"],
): Sums {
  const { told, scoring, run } = window;
  const tally = told?.tally;
  const isOver = (kind: Counts["kind"]) => takenBack.some(({ tap }) => tap.counts.kind === kind);
  const more = (worth: (counts: Counts) => number) => total(untold, worth) - total(takenBack, worth);
  const step = scoring.by === "amount" ? scoring.step : 1;
  const finish = untold.findLast(({ tap }) => tap.counts.kind === "finish");
  const attempts = attemptsOf(told, untold, undone);
  const done = tally?.kind === "finished" || tally?.kind === "done";
  return {
    rounds: Math.max(0, toldRounds(window) + more(roundsOf)),
    extra: tally?.kind === "rounds" ? tally.extra : 0,
    amount: Math.max(0, (tally?.kind === "count" ? tally.amount : 0) + more((each) => amountOf(each, step))),
    finished:
      done && !isOver("finish")
        ? { time: tally.kind === "finished" ? tally.time : null }
        : finish === undefined
          ? null
          : { time: classTime(finish, run) },
    attempts,
    best: bestOf(told, attempts),
  };
}

const total = (entries: readonly Entry[], worth: (counts: Counts) => number): number =>
  entries.reduce((sum, { tap }) => sum + worth(tap.counts), 0);

const roundsOf = ({ kind }: Counts): number => (kind === "round" || kind === "round-before" ? 1 : 0);

const amountOf = (counts: Counts, step: number): number =>
  counts.kind === "amount" ? counts.amount : roundsOf(counts) * step;

/** Rounds that the server told of. At the cap it tells reps; they are rounds as this athlete does them. */
function toldRounds({ told, scoring, scheme }: Counted): number {
  switch (told?.tally.kind) {
    case "rounds":
      return told.tally.rounds;
    case "made":
      return told.tally.made;
    case "at-cap":
      return roundsIn(told.tally.reps, told.reps, scheme);
    case "finished":
      return scoring.by === "time" ? scoring.rounds : 0;
    default:
      return 0;
  }
}

/** Full rounds in so many reps. */
export function roundsIn(done: number, reps: readonly number[], scheme: readonly number[]): number {
  const whole = reps.reduce((sum, each) => sum + each, 0);
  let rounds = 0;
  for (let left = done; ; rounds += 1) {
    const each = scheme[rounds];
    const round = each === undefined ? whole : each * reps.length;
    if (round <= 0 || left < round) return rounds;
    left -= round;
  }
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

/** Class time of a tap, as the server said it, else as it is known here. */
function classTime({ tap, kept }: Pick<Entry, "tap" | "kept">, run: Run | null): Span | null {
  if (kept?.standing.standing === "counted") return kept.standing.at;
  return run === null || tap.made_at < run.from ? null : tap.made_at - run.zero;
}

/** Time of the newest round from taps alone; null where a hold, another call, or a caught-up tap lies in between. */
function splitOfLast(stand: readonly Entry[], run: Run | null): Span | null {
  const [before, last] = [stand.at(-2)?.tap, stand.at(-1)];
  if (last === undefined || last.tap.counts.kind !== "round") return null;
  if (before === undefined) return classTime(last, run);
  const unbroken = before.counts.kind === "round" && before.heard === last.tap.heard;
  return unbroken ? last.tap.made_at - before.made_at : null;
}
