/** The class under way: the clock, what is done, and the touch area or the result entry. */
import { html, nothing, type TemplateResult } from "lit-html";
import { movement } from "../../counting/movement";
import { scoringAt, touchOf } from "../../counting/scoring";
import type { SegmentIndex } from "../../shared/wire";
import type { Phone } from "../phone";
import type { Card, Foot, Head, Known, List, View } from "../view";
import { countedWords } from "../words";
import { countTemplate, lentTemplate } from "./count";
import { entryTemplate } from "./entry";
import { details } from "./parts";
import { timers } from "./timers";

type Floor = Extract<View, { screen: "floor" }>;

export function floor(phone: Phone, known: Known, { head, list, foot, deck, offer }: Floor): TemplateResult {
  const here = deck.findIndex((card) => card.here);
  const others = (cards: readonly Card[]) => cards.map((card) => cardTemplate(phone, known, card));
  return html`<div class="floor" data-foot=${foot.foot}>
    <div class="above">
      ${headTemplate(phone, head)} ${list === null ? nothing : listTemplate(phone, list)}
    </div>
    <div class="foot" data-deck=${deck.length > 1}>
      ${offer === null ? nothing : offerTemplate(phone, known, offer)}
      ${others(deck.slice(0, Math.max(here, 0)))} ${footTemplate(phone, known, foot)}
      ${others(deck.slice(here + 1))}
    </div>
  </div>`;
}

/** The frame loop writes the digits, and the line fills by itself: this template never touches either. */
function headTemplate({ face }: Phone, { kind, word, window }: Head): TemplateResult {
  return html`<div class="clock" data-phase=${kind}>
    <h1 class="segment">
      <span class="phase-shape" aria-hidden="true"></span> <b>${word}</b>
      ${window === null ? nothing : html`<span>${window}</span>`}
    </h1>
    <div class="digits" id="digits" role="timer" aria-live="off">${face.text}</div>
    <div class="run" aria-hidden="true"><i id="run"></i></div>
  </div>`;
}

function listTemplate(phone: Phone, list: List): TemplateResult {
  if (list.timers) return timers(phone, list);
  return html`<section class="list">
    ${list.notes.map((note) => html`<p>${note}</p>`)}
    <h2>${list.title}</h2>
    <ul class="movements">
      ${list.doing.map(
        (each) => html`<li class=${each.index === list.current ? "current" : ""}>
          ${movement(each)}${each.index === list.current ? details(each) : nothing}
        </li>`,
      )}
    </ul>
  </section>`;
}

/** Somebody else whom this phone counts for: their place does not change, and one touch turns to them. */
function cardTemplate(phone: Phone, { athlete }: Known, { whose, count, scoring }: Card): TemplateResult {
  const [main, unit] = countedWords(count, scoring);
  const turn = () => phone.turnTo(whose.athlete === athlete ? null : whose.athlete);
  return html`<button class="card" data-me=${whose.me} @click=${turn}>
    <span><small>${whose.me ? "Count for yourself" : "Count for"}</small><b>${whose.name}</b></span>
    <span class="score">${main} <small>${unit}</small></span>
  </button>`;
}

function offerTemplate(
  phone: Phone,
  { state }: Known,
  segment: SegmentIndex,
): TemplateResult | typeof nothing {
  const scoring = scoringAt(state, segment);
  const { counts, say } = scoring === null ? { counts: null, say: "" } : touchOf(scoring);
  if (counts === null) return nothing;
  return html`<div class="offer">
    <p>This phone is on its own. If work still goes on in the hall, count here.</p>
    <button @click=${() => phone.tap(segment, counts)}>
      ${say}
    </button>
  </div>`;
}

function footTemplate(phone: Phone, known: Known, foot: Foot): TemplateResult | typeof nothing {
  switch (foot.foot) {
    case "none":
      return nothing;
    case "entry":
      return entryTemplate(phone, known, foot.entry, foot.asked);
    case "lent":
      return lentTemplate(phone, known, foot);
    case "count":
      return countTemplate(phone, known, foot);
  }
}
