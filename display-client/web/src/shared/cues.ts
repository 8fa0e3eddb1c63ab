/**
 * What is announced and when (rules 1.10 and 2.5): the count-in 3, 2, 1 and the bell of every timed segment;
 * half-way, one minute and ten seconds to go where the sheet wants them. Sound and the wall's words both follow
 * this one list. Pure; times are microseconds of house time.
 */
import { following, type Run, runs, SECOND } from "./clock";
import type { Clock, Segment } from "./wire";

/** `go` is the bell at which work begins, `bell` every other. */
export type CueKind = "three" | "two" | "one" | "go" | "bell" | "half-way" | "one-minute" | "ten-seconds";

export interface Cue {
  kind: CueKind;
  /** House time. */
  at: number;
}

/** What is said in words for some seconds; the count-in and the bells are sounds alone. */
export const WORDS: Partial<Record<CueKind, string>> = {
  "half-way": "Half-way",
  "one-minute": "One minute",
  "ten-seconds": "Ten seconds",
};

/** Half-way is left out of what is shorter than this (common practice). */
const HALF_WAY_FROM = 60 * SECOND;
/** The one minute is left out where half-way is as near as this (common practice). */
const APART = 15 * SECOND;
/** Ten seconds are left out of what is not longer than this (common practice). */
const TEN_SECONDS_FROM = 30 * SECOND;

/** The cues in `[from, to)`, in order. A held, gathering or done clock has none. */
export function cues(clock: Clock, segments: readonly Segment[], from: number, to: number): Cue[] {
  const found: Cue[] = [];
  for (const run of runs(clock, segments)) {
    if (run.anchor >= to) break;
    found.push(...cuesOf(run, segments));
  }
  return found.filter(({ at }) => at >= from && at < to).sort((a, b) => a.at - b.at);
}

/** All cues of one run, from its lead-in after a hold to its bell. */
function cuesOf(run: Run, segments: readonly Segment[]): Cue[] {
  const { segment, anchor, atAnchor, length, bell } = run;
  const found: Cue[] = [];
  if (segment.kind === "work" && atAnchor > 0) found.push(...countIn(anchor), { kind: "go", at: anchor });
  if (bell === null || length === null) return found;

  const start = bell - length;
  const within = (kind: CueKind, at: number): Cue[] => (at > start && at > anchor ? [{ kind, at }] : []);
  if (segment.kind !== "open") {
    for (const cue of countIn(bell)) found.push(...within(cue.kind, cue.at));
  }
  if (segment.announce && segment.kind !== "lead-in") {
    const half = start + length / 2;
    const minute = bell - 60 * SECOND;
    if (length >= HALF_WAY_FROM) found.push(...within("half-way", half));
    if (Math.abs(half - minute) > APART) found.push(...within("one-minute", minute));
    if (length > TEN_SECONDS_FROM) found.push(...within("ten-seconds", bell - 10 * SECOND));
  }
  found.push({
    kind: startsWork(segment, segments[following(segments, run.index) ?? -1]) ? "go" : "bell",
    at: bell,
  });
  return found;
}

function countIn(at: number): Cue[] {
  return [
    { kind: "three", at: at - 3 * SECOND },
    { kind: "two", at: at - 2 * SECOND },
    { kind: "one", at: at - SECOND },
  ];
}

const startsWork = (segment: Segment, next: Segment | undefined): boolean =>
  segment.after === "next" && next?.kind === "work";
