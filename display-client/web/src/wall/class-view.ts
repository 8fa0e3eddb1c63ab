/**
 * The class as it runs, and when it is done. The wall is shared out by what people need then:
 *
 * - `work`: the clock at its largest and the movements; below them a few rows of the board across the wall;
 * - `few`: so few people that they all stand under the digits; the movements have all of the right;
 * - `pages`: at rest, and while the clock waits: a smaller clock above the whole board in pages; what comes next on
 *   the right, or beside the clock where the rows need the width (`pages-wide`);
 * - `plan`: a block that is not scored has no board; movements under the digits, the plan of the class on the right;
 * - `done`: the board alone.
 */
import { kindShown, SECOND, type Standing, showing } from "../shared/clock";
import type { BlockIndex, State } from "../shared/wire";
import { type Counted, type Group, groups } from "./board";
import { isFew, needsOf, type Room, rowWidth, TYPE } from "./board-layout";
import { Names } from "./board-names";
import { type Turn, turnsAtRest, turnsDone, turnsInWork } from "./board-turns";
import { BoardView, nameFits, nameWidth } from "./board-view";
import { ClockView } from "./clock-view";
import { arrangement, element, fitText, rearranged } from "./dom";
import { AgendaView, MovementsView, PhaseView } from "./plan-view";
import { nextLine, planShown, scoredBlock } from "./plan-words";

type Arranged = "work" | "few" | "pages" | "pages-wide" | "plan" | "done";
/** Digits up to 9:59, or five of them: what is left of the width goes to the movements. */
type Digits = "short" | "long";

/** From this on the digits are five. */
const LONG_FROM = 600 * SECOND;

/** What the board has in root em, as wall.css shares the picture out; under the headings. */
export const ROOMS: Record<Exclude<Arranged, "plan">, (digits: Digits) => Room> = {
  work: () => ({ width: 169.7, height: 47.2 }),
  few: (digits) => ({ width: digits === "short" ? 72 : 90, height: 47.2 }),
  pages: () => ({ width: 126, height: 70.6 }),
  "pages-wide": () => ({ width: 169.7, height: 70.6 }),
  done: () => ({ width: 169.7, height: 78.6 }),
};

export class ClassView {
  readonly root = element("section", "class");
  private readonly phase = new PhaseView();
  private readonly clock = new ClockView();
  private readonly next = element("p", "next");
  private readonly movements = new MovementsView();
  private readonly board = new BoardView();
  private readonly agenda = new AgendaView();
  private readonly names = new Names();
  private decided: { situation: string; arranged: Arranged } | null = null;
  /** Of what the clock and the movements were last shown. */
  private parts: readonly unknown[] = [];

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

  /** Another view has the wall. */
  rest(): void {
    this.board.rest();
  }

  /** Shows the class as it stands at house time `at`; `places` says whether the house shows any. */
  show(state: State, at: number, places: boolean): void {
    const now = showing(state.clock, state.segments, at);
    if (now.phase === "gathering" || now.phase === "done") this.showDone(state, at, places);
    else this.showStanding(state, now, at, places);
  }

  /** What has which room; type is fitted after this. */
  private arrange(as: Arranged, digits: Digits): void {
    if (this.root.dataset.arranged === as && this.root.dataset.digits === digits) return;
    rearranged();
    this.root.dataset.arranged = as;
    this.root.dataset.digits = digits;
    this.agenda.root.hidden = as !== "plan";
    this.movements.root.hidden = as === "done";
    this.board.root.hidden = as === "plan";
  }

  private showStanding(state: State, standing: Standing, at: number, places: boolean): void {
    const block = blockShown(state, standing);
    const scored = scoredBlock(state, block);
    const works = isWork(standing);
    const turns =
      scored === null
        ? []
        : works
          ? turnsInWork(state, scored, standing)
          : turnsAtRest(state, scored, standing.index, places);
    const made = ({ board }: Turn) => this.groups(state, board, places);
    const situation = works ? `work ${block}` : `rest ${standing.index}`;
    const digits = digitsOf(state, block, standing);
    const arranged = this.arrangedFor(`${situation} ${digits} ${state.rows.length}`, () =>
      turns.length === 0 ? "plan" : works ? inWork(turns, made, digits) : atRest(turns, made),
    );
    this.arrange(arranged, digits);
    this.showClock(state, standing, at);
    if (arranged === "plan") {
      this.agenda.show(state, standing.segment.block);
      this.board.rest();
      return;
    }
    this.board.update({ situation, turns, groups: made, working: works, room: ROOMS[arranged](digits), at });
  }

  /** The clock and what is done; of a busy board's many changes most touch neither. */
  private showClock(state: State, standing: Standing, at: number): void {
    const { session, segments, swaps, clock } = state;
    const parts = [session, segments, swaps, clock, arrangement()];
    if (!this.clock.isStale(at) && parts.every((part, index) => part === this.parts[index])) return;
    this.parts = parts;
    this.phase.show(standing, session.blocks[standing.segment.block]);
    this.root.dataset.phase = this.phase.root.dataset.phase;
    this.clock.show(standing, clock, segments, at);
    fitText(this.next, nextLine(state, standing), [4, 3.5, 3, 2.6]);
    this.movements.show(planShown(state, standing));
  }

  /** Decided once for each situation, so that no count rearranges the wall. */
  private arrangedFor(situation: string, decide: () => Arranged): Arranged {
    if (this.decided?.situation !== situation) this.decided = { situation, arranged: decide() };
    return this.decided.arranged;
  }

  private groups(state: Counted, board: Turn["board"], places: boolean): Group[] {
    return groups(state, board, { names: this.names, places, fits: nameFits });
  }

  /** The whole class and every piece by turns. */
  private showDone(state: State, at: number, places: boolean): void {
    this.arrange("done", "long");
    this.root.dataset.phase = "open";
    this.clock.clear();
    this.parts = [];
    this.phase.done(state.session.title);
    const turns = turnsDone(state, places);
    const made = ({ board }: Turn) => this.groups(state, board, places);
    const room = ROOMS.done("long");
    this.board.update({ situation: "done", turns, groups: made, working: false, room, at });
  }
}

/** The rows must hold their widest; where they need more than the board's usual part, what comes next gives way. */
function atRest(turns: readonly Turn[], made: (turn: Turn) => Group[]): Arranged {
  const widest = Math.max(
    ...turns.map((turn) => {
      const needs = needsOf(made(turn), turn.tally, nameWidth);
      return rowWidth(needs, needs.nameLeast);
    }),
  );
  return widest * TYPE <= ROOMS.pages("long").width ? "pages" : "pages-wide";
}

function inWork([turn]: readonly Turn[], made: (turn: Turn) => Group[], digits: Digits): Arranged {
  if (turn === undefined) return "work";
  const shown = made(turn);
  const needs = needsOf(shown, turn.tally, nameWidth);
  return isFew(shown, ROOMS.few(digits), needs) ? "few" : "work";
}

/** People are at work, or about to be: the clock is at its largest. */
const isWork = (standing: Standing): boolean =>
  standing.phase !== "waiting" && ["work", "lead-in"].includes(kindShown(standing));

/** The last seconds of a rest belong to the work that they lead in. */
function blockShown({ segments }: State, standing: Standing): BlockIndex {
  const leads = standing.segment.kind === "rest" && kindShown(standing) === "lead-in";
  const next = leads && standing.next !== null ? segments[standing.next] : undefined;
  return next?.block ?? standing.segment.block;
}

/** By all of the block's segments, so that nothing moves between its windows and rests; one that counts up may be long. */
function digitsOf({ segments }: State, shown: BlockIndex, { length }: Standing): Digits {
  const lengths = segments.filter(({ block }) => block === shown).map(({ length }) => length);
  return [...lengths, length].some((each) => each === null || each >= LONG_FROM) ? "long" : "short";
}
