/**
 * The board on the page. Every athlete has one row element for as long as they are in the class; a row moves by
 * transform alone, so a busy board costs no layout beyond the row's own text.
 */
import type { AthleteId, Row } from "../shared/wire";
import { type Group, groups, type LayOptions, type Line, lay, type Ranked } from "./board";
import { element, setText } from "./dom";

/** How long a row is marked after a round. */
const SCORED_MS = 6_000;
/** How long a page stands before the next takes its turn. */
const TURN_MS = 9_000;

export type BoardOptions = Omit<LayOptions, "turn">;

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
  private readonly title = element("h2", "board-title");
  /** Where the page names who has just finished a round. */
  readonly beside = element("div", "board-beside");
  private readonly headings = [0, 1].map(() => element("h3", "group"));
  private readonly rows = element("div", "rows");
  private readonly views = new Map<AthleteId, RowView>();
  private shown: readonly Group[] = [];
  /** How the board is laid out now. */
  private readonly options: LayOptions = { working: false, tall: false, turn: 0 };
  private ranked = "";

  /** @param finished told when somebody has finished a round: their name, and the tally as it stands */
  constructor(private readonly finished: (name: string, tally: string) => void) {
    this.rows.append(...this.headings);
    this.root.append(element("div", "board-head", this.title, this.beside), this.rows);
    setInterval(() => {
      this.options.turn += 1;
      if (!this.options.working) this.place();
    }, TURN_MS);
  }

  /** Shows the rows, ranked by one piece or the whole class. */
  update(title: string, rows: readonly Row[], ranked: Ranked, { working, tall }: BoardOptions): void {
    const key = ranked === "whole-class" ? ranked : `${ranked.block}`;
    const marks = working && key === this.ranked;
    if (key !== this.ranked || working !== this.options.working) this.options.turn = 0;
    this.ranked = key;
    Object.assign(this.options, { working, tall });
    this.shown = groups(rows, ranked);
    setText(this.title, title);

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
    if (marks && line.scoredAt > view.scoredAt) this.mark(view, line);
    view.scoredAt = line.scoredAt;
  }

  private make(athlete: AthleteId): RowView {
    const view: RowView = {
      root: element("div", "row away"),
      place: element("span", "place"),
      name: element("span", "name"),
      home: element("span", "home", "at home"),
      main: element("b", "main"),
      rest: element("span", "rest"),
      scoredAt: 0,
      mark: undefined,
    };
    view.root.append(view.place, view.name, view.home, element("span", "tally", view.main, view.rest));
    this.rows.append(view.root);
    this.views.set(athlete, view);
    return view;
  }

  private mark(view: RowView, { name, main }: Line): void {
    this.finished(name, main);
    view.root.classList.add("scored");
    clearTimeout(view.mark);
    view.mark = setTimeout(() => view.root.classList.remove("scored"), SCORED_MS);
  }

  private place(): void {
    const { columns, size, slots, headings, pages } = lay(this.shown, this.options);
    this.rows.dataset.size = `${size}`;
    this.rows.style.setProperty("--columns", `${Math.max(columns, 1)}`);
    this.headings.forEach((heading, index) => {
      const group = headings[index];
      heading.hidden = group === undefined;
      if (group === undefined) return;
      heading.style.setProperty("--column", `${group.column}`);
      heading.style.setProperty("--across", `${group.columns}`);
      const some = pages > 1 || group.shown < group.of ? ` · ${group.shown} of ${group.of}` : "";
      setText(heading, `${group.title}${some}`);
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
