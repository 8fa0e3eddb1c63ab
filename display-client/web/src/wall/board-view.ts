/**
 * The board on the page. Every athlete has one row element for as long as they are in the class; a row moves by
 * transform alone, so a busy board costs no layout beyond the row's own text. Who has just finished a round is
 * marked on their row for some seconds.
 */
import type { AthleteId, Row } from "../shared/wire";
import { type Group, groups, type Line, type Ranked } from "./board";
import { type LayOptions, lay, type Room, rowWidth, tallyWidth } from "./board-layout";
import { element, setText } from "./dom";

/** How long a row is marked after a round. */
const SCORED_MS = 6_000;
/** How long a page stands before the next takes its turn. */
const TURN_MS = 9_000;

/** What is shown, and in which room. */
export interface Shown {
  /** What the ranking is called, where it is not of the piece that runs; else empty. */
  title: string;
  rows: readonly Row[];
  ranked: Ranked;
  working: boolean;
  /** Whether a tally may hold reps of an unfinished round. */
  extras: boolean;
  room: Room;
}

interface RowView {
  root: HTMLElement;
  place: HTMLElement;
  name: HTMLElement;
  home: HTMLElement;
  main: HTMLElement;
  rest: HTMLElement;
  scoredAt: number;
  mark: ReturnType<typeof setTimeout> | undefined;
}

export class BoardView {
  readonly root = element("section", "board");
  private readonly headings = [0, 1].map(() => element("h3", "group"));
  private readonly views = new Map<AthleteId, RowView>();
  private readonly nameWidth = nameWidths();
  private shown: readonly Group[] = [];
  private title = "";
  /** How the board is laid out now. */
  private readonly options: LayOptions = {
    turn: 0,
    working: false,
    room: { width: 1, height: 1 },
    needs: 1,
  };
  private ranked = "";

  constructor() {
    this.root.append(...this.headings);
    setInterval(() => {
      this.options.turn += 1;
      if (!this.options.working) this.place();
    }, TURN_MS);
  }

  /** Shows the rows, ranked by one piece or the whole class. */
  update({ title, rows, ranked, working, extras, room }: Shown): void {
    const key = ranked === "whole-class" ? ranked : `${ranked.block}`;
    const marks = working && key === this.ranked;
    if (key !== this.ranked || working !== this.options.working) this.options.turn = 0;
    if (key !== this.ranked) for (const { root } of this.views.values()) root.classList.remove("scored");
    this.ranked = key;
    this.title = title;
    this.shown = groups(rows, ranked);
    const needs = rowWidth(
      this.shown,
      tallyWidth(ranked, rows[0]?.scores.length ?? 0, extras),
      this.nameWidth,
    );
    Object.assign(this.options, { working, room, needs });

    const lines = this.shown.flatMap((group) => group.lines);
    const known = new Set(lines.map(({ athlete }) => athlete));
    for (const [athlete, { root }] of this.views) {
      if (known.has(athlete)) continue;
      root.remove();
      this.views.delete(athlete);
    }
    for (const line of lines) this.fill(line, marks);
    this.place();
  }

  private fill(line: Line, marks: boolean): void {
    const view = this.views.get(line.athlete) ?? this.make(line.athlete);
    setText(view.place, line.place === null ? "" : `${line.place}`);
    setText(view.name, line.name);
    view.home.hidden = !line.atHome;
    setText(view.main, line.main);
    setText(view.rest, line.rest);
    if (marks && line.scoredAt > view.scoredAt) mark(view);
    view.scoredAt = line.scoredAt;
  }

  private make(athlete: AthleteId): RowView {
    const view: RowView = {
      root: element("div", "row away"),
      place: element("span", "place"),
      name: element("span", "name"),
      home: element("span", "home"),
      main: element("b", "main"),
      rest: element("span", "rest"),
      scoredAt: 0,
      mark: undefined,
    };
    view.home.setAttribute("role", "img");
    view.home.ariaLabel = "at home";
    view.root.append(view.place, view.name, view.home, element("span", "tally", view.main, view.rest));
    this.root.append(view.root);
    this.views.set(athlete, view);
    return view;
  }

  private place(): void {
    const { columns, type, pitch, slots, headings, pages } = lay(this.shown, this.options);
    const { style } = this.root;
    style.setProperty("--columns", `${Math.max(columns, 1)}`);
    style.setProperty("--type", `${type}rem`);
    style.setProperty("--pitch", `${pitch}rem`);
    this.headings.forEach((heading, index) => {
      const group = headings[index];
      heading.hidden = group === undefined;
      if (group === undefined) return;
      heading.style.setProperty("--column", `${group.column}`);
      heading.style.setProperty("--across", `${group.columns}`);
      const some = pages > 1 || group.shown < group.of ? `${group.shown} of ${group.of}` : "";
      setText(heading, [this.title, group.title, some].filter((part) => part !== "").join(" · "));
    });
    for (const [athlete, { root }] of this.views) {
      const slot = slots.get(athlete);
      root.classList.toggle("away", slot === undefined);
      if (slot === undefined) continue;
      root.style.setProperty("--column", `${slot.column}`);
      root.style.setProperty("--row", `${slot.row}`);
    }
  }
}

function mark(view: RowView): void {
  view.root.classList.add("scored");
  clearTimeout(view.mark);
  view.mark = setTimeout(() => view.root.classList.remove("scored"), SCORED_MS);
}

/** Tells the width of a name in em, each name measured once. */
function nameWidths(): (name: string) => number {
  const known = new Map<string, number>();
  const context = document.createElement("canvas").getContext("2d");
  return (name) => {
    let width = known.get(name);
    if (width !== undefined) return width;
    if (context !== null) context.font = "100px B612, system-ui, sans-serif";
    width = (context?.measureText(name).width ?? name.length * 60) / 100;
    known.set(name, width);
    return width;
  };
}
