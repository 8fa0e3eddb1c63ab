/**
 * The athlete's own timer in a self-paced block (rule 1.9): a held position counts down, side by side; a tempo beats
 * through the parts of each rep. It runs on the device and never touches the class clock. Pure; whole seconds.
 */
import type { BlockIndex, Movement, MovementIndex } from "../shared/wire";

export interface Part {
  word: string;
  seconds: number;
}

export interface Plan {
  kind: "held" | "tempo";
  parts: readonly Part[];
  /** Parts of one rep, or of one side. */
  per: number;
}

/** A timer under way. */
export interface Timer {
  block: BlockIndex;
  movement: MovementIndex;
  plan: Plan;
  /** Device time of its first second. */
  start: number;
}

/** Between two sides, to turn round (rule 1.9's example). */
const CHANGE_SIDE_S = 5;
/** From the touch to the first second, to get into position (common practice). */
const GET_READY_S = 3;
/** Longer than any held position or set by tempo that a sheet should hold. */
const PARTS_MAX = 400;
const TEMPO_WORDS = ["down", "keep", "up", "keep"];

/** The timer that a movement offers; null where there is nothing to time. */
export function planOf({ amount, sides, tempo }: Movement): Plan | null {
  if (amount?.unit === "seconds") return held(amount.count, sides === "per-side");
  if (amount?.unit !== "reps" || tempo === null) return null;
  const rep = tempo
    .map((seconds, index) => ({ word: TEMPO_WORDS[index] ?? "", seconds }))
    .filter(({ seconds }) => seconds > 0);
  if (rep.length === 0) return null;
  const reps = Math.min(amount.count * (sides === "per-side" ? 2 : 1), Math.floor(PARTS_MAX / rep.length));
  return {
    kind: "tempo",
    per: rep.length,
    parts: [ready(), ...Array.from({ length: reps }, () => rep).flat()],
  };
}

function held(seconds: number, perSide: boolean): Plan {
  if (!perSide) return { kind: "held", per: 1, parts: [ready(), { word: "keep it", seconds }] };
  return {
    kind: "held",
    per: 1,
    parts: [
      ready(),
      { word: "first side", seconds },
      { word: "change side", seconds: CHANGE_SIDE_S },
      { word: "second side", seconds },
    ],
  };
}

const ready = (): Part => ({ word: "get ready", seconds: GET_READY_S });

export interface Beat {
  word: string;
  /** Seconds left of the part, rounded up. */
  left: number;
  /** Which rep, from 1; 0 while getting ready, and for a held position. */
  rep: number;
}

/** What the timer shows so many seconds after its start; null when it is over. */
export function beatAt({ kind, parts, per }: Plan, elapsed: number): Beat | null {
  let end = 0;
  for (const [index, { word, seconds }] of parts.entries()) {
    end += seconds;
    if (elapsed >= end) continue;
    const rep = kind === "tempo" && index > 0 ? Math.floor((index - 1) / per) + 1 : 0;
    return { word, left: Math.ceil(end - elapsed), rep };
  }
  return null;
}

/** Seconds after the start at which the timer sounds, and whether it is the start of a part. */
export function ticks({ parts }: Plan): { at: number; strong: boolean }[] {
  const found: { at: number; strong: boolean }[] = [];
  let start = 0;
  for (const { seconds } of parts) {
    for (let second = 0; second < seconds; second += 1) {
      const lastThree = seconds - second <= 3;
      if (second === 0 || lastThree || seconds <= 10)
        found.push({ at: start + second, strong: second === 0 });
    }
    start += seconds;
  }
  return [...found, { at: start, strong: true }];
}
