/** What is done now and what comes next: the phase in word and shape, the movements, the line of what follows. */
import { kindShown, minutes, SECOND, type Standing } from "../shared/clock";
import type { Block, Format, Movement, Segment, State } from "../shared/wire";
import {
  countWords,
  formatOf,
  formatWords,
  KIND_WORDS,
  movementWords,
  SIDES_WORDS,
  segmentWords,
} from "../shared/words";
import { element, fillList, fit, setText } from "./dom";

/** Sizes of the movements' type in root em, largest first. */
const MOVEMENT_SIZES = [6.8, 6, 5.4, 4.8, 4.4, 4, 3.6, 3.2, 2.8, 2.4];
const WRAPS_UNDER = 4.4;

/** Phase in word and shape, with the window, over the digits. */
export class PhaseView {
  readonly root = element("header", "phase");
  private readonly word = element("span", "phase-word");
  private readonly window = element("span", "phase-window");

  constructor() {
    this.root.append(element("span", "phase-shape"), this.word, this.window);
  }

  show(standing: Standing, block: Block | undefined): void {
    const { phase, segment, overrun } = standing;
    const kind = kindShown(standing);
    this.root.dataset.phase = phase === "held" ? "held" : kind;
    const word = kind === segment.kind ? segmentWords(segment, block) : KIND_WORDS[kind];
    setText(this.word, phase === "held" ? "Held" : phase === "waiting" ? `${word} · over` : word);
    setText(this.window, windowTitle(segment, block));
    this.root.classList.toggle("over", overrun > 0);
  }

  done(): void {
    this.root.dataset.phase = "open";
    setText(this.word, "Done");
    setText(this.window, "");
  }
}

/** The movements of a block. */
export class MovementsView {
  readonly root = element("section", "plan");
  private readonly title = element("h2", "plan-title");
  private readonly how = element("p", "plan-how");
  private readonly list = element("ol", "movements");
  private shown = "";

  constructor() {
    this.root.append(this.title, this.how, this.list);
  }

  /** @param current index of the movement that a coach-led block is at */
  show(
    title: string,
    block: Block | undefined,
    movements: readonly Movement[],
    current: number | null,
  ): void {
    // The box has another size where it has other neighbours.
    const key = JSON.stringify([title, movements, current, this.root.clientWidth, this.root.clientHeight]);
    if (key === this.shown) return;
    this.shown = key;
    const format = formatOf(block);
    setText(this.title, title);
    setText(this.how, format === undefined ? (block?.notes[0] ?? "") : formatWords(format));
    fillList(this.list, movements, makeMovement, fillMovement);
    [...this.list.children].forEach((child, index) => {
      child.classList.toggle("current", index === current);
      child.classList.toggle("not-current", current !== null && index !== current);
    });
    // Names stay on one line while the type is large; long ones would rather wrap than be small.
    this.list.classList.remove("wraps");
    if (
      fit(
        this.list,
        MOVEMENT_SIZES.filter((size) => size >= WRAPS_UNDER),
      )
    )
      return;
    this.list.classList.add("wraps");
    fit(this.list, MOVEMENT_SIZES);
  }
}

function makeMovement(): HTMLElement {
  const name = element("span", "movement-name", element("span"), element("span", "sides"));
  return element("li", "movement", element("b", "amount"), name, element("span", "load"));
}

function fillMovement(child: HTMLElement, movement: Movement): void {
  const { name, load, tempo } = movementWords(movement);
  const [amountNode, nameNode, loadNode] = child.children;
  setText(amountNode as HTMLElement, movement.amount === null ? "" : countWords(movement.amount));
  setText(nameNode?.children[0] as HTMLElement, name);
  setText(nameNode?.children[1] as HTMLElement, SIDES_WORDS[movement.sides]);
  setText(loadNode as HTMLElement, [load, tempo].filter((part) => part !== "").join(" · "));
}

/** `Window 2 of 4`, `Interval 3 of 8`, or the round of a coach-led block; a rest has none of its own. */
function windowTitle(segment: Segment, block: Block | undefined): string {
  const window = windowWords(segment);
  if (window === "" || segment.kind === "rest" || segment.kind === "lead-in") return "";
  const format = formatOf(block)?.format;
  const title = format === undefined ? "Round" : INTERVALS.includes(format) ? "Interval" : "Window";
  return `${title} ${window}`;
}

const INTERVALS: readonly Format["format"][] = ["every-n", "intervals"];

/** Which of how many, where there are several. */
export const windowWords = ({ window }: Segment): string =>
  window === null || window.of === 1 ? "" : `${window.number} of ${window.of}`;

/** The segment after this one in words: `Rest 1:30`, `Work 4:00 · 3 of 4`, or the block that follows. */
export function nextWords({ segments, session }: State, standing: Standing): string {
  const next = standing.next === null ? undefined : segments[standing.next];
  if (next === undefined) return "end of the class";
  const block = session.blocks[next.block];
  const length = next.length === null ? "" : minutes(Math.round(next.length / SECOND));
  if (next.block !== standing.segment.block)
    return [block?.name, next.kind === "lead-in" ? "" : length].join(" ").trim();
  if (next.movement !== null) return [block?.movements[next.movement]?.name, length].join(" ").trim();
  const window = next.kind === "work" ? windowWords(next) : "";
  return [`${KIND_WORDS[next.kind]} ${length}`.trim(), window].filter((part) => part !== "").join(" · ");
}

/** The plan of the class: every block with its planned length, where it is now, and what is behind. */
export class AgendaView {
  readonly root = element("section", "agenda");
  private readonly list = element("ol", "blocks");

  constructor() {
    this.root.append(element("h2", "board-title", "Today"), this.list);
  }

  /** @param current index of the block that runs; null while people gather */
  show({ session, segments }: State, current: number | null): void {
    const make = () => element("li", "block", element("span", "block-name"), element("span", "block-length"));
    fillList(this.list, session.blocks, make, (child, block) => {
      const index = session.blocks.indexOf(block);
      const planned = segments
        .filter((segment) => segment.block === index && !segment.dropped)
        .reduce((sum, segment) => sum + segment.planned, 0);
      setText(child.children[0] as HTMLElement, block.name);
      setText(child.children[1] as HTMLElement, minutes(Math.round(planned / SECOND)));
      child.classList.toggle("current", index === current);
      child.classList.toggle("past", current !== null && index < current);
    });
    fit(this.list, [4.6, 4, 3.4, 2.8]);
  }
}
