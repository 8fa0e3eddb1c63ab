/**
 * The class as it runs. Above: phase, digits and what is next on the left, the movements on the right. Below: the
 * board. A block that is not scored has no board: its movements take that room, and the plan of the class theirs.
 */
import { type Standing, showing } from "../shared/clock";
import type { State } from "../shared/wire";
import { formatOf, movementsNow } from "../shared/words";
import type { Ranked } from "./board";
import { BoardView } from "./board-view";
import { ClockView } from "./clock-view";
import { element, fillList, setText } from "./dom";
import { AgendaView, MovementsView, nextWords, PhaseView } from "./plan-view";

/** How long a finished round is named. */
const FINISHED_MS = 6_000;
/** How many are named at once: what fits the line. */
const FINISHED_MAX = 3;
/** How long each board stands when the class is done and there are several. */
const BOARD_TURN_MS = 18_000;

export class ClassView {
  readonly root = element("section", "class");
  private readonly phase = new PhaseView();
  private readonly clock = new ClockView();
  private readonly next = element("p", "next");
  private readonly movements = new MovementsView();
  private readonly finished = element("ul", "finished");
  private readonly finishedNow: string[] = [];
  private readonly board = new BoardView((name, tally) => this.finish(name, tally));
  private readonly agenda = new AgendaView();
  private done: State | null = null;
  private boardTurn = 0;

  constructor() {
    setInterval(() => {
      this.boardTurn += 1;
      if (this.done !== null) this.showDone(this.done);
    }, BOARD_TURN_MS);
    this.board.beside.append(this.finished);
    this.root.append(
      element(
        "div",
        "clock-side",
        this.phase.root,
        this.clock.root,
        element("div", "under-clock", this.next, this.clock.said),
      ),
      this.agenda.root,
      this.movements.root,
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
    this.done = null;
    if (now.phase === "gathering" || now.phase === "done") this.showDone(state);
    else this.showStanding(state, now, at);
  }

  /** What has which room; type is fitted after this. */
  private arrange(as: "board" | "plan" | "done"): void {
    this.root.dataset.arranged = as;
    this.agenda.root.hidden = as !== "plan";
    this.movements.root.hidden = as === "done";
    this.board.root.hidden = as === "plan";
  }

  private showStanding(state: State, standing: Standing, at: number): void {
    const { session, segments } = state;
    const block = session.blocks[standing.segment.block];
    this.phase.show(standing, block);
    this.root.dataset.phase = this.phase.root.dataset.phase;
    this.clock.show(standing, state.clock, segments, at);
    setText(this.next, nextLine(state, standing));

    const ahead = blockAhead(state, standing);
    const shown = session.blocks[ahead];
    const title = ahead === standing.segment.block ? (shown?.name ?? "") : `Next: ${shown?.name ?? ""}`;
    const scored = scoredBlock(state, standing.segment.block);
    this.arrange(scored === null ? "plan" : "board");
    this.movements.show(title, shown, movementsNow(state, ahead), standing.segment.movement);

    if (scored === null) this.agenda.show(state, standing.segment.block);
    else this.showBoard(state, { block: scored, format: formatOf(session.blocks[scored]) }, standing);
  }

  private showDone(state: State): void {
    this.done = state;
    this.phase.done();
    this.root.dataset.phase = "open";
    this.clock.clear();
    setText(this.next, "");
    this.arrange("done");
    const pieces = state.session.blocks.flatMap((block, index) =>
      formatOf(block) === undefined ? [] : [index],
    );
    const boards: Ranked[] = pieces.map((block) => ({
      block,
      format: formatOf(state.session.blocks[block]),
    }));
    if (boards.length > 1) boards.unshift("whole-class");
    const ranked = boards[this.boardTurn % Math.max(1, boards.length)];
    if (ranked !== undefined) this.showBoard(state, ranked, null);
  }

  private showBoard(state: State, ranked: Ranked, standing: Standing | null): void {
    const own = ranked !== "whole-class" && ranked.block === standing?.segment.block;
    const name = own ? "Board" : boardName(state, ranked);
    const working = standing !== null && standing.segment.kind === "work" && standing.phase !== "waiting";
    this.board.update(name, state.rows, ranked, { working, tall: standing === null });
  }

  private finish(name: string, tally: string): void {
    if (name === "") return;
    const text = `${name} ${tally}`;
    this.finishedNow.unshift(text);
    this.finishedNow.length = Math.min(this.finishedNow.length, FINISHED_MAX);
    this.drawFinished();
    setTimeout(() => {
      const index = this.finishedNow.lastIndexOf(text);
      if (index >= 0) this.finishedNow.splice(index, 1);
      this.drawFinished();
    }, FINISHED_MS);
  }

  private drawFinished(): void {
    fillList(this.finished, this.finishedNow, () => element("li"), setText);
  }
}

/** The board's name where what is ranked is not what stands above it. */
function boardName({ session }: State, ranked: Ranked): string {
  if (ranked !== "whole-class") return session.blocks[ranked.block]?.name ?? "";
  const pieces = session.blocks.filter((block) => formatOf(block) !== undefined).map(({ name }) => name);
  return `Whole class: places in ${pieces.join(" · ")}`;
}

function nextLine(state: State, standing: Standing): string {
  if (standing.phase === "held") return "The clock is held";
  if (standing.resumeIn > 0) return "Work goes on from here";
  return `Next: ${nextWords(state, standing)}`;
}

/** The block whose movements are shown: this one, or in a rest between blocks the one that follows. */
function blockAhead({ session, segments }: State, { segment, next }: Standing): number {
  if (session.blocks[segment.block]?.kind.kind !== "rest" || next === null) return segment.block;
  return segments[next]?.block ?? segment.block;
}

/** The piece whose board is shown: this block, or in a rest between blocks the piece before it. */
function scoredBlock({ session }: State, block: number): number | null {
  if (formatOf(session.blocks[block]) !== undefined) return block;
  if (session.blocks[block]?.kind.kind !== "rest") return null;
  for (let before = block - 1; before >= 0; before -= 1) {
    if (formatOf(session.blocks[before]) !== undefined) return before;
  }
  return null;
}
