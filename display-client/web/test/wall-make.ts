/** Small plans for the tests of what the wall tells. */
import type { Block, BlockKind, Format, Movement, Piece } from "../src/shared/wire";

export const movement = (name: string): Movement => ({
  name,
  amount: null,
  sides: "both",
  load: null,
  height: null,
  tempo: null,
  standard: null,
  cues: [],
  options: [],
});

export const piece = (format: Format): Piece => ({
  format,
  lead_in: 10e6,
  repeats: 1,
  repeat_rest: 0,
  sharing: { sharing: "alone" },
  first_there_splits_ties: false,
  windows: "together",
});

export const TALK: BlockKind = { kind: "talk", pace: "coach-led", rounds: 1, given: null };

export const block = (name: string, more: Partial<Block> = {}): Block => ({
  name,
  kind: TALK,
  movements: [],
  aim: null,
  cues: [],
  coach_notes: [],
  notes: [],
  announce: true,
  ...more,
});
