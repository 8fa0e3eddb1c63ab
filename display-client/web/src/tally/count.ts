/** What somebody has in one window of work, with the taps on this tablet that the house has not told of yet. Pure. */
import {
  type Count as Counted,
  count as countOn,
  type OwnTaps,
  type Counted as Window,
} from "../counting/count";

export interface Count extends Counted {
  /** Reps in all, at the cap. */
  reps: number;
  /** House time of the tap that undo takes back. */
  at: number | null;
}

/** A tablet is nobody's own device. */
const NOBODY = "";

export function count(window: Omit<Window, "me" | "run">, own: OwnTaps): Count {
  const counted = countOn({ ...window, me: NOBODY, run: null }, own);
  const tally = window.told?.tally;
  return {
    ...counted,
    reps: tally?.kind === "at-cap" ? tally.reps : 0,
    at: own.taps.find(({ id }) => id === counted.undoable)?.tap.made_at ?? null,
  };
}
