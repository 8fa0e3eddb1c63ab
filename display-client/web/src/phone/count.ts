/**
 * What the athlete has in one window of work: what the server last told, and the device's own taps and undos that it
 * has not told about yet. Pure.
 *
 * The server's count and its `kept` come as two messages in either order. A tap is therefore in the server's count
 * when it is not later than the last tap which that count names; or when the server kept it and has told the count
 * since. All others that may count are added here, so the number never dips or jumps while messages come in.
 */
import type { Entry } from "../shared/outbox";
import type { OwnWindow, SegmentIndex, Span, TapId } from "../shared/wire";

/** What this device alone knows about its taps. */
export interface OwnTaps {
  /** The device's taps of the class, in the order in which they were made. */
  taps: readonly Entry[];
  /** Taps that were taken back here, and whether the server has said that it did so. */
  undone: ReadonlyMap<TapId, boolean>;
  /** Taps that the server has kept since it last told the count. */
  keptSince: ReadonlySet<TapId>;
}

export interface Count {
  rounds: number;
  extra: number;
  /** Taps of the window that wait on this device. */
  waiting: number;
  /** Time of the last round, where it has one. */
  lastSplit: Span | null;
  /** The tap that undo takes back; null where there is none. */
  undoable: TapId | null;
}

/**
 * @param start house time at which the window's class time began, where it has run on without a hold; it gives the
 *   first round its split before the server does
 */
export function count(
  segment: SegmentIndex,
  own: OwnWindow | undefined,
  { taps, undone, keptSince }: OwnTaps,
  start: number | null,
): Count {
  const here = taps.filter(({ tap }) => tap.segment === segment);
  const place = new Map(here.map(({ id }, index) => [id, index]));
  const last = own?.last_tap ?? null;
  const lastPlace = last === null ? -1 : (place.get(last) ?? -1);
  const named = ({ id }: Entry) => (place.get(id) ?? 0) <= lastPlace;
  const mine = here.filter(mayCount);
  const stand = mine.filter(({ id }) => !undone.has(id));

  const untold = stand.filter((entry) => !named(entry) && (entry.kept === null || keptSince.has(entry.id)));
  const takenBack = mine.filter(
    (entry) =>
      named(entry) && (undone.get(entry.id) === false || (undone.has(entry.id) && entry.id === last)),
  );
  const [rounds, extra] = own?.tally.kind === "rounds" ? [own.tally.rounds, own.tally.extra] : [0, 0];
  return {
    rounds: Math.max(0, rounds + untold.length - takenBack.length),
    extra,
    waiting: here.filter(({ kept }) => kept === null).length,
    lastSplit: untold.length > 0 ? splitOfLast(stand, start) : (own?.splits.at(-1) ?? null),
    undoable: untold.at(-1)?.id ?? (last === null || !undone.has(last) ? last : lastOf(stand.filter(named))),
  };
}

const lastOf = (entries: readonly Entry[]): TapId | null => entries.at(-1)?.id ?? null;

const mayCount = ({ kept }: Entry): boolean => kept === null || kept.standing.standing === "counted";

/** Time of the newest round from taps alone; null where a hold, another call, or a caught-up tap lies in between. */
function splitOfLast(stand: readonly Entry[], start: number | null): Span | null {
  const [before, last] = [stand.at(-2)?.tap, stand.at(-1)?.tap];
  if (last === undefined || last.counts.kind !== "round") return null;
  if (before === undefined) return start === null ? null : last.made_at - start;
  return before.counts.kind === "round" && before.heard === last.heard ? last.made_at - before.made_at : null;
}
