/** What is done now: the phase in word and shape, the movements, and the plan of the whole class. */
import { kindShown, minutes, SECOND, type Standing } from "../shared/clock";
import type { Block, Movement, State } from "../shared/wire";
import { countWords, KIND_WORDS, movementWords, SIDES_WORDS, segmentWords, titleOf } from "../shared/words";
import { arrangement, element, fillList, fit, fitText, setText } from "./dom";
import { windowTitle } from "./plan-words";

/** Sizes of the movements' type in root em, largest first. */
const MOVEMENT_SIZES = [
  9, 8.4, 7.8, 7.2, 6.6, 6.2, 5.8, 5.6, 5.4, 5.2, 5, 4.8, 4.6, 4.4, 4.2, 4, 3.7, 3.4, 3, 2.6,
];
/** Where one stands out of the others, these are of a calm size. */
const LED_SIZES = MOVEMENT_SIZES.filter((size) => size <= 5.8);
/** How movements are set, the tidiest first: loads in a column, under the names, or after them, wrapping. */
const SETTINGS = ["columns", "stacked", "flowing"] as const;
/** A tidier setting is kept until another makes the names larger by this. */
const LARGER_BY = 1.25;

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
    this.root.classList.toggle("over", overrun > 0);
    fitText(this.window, windowTitle(segment, block), [4.6]);
    fitText(
      this.word,
      phase === "held" ? "Held" : phase === "waiting" ? `${word} · over` : word,
      [5.8, 5, 4.4, 3.8, 3.2, 2.7],
    );
  }

  /** @param title of the session */
  done(title: string): void {
    this.root.dataset.phase = "open";
    this.root.classList.remove("over");
    fitText(this.word, "Done", [5.8]);
    fitText(this.window, title, [5, 4.4, 3.8, 3.2, 2.6, 2.2]);
  }
}

/** What `MovementsView` shows; a part that is empty takes no room. */
export interface Movements {
  /** What the sheet says for everyone. */
  text: string;
  /** Which block the movements are of, where the phase does not say it. */
  title: string;
  /** How it is timed and scored. */
  how: string;
  /** How it should feel; shown where there is room. */
  aim: string;
  movements: readonly Movement[];
  /** Index of the movement that a coach-led block is at. */
  current: number | null;
}

/** The movements of a block. */
export class MovementsView {
  readonly root = element("section", "plan");
  private readonly text = element("p", "plan-text");
  private readonly title = element("h2", "plan-title");
  private readonly how = element("p", "plan-how");
  private readonly list = element("ol", "movements");
  private readonly aim = element("p", "plan-aim");
  private shown = "";

  constructor() {
    this.root.append(this.text, this.title, this.how, this.list, this.aim);
  }

  show(what: Movements): void {
    // The box has another size where it has other neighbours.
    const key = JSON.stringify([what, arrangement()]);
    if (key === this.shown) return;
    this.shown = key;
    const { text, title, how, aim, movements, current } = what;
    for (const [node, content] of [
      [this.text, text],
      [this.title, title],
      [this.how, how],
      [this.aim, aim],
    ] as const) {
      setText(node, content);
      node.hidden = content === "";
    }
    fillList(this.list, movements, makeMovement, fillMovement);
    this.list.classList.toggle(
      "uncounted",
      movements.every(({ amount }) => amount === null),
    );
    [...this.list.children].forEach((child, index) => {
      child.classList.toggle("current", index === current);
    });
    const alone = movements.length === 0 && title === "";
    this.root.classList.toggle("text-alone", alone);
    if (alone) fit(this.text, [6.4, 5.8, 5.2, 4.6, 4, 3.4, 3]);
    else this.text.style.fontSize = "";
    fitText(this.title, title, [5, 4.4, 3.8, 3.2]);
    fitText(this.how, how, [3.2, 2.9, 2.6, 2.3]);
    // The aim stands only where it takes no room from the movements.
    this.aim.hidden = true;
    this.fitMovements(current !== null);
    this.aim.hidden = aim === "";
    this.aim.hidden ||= overflows(this.list) || overflows(this.root);
  }

  private fitMovements(led: boolean): void {
    this.list.classList.toggle("led", led);
    if (led) {
      this.list.dataset.set = "stacked";
      fit(this.list, LED_SIZES);
      return;
    }
    const sizes = SETTINGS.map((set) => {
      this.list.dataset.set = set;
      return fit(this.list, MOVEMENT_SIZES) ?? 0;
    });
    const best = sizes.findIndex((size) => size > 0 && sizes.every((other) => other <= size * LARGER_BY));
    this.list.dataset.set = SETTINGS[best] ?? "flowing";
    this.list.style.fontSize = `${sizes[best] ?? MOVEMENT_SIZES.at(-1)}rem`;
  }
}

const overflows = (box: HTMLElement): boolean => box.scrollHeight > box.clientHeight;

function makeMovement(): HTMLElement {
  const name = element("span", "movement-name", element("span"), element("span", "sides"));
  return element(
    "li",
    "movement",
    element("b", "amount"),
    element("span", "what", name, element("span", "detail")),
  );
}

function fillMovement(child: HTMLElement, movement: Movement): void {
  const { name, load, tempo } = movementWords(movement);
  const part = (selector: string) => child.querySelector(selector) as HTMLElement;
  setText(part(".amount"), movement.amount === null ? "" : countWords(movement.amount));
  setText(part(".movement-name > span"), name);
  setText(part(".sides"), SIDES_WORDS[movement.sides]);
  setText(part(".detail"), [load, tempo].filter((each) => each !== "").join(" · "));
}

/** The plan of the class: every block with its planned length, where it is now, and what is behind. */
export class AgendaView {
  readonly root = element("section", "agenda");
  private readonly list = element("ol", "blocks");
  private shown = "";

  constructor() {
    this.root.append(element("h2", "agenda-title", "Today"), this.list);
  }

  /** @param current index of the block that runs; null while people gather */
  show({ session, segments }: Pick<State, "session" | "segments">, current: number | null): void {
    const make = () => element("li", "block", element("span", "block-name"), element("span", "block-length"));
    fillList(this.list, session.blocks, make, (child, block) => {
      const index = session.blocks.indexOf(block);
      const planned = segments
        .filter((segment) => segment.block === index && !segment.dropped)
        .reduce((sum, segment) => sum + segment.planned, 0);
      setText(child.children[0] as HTMLElement, titleOf(block));
      setText(child.children[1] as HTMLElement, minutes(Math.round(planned / SECOND)));
      child.classList.toggle("current", index === current);
      child.classList.toggle("past", current !== null && index < current);
    });
    // The current block is bold, so that its name may take another line.
    const key = `${arrangement()} ${current} ${this.list.textContent}`;
    if (key === this.shown) return;
    this.shown = key;
    fit(this.list, [4.6, 4.3, 4, 3.7, 3.4, 3.1, 2.8, 2.5]);
  }
}
