/** The wall's words for where the class is: which window, what comes next, which block's movements are shown. Pure. */
import { minutes, SECOND, type Standing } from "../shared/clock";
import type { Block, Format, Segment, State } from "../shared/wire";
import { formatOf, KIND_WORDS, pieceWords, titleOf } from "../shared/words";
import { movementsNow } from "./movements";
import type { Movements } from "./plan-view";

const INTERVALS: readonly Format["format"][] = ["every-n", "intervals"];

/** `Window 2 of 4`, `Interval 3 of 8`, or the round of a coach-led block; a rest has none of its own. */
export function windowTitle(segment: Segment, block: Block | undefined): string {
  const window = windowWords(segment);
  if (window === "" || segment.kind === "rest" || segment.kind === "lead-in") return "";
  const format = formatOf(block)?.format;
  const title = format === undefined ? "Round" : INTERVALS.includes(format) ? "Interval" : "Window";
  return `${title} ${window}`;
}

/** Which of how many, where there are several. */
const windowWords = ({ window }: Segment): string =>
  window === null || window.of === 1 ? "" : `${window.number} of ${window.of}`;

/** The line under the digits: what follows this segment, or why the clock stands. */
export function nextLine(state: State, standing: Standing): string {
  if (standing.phase === "held") return "The clock is held";
  if (standing.resumeIn > 0) return "Work goes on from here";
  return `Next: ${nextWords(state, standing)}`;
}

/** The segment after this one in words: `Rest 1:30`, `Work 4:00 · 3 of 4`, or the block that follows. */
function nextWords({ segments, session }: State, standing: Standing): string {
  const next = standing.next === null ? undefined : segments[standing.next];
  if (next === undefined) return "end of the class";
  const block = session.blocks[next.block];
  const length = next.length === null ? "" : minutes(Math.round(next.length / SECOND));
  if (next.block !== standing.segment.block)
    return [block === undefined ? "" : titleOf(block), next.kind === "lead-in" ? "" : length]
      .join(" ")
      .trim();
  if (next.movement !== null) return [block?.movements[next.movement]?.name, length].join(" ").trim();
  const window = next.kind === "work" ? windowWords(next) : "";
  return [`${KIND_WORDS[next.kind]} ${length}`.trim(), window].filter((part) => part !== "").join(" · ");
}

/** Whether a block has a board. */
export function hasBoard(block: Block | undefined): boolean {
  const format = formatOf(block);
  return format !== undefined && format.format !== "quality";
}

/** The piece whose board is shown: this block, or in a rest between blocks the piece before it. */
export function scoredBlock({ session }: Pick<State, "session">, block: number): number | null {
  if (hasBoard(session.blocks[block])) return block;
  if (session.blocks[block]?.kind.kind !== "rest") return null;
  for (let before = block - 1; before >= 0; before -= 1) {
    if (hasBoard(session.blocks[before])) return before;
  }
  return null;
}

/**
 * What is told beside the clock: a block's own movements, named where it is a piece; in a rest those of the block
 * that follows. A block without a score has its text above them. A talk without any has what the sheet says for
 * everyone, and any other block that has no movements looks ahead like a rest.
 */
export function planShown(state: State, { segment, next }: Standing): Movements {
  const { session, segments } = state;
  const own = session.blocks[segment.block];
  const kind = own?.kind.kind;
  const notes = kind === "piece" || kind === "rest" ? [] : (own?.notes ?? []);
  const told = kind === "talk" && notes.length === 0 ? session.notes : notes;
  const text = told.join("\n");
  const following = next === null ? undefined : segments[next]?.block;
  const looksAhead = own?.movements.length === 0 && !(kind === "talk" && text !== "");
  const shown = looksAhead && following !== undefined ? following : segment.block;
  const block = session.blocks[shown];
  const title = block === undefined ? "" : titleOf(block);
  return {
    text,
    title: shown !== segment.block ? `Next: ${title}` : kind === "piece" ? title : "",
    how: block?.kind.kind === "piece" ? pieceWords(block.kind) : "",
    aim: block?.aim == null ? "" : `Aim: ${block.aim.text}`,
    movements: movementsNow(state, shown),
    current: shown === segment.block ? segment.movement : null,
  };
}
