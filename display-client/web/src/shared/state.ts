/**
 * The newest state of the class as the server told it. A full state replaces all, a frame changes what it names, a
 * stop brings its clock ahead of any frame. Pure: `merge` gives a new value and leaves the old one alone.
 */
import type { AthleteId, Row, Score, State, ToDevice } from "./wire";

/** The state after `message`; messages that do not change it leave it as it is. */
export function merge(state: State | null, message: ToDevice): State | null {
  switch (message.type) {
    case "state": {
      const { type: _, ...whole } = message;
      return whole;
    }
    case "no-class":
      return null;
    case "stop":
      return state === null || message.clock.revision < state.clock.revision
        ? state
        : { ...state, clock: message.clock };
    case "frame": {
      // After a gap the full state is on its way; until then the newest of what is named is still right.
      if (state === null || message.number <= state.number) return state;
      return {
        ...state,
        number: message.number,
        clock: message.clock ?? state.clock,
        segments: message.segments ?? state.segments,
        swaps: message.swaps ?? state.swaps,
        started: message.started ?? state.started,
        closed: message.closed ?? state.closed,
        rows: mergeRows(state.rows, message.rows ?? [], message.gone ?? []),
      };
    }
    default:
      return state;
  }
}

function mergeRows(rows: readonly Row[], changed: readonly Row[], gone: readonly AthleteId[]): Row[] {
  const newer = new Map(changed.map((row) => [row.athlete, row]));
  const left = new Set(gone);
  const merged = rows.filter(({ athlete }) => !left.has(athlete)).map((row) => newer.get(row.athlete) ?? row);
  const known = new Set(rows.map(({ athlete }) => athlete));
  return [...merged, ...changed.filter(({ athlete }) => !known.has(athlete))];
}

/** What a row has in one piece, by the index of its block. */
export const scoreOf = (row: Row, block: number): Score | undefined =>
  row.scores.find((score) => score.block === block);
