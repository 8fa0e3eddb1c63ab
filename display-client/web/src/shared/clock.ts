/**
 * From the class clock as data to what a screen shows at one instant of house time. Pure.
 *
 * The server sends a clock only when a call changes it; every `next` bell in between is worked out here, so a
 * screen that lost the network goes on by itself (rule 1.4). Times are microseconds; `at` is house time.
 */
import type { Clock, Segment, SegmentKind } from "./wire";

export const SECOND = 1_000_000;

/** What stands on the clock at one instant. */
export type Showing = { phase: "gathering" } | { phase: "done" } | Standing;

/** Where the clock stands in a segment. */
export interface Standing {
  phase: "running" | "held" | "waiting";
  /** Index into the segments. */
  index: number;
  segment: Segment;
  /** Class time of the segment, 0 or more. */
  classTime: number;
  /** From the segment's start to its bell, added time included; null for one that counts up. */
  length: number | null;
  /** Time left to the bell, 0 at and after it; null for one that counts up. */
  remaining: number | null;
  /** By how much a waiting clock has overrun its bell; 0 elsewhere. */
  overrun: number;
  /** Time until class time runs again after a resume; 0 where it runs or is held. */
  resumeIn: number;
  /** House time of the bell; null where the clock is held or the segment counts up. */
  bell: number | null;
  /** Index of the segment that follows, passing over dropped ones; null at the end. */
  next: number | null;
}

/** Whether the clock stands in a segment. */
export const isStanding = (now: Showing): now is Standing =>
  now.phase !== "gathering" && now.phase !== "done";

/** A running clock, moved on through the bells that have passed. */
export interface Run {
  index: number;
  segment: Segment;
  /** House time from which class time runs, and what it stood at there. */
  anchor: number;
  atAnchor: number;
  /** From the segment's start to its bell, added time included; null for a segment that counts up. */
  length: number | null;
  /** House time of its bell; null for a segment that counts up. */
  bell: number | null;
}

/** Length of a segment with what was added, where it has a length. */
const lengthOf = ({ length }: Segment, added: number): number | null =>
  length === null ? null : Math.max(0, length + added);

/** Index of the segment after `index` that is not dropped. */
export function following(segments: readonly Segment[], index: number): number | null {
  const next = segments.findIndex((segment, other) => other > index && !segment.dropped);
  return next < 0 ? null : next;
}

/**
 * The runs of a running clock, in order: the one that the server named, then each that follows by itself. Ends at
 * the first that waits or counts up, or with the class.
 */
export function* runs(clock: Clock, segments: readonly Segment[]): Generator<Run> {
  if (clock.phase.phase !== "running") return;
  let { segment: index, anchor, at_anchor: atAnchor, added } = clock.phase;
  for (;;) {
    const segment = segments[index];
    if (segment === undefined) return;
    const length = lengthOf(segment, added);
    const bell = length === null ? null : anchor + Math.max(0, length - atAnchor);
    yield { index, segment, anchor, atAnchor, length, bell };
    const next = following(segments, index);
    if (bell === null || segment.after === "wait" || next === null) return;
    [index, anchor, atAnchor, added] = [next, bell, 0, 0];
  }
}

/** What the clock shows at house time `at`. */
export function showing(clock: Clock, segments: readonly Segment[], at: number): Showing {
  const { phase } = clock;
  switch (phase.phase) {
    case "gathering":
    case "done":
      return { phase: phase.phase };
    case "running":
      return running(clock, segments, at);
    case "held":
      return stands("held", segments, phase.segment, {
        classTime: phase.class_time,
        added: phase.added,
        overrun: 0,
      });
    case "waiting":
      return stands("waiting", segments, phase.segment, {
        classTime: Number.POSITIVE_INFINITY,
        added: 0,
        overrun: Math.max(0, at - phase.since),
      });
  }
}

function running(clock: Clock, segments: readonly Segment[], at: number): Showing {
  let run: Run | undefined;
  for (const next of runs(clock, segments)) {
    run = next;
    if (next.bell === null || at < next.bell) break;
  }
  if (run === undefined) return { phase: "gathering" };
  const { index, segment, anchor, atAnchor, length, bell } = run;
  if (bell !== null && at >= bell) {
    if (segment.after === "next") return { phase: "done" };
    return stands("waiting", segments, index, {
      classTime: Number.POSITIVE_INFINITY,
      added: (length ?? 0) - (segment.length ?? 0),
      overrun: at - bell,
    });
  }
  const classTime = atAnchor + Math.max(0, at - anchor);
  return {
    phase: "running",
    index,
    segment,
    classTime,
    length,
    remaining: length === null ? null : length - classTime,
    overrun: 0,
    resumeIn: resumeIn(run, at),
    bell,
    next: following(segments, index),
  };
}

function stands(
  phase: "held" | "waiting",
  segments: readonly Segment[],
  index: number,
  { classTime, added, overrun }: { classTime: number; added: number; overrun: number },
): Showing {
  const segment = segments[index];
  if (segment === undefined) return { phase: "gathering" };
  const length = lengthOf(segment, added);
  const stood = length === null ? classTime : Math.min(classTime, length);
  return {
    phase,
    index,
    segment,
    classTime: stood,
    length,
    remaining: length === null ? null : length - stood,
    overrun,
    resumeIn: 0,
    bell: null,
    next: following(segments, index),
  };
}

/**
 * Only work resumes through a lead-in (rule 1.5). Elsewhere the present lies before the anchor only because this
 * screen has the call before its own estimate has reached it: no lead-in is shown for that.
 */
function resumeIn(run: Run, at: number): number {
  const ahead = run.anchor - at;
  const justStarted = run.atAnchor === 0 && ahead < SECOND;
  return run.segment.kind === "work" && ahead > 0 && !justStarted ? ahead : 0;
}

/** Seconds that remain, rounded up: 10 at the start of ten seconds, 0 only at the bell (rule 2.4). */
export const secondsLeft = (remaining: number): number => Math.ceil(remaining / SECOND);

/** Seconds that have run, rounded down (rule 2.4). */
export const secondsRun = (time: number): number => Math.floor(time / SECOND);

/** `4:05`, with hours where there are any: `1:02:09`. */
export function minutes(seconds: number): string {
  const two = (part: number) => String(part).padStart(2, "0");
  const [hours, mins, secs] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60, seconds % 60];
  return hours > 0 ? `${hours}:${two(mins)}:${two(secs)}` : `${mins}:${two(secs)}`;
}

/** How much of the segment has run, 0 to 1; 0 for one that counts up. */
export function fraction({ length, classTime }: Standing): number {
  return length === null || length === 0 ? 0 : classTime / length;
}

/**
 * How the seconds go until the clock shows something of another kind. A frame loop reads this with a few sums, and
 * asks `showing` anew only outside `[from, until)`.
 */
export interface Hand {
  /** House time at which the hand stands at 0. */
  zero: number;
  /** Towards 0 (rounded up), away from it (rounded down), or standing still. */
  goes: "down" | "up" | "still";
  /** What a still hand reads, in seconds. */
  stands: number;
  /** The most that it reads, in seconds: a screen may hear of a call before its own time has reached it. */
  most: number;
  /** How it is written: `4:05`, a lead-in as `9`, and after a bell that waits `+0:05` from the first full second. */
  as: "minutes" | "seconds" | "overrun";
  from: number;
  until: number;
}

/** The hand of what is shown at house time `at`. */
export function hand(standing: Standing, at: number): Hand {
  const { phase, classTime, remaining, resumeIn, overrun, bell } = standing;
  const endless = Number.POSITIVE_INFINITY;
  const as = phase === "waiting" ? "overrun" : kindShown(standing) === "lead-in" ? "seconds" : "minutes";
  const ever = { from: at, until: endless, stands: 0, most: endless, as } as const;
  if (phase === "held") {
    const stands = remaining === null ? secondsRun(classTime) : secondsLeft(remaining);
    return { ...ever, zero: at, goes: "still", stands };
  }
  if (phase === "waiting") return { ...ever, zero: at - overrun, goes: "up" };
  if (resumeIn > 0) return { ...ever, zero: at + resumeIn, goes: "down", until: at + resumeIn };
  if (bell === null) return { ...ever, zero: at - classTime, goes: "up" };
  const leadIn = bell - standing.segment.lead_in;
  const most = secondsLeft(remaining ?? endless);
  return { ...ever, zero: bell, goes: "down", until: at < leadIn ? leadIn : bell, most };
}

/** The kind that is shown: a resume's lead-in and the last seconds of a rest before work are lead-in too (rule 1.2). */
export function kindShown({ segment, remaining, resumeIn }: Standing): SegmentKind {
  const inLeadIn = segment.lead_in > 0 && remaining !== null && remaining <= segment.lead_in;
  return resumeIn > 0 || inLeadIn ? "lead-in" : segment.kind;
}

/** What a hand reads at house time `at`, in whole seconds. */
export function read({ zero, goes, stands, most }: Hand, at: number): number {
  if (goes === "still") return stands;
  return Math.max(0, goes === "down" ? Math.min(most, secondsLeft(zero - at)) : secondsRun(at - zero));
}

/** The digits of so many seconds. */
export function written({ as }: Hand, seconds: number): string {
  if (as === "seconds") return `${seconds}`;
  return as === "overrun" && seconds > 0 ? `+${minutes(seconds)}` : minutes(seconds);
}
