/** The grid of people with the class clock over it. */
import { html, nothing, type TemplateResult } from "lit-html";
import type { Tablet } from "../tablet";
import type { Card, Head, Known, View } from "../view";
import { countWords, waitingWords } from "../words";
import { openMore, sheetTemplate } from "./sheets";

export function floor(tablet: Tablet, known: Known, { head, say, cards }: View): TemplateResult {
  const { notice } = tablet;
  const { stopped } = known.state.clock;
  const laid = stopped ? nothing : sheetTemplate(tablet, known, cards);
  return html`
    <div class="page" ?inert=${stopped || laid !== nothing}>
      ${headTemplate(tablet, head, say)}
      <ul class="grid" data-wide=${wide(cards.length)} data-tall=${tall(cards.length)}>
        ${cards.map((card) => cardTemplate(tablet, card))}
      </ul>
    </div>
    ${laid}
    <p class="notice" role="status" ?hidden=${notice === null}>${notice?.text ?? ""}</p>
    <p class="read-out" aria-live="polite">${readOut(cards)}</p>
  `;
}

/** Columns of a screen that lies, so that everyone has about as much of it; twelve people are four by three. */
function wide(people: number): number {
  if (people <= 3) return Math.max(1, people);
  if (people === 4) return 2;
  return people <= 6 || people === 9 ? 3 : 4;
}

/** Columns of a screen that stands upright; twelve people are three by four. */
function tall(people: number): number {
  if (people <= 3) return 1;
  return people <= 8 ? 2 : 3;
}

/** The frame loop writes the digits, and the line fills by itself: this template never touches either. */
function headTemplate(tablet: Tablet, { kind, word, window }: Head, say: string): TemplateResult {
  const waiting = tablet.waiting();
  return html`<header class="head" data-phase=${kind}>
    <h1 class="segment">
      <span class="phase-shape" aria-hidden="true"></span> <b>${word}</b>
      ${window === null ? nothing : html`<span>${window}</span>`}
    </h1>
    <div class="digits" role="timer" aria-live="off">${tablet.face.text}</div>
    <div class="say">
      ${tablet.connected ? nothing : html`<p class="alone"><b>On its own</b></p>`}
      ${waiting === 0 ? nothing : html`<p class="waits">${waitingWords(waiting)}</p>`}
      ${tablet.durable ? nothing : html`<p class="waits">Taps do not outlive a reload in this window.</p>`}
      <p>${say}</p>
    </div>
    <div class="run" aria-hidden="true"><i id="run"></i></div>
  </header>`;
}

/** Undo stands under the count, apart from it, so that a finger in a hurry finds only the one. */
function cardTemplate(tablet: Tablet, card: Card): TemplateResult {
  const { athlete, name, counted, touch, just, team, turn, scaled } = card;
  const [main, rest] = counted === null ? ["", ""] : countWords(counted.scoring, counted.count);
  const undoable = counted?.count.undoable ?? null;
  const undo = () => undoable !== null && tablet.undo(athlete, undoable);
  const about = [turn ? "next" : "", team === null ? "" : `team ${team}`, scaled ? "scaled" : ""].filter(
    (part) => part !== "",
  );
  return html`<li class="card" data-just=${just} data-touch=${touch.touch}>
    <button type="button" class="touch" data-athlete=${athlete} aria-disabled=${touch.touch === "nothing"}>
      <span class="flash" aria-hidden="true"></span>
      <span class="name">${name}</span>
      <span class="number" data-long=${main.length > 3}>${main}</span>
      <span class="unit">${rest}</span>
    </button>
    <div class="strip">
      <span class="about">${statusOf(card) || about.join(" · ")}</span>
      <button type="button" class="more" aria-label="More for ${name}" ?disabled=${counted === null} @click=${() => openMore(tablet, card)}>
        ⋯
      </button>
      <button type="button" class="undo" aria-label="Undo for ${name}" ?disabled=${undoable === null} @click=${undo}>
        Undo
      </button>
    </div>
  </li>`;
}

function statusOf({ counted, just, promised }: Card): string {
  const waiting = counted?.count.waiting ?? 0;
  if (waiting > 0) return waiting === 1 ? "1 waits" : `${waiting} wait`;
  if (promised) return "result waits";
  if (just) return "just now";
  return counted?.entered ? "entered" : "";
}

/** What is read out: whoever was counted for last. */
function readOut(cards: readonly Card[]): string {
  const last = cards
    .filter(({ just }) => just)
    .sort((a, b) => (b.counted?.count.at ?? 0) - (a.counted?.count.at ?? 0))[0];
  if (last?.counted == null) return "";
  return `${last.name} ${countWords(last.counted.scoring, last.counted.count).join(" ")}`;
}
