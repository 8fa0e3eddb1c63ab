/**
 * The class as it runs. On the left the phase, the digits and what is next; the rest of the wall is shared out by
 * what there is to show:
 *
 * - `board`: movements on the right, the board below across the wall;
 * - `few`: one short column of people; the board stands under the digits, and the movements have all of the right;
 * - `plan`: a block that is not scored has no board; movements under the digits, the plan of the class on the right;
 * - `done`: the board alone.
 */
import { SECOND, type Standing, showing } from "../shared/clock";
import type { State } from "../shared/wire";
import { formatOf, titleOf } from "../shared/words";
import type { Ranked } from "./board";
import { isFew, type Room } from "./board-layout";
import { BoardView } from "./board-view";
import { ClockView } from "./clock-view";
import { element, fitText } from "./dom";
import { AgendaView, MovementsView, PhaseView } from "./plan-view";
import { hasBoard, nextLine, planShown, scoredBlock } from "./plan-words";

/** How long each board stands when the class is done and there are several. */
const BOARD_TURN_MS = 18_000;

type Arranged = "board" | "few" | "plan" | "done";
/** Digits up to 9:59, or five of them: what is left of the width goes to the movements. */
type Digits = "short" | "long";

/** From this on the digits are five. */
const LONG_FROM = 600 * SECOND;

/** What the board has in root em, as wall.css shares the picture out; under the headings. */
const ROOMS: Record<Exclude<Arranged, "plan">, (digits: Digits) => Room> = {
  board: () => ({ width: 169.7, height: 49.2 }),
  few: (digits) => ({ width: digits === "short" ? 72 : 90, height: 49.2 }),
  done: () => ({ width: 169.7, height: 78.4 }),
};

export class ClassView {
  readonly root = element("section", "class");
  private readonly phase = new PhaseView();
  private readonly clock = new ClockView();
  private readonly next = element("p", "next");
  private readonly movements = new MovementsView();
  private readonly board = new BoardView();
  private readonly agenda = new AgendaView();
  private done: State | null = null;
  private boardTurn = 0;
  private turning: ReturnType<typeof setInterval> | undefined;

  constructor() {
    const under = element("div", "under-clock", this.next, this.clock.said);
    this.root.append(
      this.clock.line,
      element("div", "clock-side", this.phase.root, this.clock.root, under),
      this.movements.root,
      this.agenda.root,
      this.board.root,
    );
  }

  isStale(at: number): boolean {
    return !this.root.hidden && this.clock.isStale(at);
  }

  frame(at: number): void {
    if (!this.root.hidden) this.clock.frame(at);
  }

  /** Shows the class as it stands at house time `at`. */
  show(state: State, at: number): void {
    const now = showing(state.clock, state.segments, at);
    if (now.phase === "gathering" || now.phase === "done") {
      if (this.done === null) this.turnBoards();
      this.done = state;
      this.showDone(state);
    } else {
      this.done = null;
      clearInterval(this.turning);
      this.showStanding(state, now, at);
    }
  }

  /** What has which room; type is fitted after this. */
  private arrange(as: Arranged, digits: Digits): void {
    this.root.dataset.arranged = as;
    this.root.dataset.digits = digits;
    this.agenda.root.hidden = as !== "plan";
    this.movements.root.hidden = as === "done";
    this.board.root.hidden = as === "plan";
  }

  private showStanding(state: State, standing: Standing, at: number): void {
    const { session, segments, rows } = state;
    const index = standing.segment.block;
    const block = session.blocks[index];
    const scored = scoredBlock(state, index);
    const arranged = scored === null ? "plan" : isFew(rows) ? "few" : "board";
    const digits = digitsOf(state, standing);
    this.arrange(arranged, digits);

    this.phase.show(standing, block);
    this.root.dataset.phase = this.phase.root.dataset.phase;
    this.clock.show(standing, state.clock, segments, at);
    fitText(this.next, nextLine(state, standing), [4, 3.5, 3, 2.6]);
    this.movements.show(planShown(state, standing));
    if (scored === null || arranged === "plan") {
      this.agenda.show(state, index);
      return;
    }
    this.board.update({
      title: scored === index ? "" : pieceTitle(state, scored),
      rows,
      ranked: { block: scored, format: formatOf(session.blocks[scored]) },
      working: standing.segment.kind === "work" && standing.phase !== "waiting",
      extras: mayHaveExtras(standing, scored === index),
      room: ROOMS[arranged](digits),
    });
  }

  private turnBoards(): void {
    this.boardTurn = 0;
    this.turning = setInterval(() => {
      this.boardTurn += 1;
      if (this.done !== null) this.showDone(this.done);
    }, BOARD_TURN_MS);
  }

  /** The whole class and every piece by turns. */
  private showDone(state: State): void {
    this.arrange("done", "long");
    this.root.dataset.phase = "open";
    this.clock.clear();
    const { rows, session } = state;
    const pieces = session.blocks.flatMap((block, index) => (hasBoard(block) ? [index] : []));
    const boards: Ranked[] = pieces.map((block) => ({ block, format: formatOf(session.blocks[block]) }));
    if (boards.length > 1) boards.unshift("whole-class");
    const ranked = boards[this.boardTurn % Math.max(1, boards.length)];
    this.phase.done(ranked === undefined ? session.title : rankedWords(state, ranked, pieces));
    if (ranked !== undefined) {
      this.board.update({ title: "", rows, ranked, working: false, extras: true, room: ROOMS.done("long") });
    }
  }
}

/** What is ranked: a piece, or `Whole class: places in First tide · Second tide`. */
function rankedWords(state: State, ranked: Ranked, pieces: readonly number[]): string {
  if (ranked !== "whole-class") return pieceTitle(state, ranked.block);
  return `Whole class: places in ${pieces.map((piece) => pieceTitle(state, piece)).join(" · ")}`;
}

function pieceTitle({ session }: State, index: number): string {
  const block = session.blocks[index];
  return block === undefined ? "" : titleOf(block);
}

/** By all of the block's segments, so that nothing moves between its windows and rests; one that counts up may be long. */
function digitsOf({ segments }: State, { segment, length }: Standing): Digits {
  const lengths = segments.filter(({ block }) => block === segment.block).map(({ length }) => length);
  return [...lengths, length].some((each) => each === null || each >= LONG_FROM) ? "long" : "short";
}

/** Reps of an unfinished round are entered after a bell: until the first of the piece there are none. */
function mayHaveExtras({ segment, phase }: Standing, own: boolean): boolean {
  const before = segment.kind === "lead-in" || (segment.kind === "work" && phase !== "waiting");
  return !own || !before || (segment.window?.number ?? 1) > 1;
}
