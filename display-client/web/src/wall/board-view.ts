/**
 * The board on the page. A row stands as long as its athlete is on the page that is shown, and moves by transform
 * alone: a busy board costs no layout beyond the text that changed. A row that comes in is a new element, so that it
 * appears in its place and does not come flying from where it stood long ago.
 */
import type { Group, Line } from "./board";
import { Latest } from "./board-latest";
import {
  DIGIT,
  GAP,
  type Grid,
  gridOf,
  NAME_MAX,
  type Needs,
  nameRoom,
  needsOf,
  type Page,
  type Panel,
  paceFits,
  paceWidth,
  pagesOf,
  type Room,
  TYPE,
} from "./board-layout";
import { cutName } from "./board-names";
import type { Turn } from "./board-turns";
import { pageWords } from "./board-words";
import { element, setText } from "./dom";

/** How long a row is marked after a count: long enough to look up from the floor and find it (own choice). */
const SCORED_US = 6_000_000;
/** While people work: how long each group or the tallies stand, and what they are on pace for. */
const WORK_TURN_MS = 20_000;
const PACE_TURN_MS = 8_000;
const GROUP_TURN_MS = 10_000;
/**
 * How long a page stands: who looks for themselves notices the page, then reads it row by row. Subtitles are
 * commonly given about as long for as many words (common practice), and people here are out of breath.
 */
const PAGE_MS = 3_000;
const PAGE_ROW_MS = 500;

/** What is shown, and in which room. */
export interface Shown {
  /** Changes where the class has come to something else: the turns then begin anew. */
  situation: string;
  turns: readonly Turn[];
  groups: (turn: Turn) => Group[];
  working: boolean;
  room: Room;
  /** House time. */
  at: number;
}

interface RowView {
  root: HTMLElement;
  place: HTMLElement;
  name: HTMLElement;
  home: HTMLElement;
  main: HTMLElement;
  rest: HTMLElement;
  pace: HTMLElement;
  /** Its texts. */
  shown: string;
  /** Where it stands, so that it is written only when it moves. */
  transform: string;
  /** House time of the count that it was marked for last. */
  markedFor: number;
  unmark: ReturnType<typeof setTimeout> | undefined;
}

export class BoardView {
  readonly root = element("section", "board");
  private readonly headings = [0, 1].map(() => element("h3", "group", element("span"), element("span")));
  private readonly views = new Map<string, RowView>();
  private readonly latest = new Map<Group["title"], Latest>();
  private shown: Shown | null = null;
  /** Whose turn it is: of the boards, of its pages; and how often all have had theirs. */
  private readonly turn = { board: 0, page: 0, round: 0 };
  private pages: Page[] = [];
  /** What the rows on the page belong to; rows of anything else have nothing to do with them. */
  private rowsOf = "";
  /** What was set last on the board and its headings. */
  private readonly set = new Map<string, string>();
  private heardAt = 0;
  private turning: ReturnType<typeof setTimeout> | undefined;
  private freeing: ReturnType<typeof setTimeout> | undefined;

  constructor() {
    this.root.append(...this.headings);
    this.root.style.setProperty("--type", `${TYPE}rem`);
  }

  update(shown: Shown): void {
    const anew = shown.situation !== this.shown?.situation;
    this.shown = shown;
    this.heardAt = performance.now();
    if (anew) {
      Object.assign(this.turn, { board: 0, page: 0, round: 0 });
      this.latest.clear();
    }
    this.place(shown);
    if (anew) this.schedule(shown);
  }

  /** The turns stop: the board is not on the wall. */
  rest(): void {
    clearTimeout(this.turning);
    clearTimeout(this.freeing);
    this.shown = null;
  }

  private schedule(shown: Shown): void {
    clearTimeout(this.turning);
    this.turning = setTimeout(() => this.next(), this.standsFor(shown));
  }

  private standsFor({ working, turns }: Shown): number {
    if (!working) return PAGE_MS + PAGE_ROW_MS * linesOf(this.pages[this.turn.page]).length;
    if (turns[this.turn.board]?.pace) return PACE_TURN_MS;
    return this.pages.length > 1 ? GROUP_TURN_MS : WORK_TURN_MS;
  }

  /** The next page; after the last the next board; after the last board all from the start. */
  private next(): void {
    const { shown, turn } = this;
    if (shown === null) return;
    turn.page += 1;
    if (turn.page >= this.pages.length) Object.assign(turn, { page: 0, board: turn.board + 1 });
    if (turn.board >= shown.turns.length) Object.assign(turn, { board: 0, round: turn.round + 1 });
    this.place(shown);
    this.schedule(shown);
  }

  private place(shown: Shown): void {
    const { turns, working, room } = shown;
    const { turn } = this;
    turn.board = Math.min(turn.board, turns.length - 1);
    const own = turns[turn.board];
    if (own === undefined) return;
    const groups = shown.groups(own);
    const needs = needsOf(groups, own.tally, nameWidth);
    const grid = gridOf(room, needs);
    // Where the pace has room beside the tally it needs no turn of its own.
    const beside = turns.some(({ pace }) => pace) && paceFits(grid, needs);
    const now = beside ? (turns[0] ?? own) : own;
    this.pages = pagesOf(
      groups,
      grid,
      turn.round,
      working ? (group, slots) => this.choose(group, slots) : null,
    );
    turn.page = Math.min(turn.page, Math.max(0, this.pages.length - 1));
    const page = this.pages[turn.page] ?? [];
    this.measure(grid, needs, now.rest);
    const paced = beside ? "beside" : now.pace ? "instead" : "none";
    if (this.root.dataset.pace !== paced) this.root.dataset.pace = paced;
    this.head(page, grid, now);
    const rowsOf = JSON.stringify([working, now.board]);
    if (rowsOf !== this.rowsOf) for (const key of [...this.views.keys()]) this.leave(key);
    this.rowsOf = rowsOf;
    const forName = (line: Line) => nameRoom(grid, needs, line, beside ? paceWidth(needs) : 0);
    this.stand(page, grid, (line, transform) => this.fill(line, transform, now.pace, forName(line)));
    this.freeLater();
  }

  private choose(group: Group, slots: number): readonly Line[] {
    const latest = this.latest.get(group.title) ?? new Latest();
    this.latest.set(group.title, latest);
    return latest.choose(group, slots, this.now());
  }

  /** House time. */
  private now(): number {
    return (this.shown?.at ?? 0) + (performance.now() - this.heardAt) * 1000;
  }

  /** Who waits for a slot comes in when one falls free, though nobody scores just then. */
  private freeLater(): void {
    clearTimeout(this.freeing);
    const due = Math.min(Number.POSITIVE_INFINITY, ...[...this.latest.values()].map(({ due }) => due));
    if (due === Number.POSITIVE_INFINITY) return;
    this.freeing = setTimeout(
      () => this.shown && this.place(this.shown),
      Math.max(0, due - this.now()) / 1000,
    );
  }

  private measure({ width, pitch }: Grid, { place, tally }: Needs, rest: number): void {
    const measures = {
      width: `${width}rem`,
      pitch: `${pitch}rem`,
      place: `${place * DIGIT}em`,
      tally: `${tally}em`,
    };
    this.changed("measures", { ...measures, rest: `${rest}em` }, (all) => {
      for (const [name, value] of Object.entries(all)) this.root.style.setProperty(`--${name}`, value);
    });
  }

  private head(page: Page, { width }: Grid, { title, pace }: Turn): void {
    const beside = this.root.dataset.pace === "beside";
    this.headings.forEach((heading, index) => {
      const panel = page[index];
      const which = panel === undefined || pace ? "" : whichWords(panel);
      const shown = panel && {
        left: joined(title, panel.group.title, beside ? which : ""),
        right: beside ? "on pace for" : which,
        width: `${panel.columns * (width + GAP) - GAP}rem`,
        transform: `translateX(${panel.column * (width + GAP)}rem)`,
      };
      this.changed(`heading ${index}`, shown, (shown) => {
        heading.hidden = shown === undefined;
        if (shown === undefined) return;
        Object.assign(heading.style, { width: shown.width, transform: shown.transform });
        setText(heading.children[0] as HTMLElement, shown.left);
        setText(heading.children[1] as HTMLElement, shown.right);
      });
    });
  }

  /** Sets what differs from what was set last. */
  private changed<Value>(what: string, value: Value, set: (value: Value) => void): void {
    const key = JSON.stringify(value) ?? "";
    if (this.set.get(what) === key) return;
    this.set.set(what, key);
    set(value);
  }

  /** Puts the rows of the page where they stand, and lets go of all others. */
  private stand(
    page: Page,
    { rows, width, pitch }: Grid,
    fill: (line: Line, transform: string) => void,
  ): void {
    const gone = new Set(this.views.keys());
    for (const { column, columns, lines } of page) {
      // Pages of one length fill their columns evenly; leaders stand in the first.
      const perColumn = columns === 1 ? rows : Math.max(1, Math.ceil(lines.length / columns));
      lines.forEach((line, at) => {
        gone.delete(line.key);
        const x = (column + Math.floor(at / perColumn)) * (width + GAP);
        fill(line, `translate(${x}rem, ${(at % perColumn) * pitch}rem)`);
      });
    }
    for (const key of gone) this.leave(key);
  }

  private fill(line: Line, transform: string, pace: boolean, room: number): void {
    const view = this.views.get(line.key) ?? this.make(line.key);
    if (view.transform !== transform) view.root.style.transform = transform;
    view.transform = transform;
    this.mark(view, line);
    const name = nameCut(line.name, room);
    const [main, rest] = pace ? line.pace : line.tally;
    const texts = [line.place === null ? "" : `${line.place}`, name, main, rest, line.pace.join(" ").trim()];
    // Most rows of an update are as they were, and to ask the page for its texts takes longer than to remember them.
    const shown = texts.join("\n");
    if (view.home.hidden === line.atHome) view.home.hidden = !line.atHome;
    if (view.shown === shown) return;
    view.shown = shown;
    [view.place, view.name, view.main, view.rest, view.pace].forEach((part, index) => {
      setText(part, texts[index] ?? "");
    });
  }

  /** Marks who has just scored, until it was long enough ago. */
  private mark(view: RowView, { scoredAt }: Line): void {
    if (scoredAt <= view.markedFor) return;
    const leftUs = scoredAt + SCORED_US - this.now();
    if (!this.shown?.working || leftUs <= 0) return;
    view.markedFor = scoredAt;
    view.root.classList.add("scored");
    clearTimeout(view.unmark);
    view.unmark = setTimeout(() => view.root.classList.remove("scored"), leftUs / 1000);
  }

  private make(key: string): RowView {
    const view: RowView = {
      root: element("div", "row"),
      place: element("span", "place"),
      name: element("span", "name"),
      home: element("span", "home"),
      main: element("b", "main"),
      rest: element("span", "rest"),
      pace: element("span", "pace"),
      shown: "",
      transform: "",
      markedFor: 0,
      unmark: undefined,
    };
    view.home.setAttribute("role", "img");
    view.home.ariaLabel = "at home";
    view.home.hidden = true;
    view.root.dataset.key = key;
    view.root.append(
      view.place,
      view.name,
      view.home,
      element("span", "tally", view.main, view.rest),
      view.pace,
    );
    this.root.append(view.root);
    this.views.set(key, view);
    return view;
  }

  private leave(key: string): void {
    const view = this.views.get(key);
    if (view === undefined) return;
    this.views.delete(key);
    clearTimeout(view.unmark);
    view.root.remove();
  }
}

/** Which of the group stand here: `7 to 12 of 40`, `by name`. */
function whichWords({ group, lines, from }: Panel): string {
  const { placed, of } = group;
  if (from === null) return chosenWords(lines, placed, of);
  const among = group.lines.length;
  const first = among < of && among === lines.length ? `first ${among} of ${of}` : "";
  const byName = placed > 0 && from >= placed ? "by name" : "";
  return joined(first, pageWords(from, lines.length, among), byName);
}

function chosenWords(lines: readonly Line[], placed: number, of: number): string {
  const scored = lines.some(({ scoredAt }) => scoredAt > 0) ? "just scored" : "";
  const who = placed > 0 ? "leaders, just scored" : scored;
  return joined(who, `${lines.length} of ${of}`);
}

const joined = (...parts: string[]): string => parts.filter((part) => part !== "").join(" · ");

const linesOf = (page: Page | undefined): Line[] => (page ?? []).flatMap(({ lines }) => [...lines]);

/** Tells the width of a name in em of its type, each name measured once. */
export const nameWidth: (name: string) => number = (() => {
  const known = new Map<string, number>();
  let context: CanvasRenderingContext2D | null = null;
  return (name) => {
    let width = known.get(name);
    if (width !== undefined) return width;
    context ??= document.createElement("canvas").getContext("2d");
    if (context !== null) context.font = "100px B612, system-ui, sans-serif";
    width = (context?.measureText(name).width ?? name.length * 60) / 100;
    known.set(name, width);
    return width;
  };
})();

/** A name as it fits in so many em; worked out once. */
const nameCut: (name: string, room: number) => string = (() => {
  const known = new Map<string, string>();
  return (name, room) => {
    const key = `${room.toFixed(2)} ${name}`;
    const cut = known.get(key) ?? cutName(name, (form) => nameWidth(form) <= room);
    known.set(key, cut);
    return cut;
  };
})();

/** Whether a name fits in a row that has the width to itself. */
export const nameFits = (name: string): boolean => nameWidth(name) <= NAME_MAX;
