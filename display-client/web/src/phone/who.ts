/**
 * For whom a phone counts: its own athlete, and those who let it. One of them at a time takes the touches. Pure.
 */

import { AS_WRITTEN } from "../counting/plan";
import type { Ask, AthleteId, Choice, OwnView, OwnWindow, SegmentIndex, State } from "../shared/wire";

/** Somebody whom this phone counts for. */
export interface Person {
  athlete: AthleteId;
  name: string;
  me: boolean;
  windows: readonly OwnWindow[];
  /** How they do the class. */
  choice: Choice;
}

interface Who {
  state: State;
  own: OwnView | null;
  athlete: AthleteId;
  /** For whom touches count now; null: for the phone's own athlete. */
  whom: AthleteId | null;
}

/** Everybody whom this phone counts for: others in the order in which they asked, its own athlete last. */
export function people({ state, own, athlete }: Omit<Who, "whom">): Person[] {
  const others = (own?.counts_for ?? []).map((each) => ({ ...each, me: false }));
  const name = own?.name ?? state.rows.find((row) => row.athlete === athlete)?.name ?? "";
  const me = { athlete, name, me: true, windows: own?.windows ?? [], choice: own?.choice ?? AS_WRITTEN };
  return [...others, me];
}

/** The one for whom touches count now. */
export function person(who: Who): Person {
  const all = people(who);
  const found = all.find(({ athlete }) => athlete === who.whom) ?? all.at(-1);
  if (found === undefined) throw new Error("a phone counts for its own athlete at least");
  return found;
}

export const windowOf = ({ windows }: Person, segment: SegmentIndex): OwnWindow | undefined =>
  windows.find((window) => window.segment === segment);

/** Who hides their name. */
export const NAMELESS = "Somebody";

/** A name by which the athlete knows somebody: a team mate's, a counter's, else what the board shows of it. */
export function nameOf({ state, own }: Pick<Who, "state" | "own">, athlete: AthleteId): string {
  const known = [...(own?.team ?? []), ...(own?.counts_for ?? []), ...(own?.counter ? [own.counter] : [])];
  const found = known.find((each) => each.athlete === athlete);
  return (found ?? state.rows.find((row) => row.athlete === athlete))?.name || NAMELESS;
}

/** The own view with what was asked since about who counts for whom. */
export function withAsked(own: OwnView, ask: Ask, name: (athlete: AthleteId) => string): OwnView {
  if (ask.ask !== "let-count") return own;
  const { athlete, counter } = ask;
  if (athlete !== own.athlete)
    return { ...own, counts_for: own.counts_for.filter((each) => each.athlete !== athlete) };
  return { ...own, counter: counter === null ? null : { athlete: counter, name: name(counter) } };
}
