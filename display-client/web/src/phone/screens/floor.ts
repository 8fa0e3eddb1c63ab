/** The class under way: the clock, what is done, and the touch area or the result entry. */
import { html, nothing, type TemplateResult } from "lit-html";
import type { SegmentIndex } from "../../shared/wire";
import type { Count } from "../count";
import type { Phone } from "../phone";
import type { Foot, Head, Known, List, Standings, View } from "../view";
import { placeWords, roundsWord, scoreWords, splitWords, waitingWords } from "../words";
import { entryTemplate } from "./entry";
import { details, movement } from "./parts";
import { timers } from "./timers";

type Floor = Extract<View, { screen: "floor" }>;

export function floor(phone: Phone, known: Known, { head, list, foot, offer }: Floor): TemplateResult {
  return html`<div class="floor" data-foot=${foot.foot}>
    <div class="above">
      ${headTemplate(phone, head)} ${list === null ? nothing : listTemplate(phone, list)}
    </div>
    <div class="foot">
      ${offer === null ? nothing : offerTemplate(phone, offer)} ${footTemplate(phone, known, foot)}
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

const offerTemplate = (phone: Phone, segment: SegmentIndex): TemplateResult => html`<div class="offer">
  <p>This phone is on its own. If work still goes on in the hall, count here.</p>
  <button type="button" @click=${() => phone.tap(segment, { kind: "round" })}>A round is done</button>
</div>`;

function footTemplate(phone: Phone, known: Known, foot: Foot): TemplateResult | typeof nothing {
  switch (foot.foot) {
    case "none":
      return nothing;
    case "note":
      return html`<p class="footnote">${foot.note}</p>`;
    case "entry":
      return entryTemplate(phone, known, foot.entry, foot.asked);
    case "count":
      return countTemplate(phone, foot);
  }
}

/** Undo and "one more" stand beside the count, apart from the touch area, so that a wet thumb finds only the one. */
function countTemplate(phone: Phone, foot: Extract<Foot, { foot: "count" }>): TemplateResult {
  const { segment, count, standing, refused, note } = foot;
  const { undoable } = count;
  const touched = (kind: "round" | "round-before") => () =>
    refused === null ? phone.tap(segment, { kind }) : phone.refuse(refused);
  return html`<div class="counting">
    <div class="beside">
      <button type="button" ?disabled=${undoable === null} @click=${() => undoable !== null && phone.undo(undoable)}>
        Undo
      </button>
      <span class="kept" data-waiting=${count.waiting > 0}>${waitingWords(count)}</span>
      <button type="button" ?disabled=${refused !== null} @click=${touched("round-before")}>
        One more<small>forgot to tap</small>
      </button>
    </div>
    <button
      type="button"
      id="touch"
      class="touch"
      data-refused=${refused !== null}
      aria-disabled=${refused !== null}
    >
      <span class="flash" aria-hidden="true"></span>
      ${countNumbers(count, standing)}
      <span class="say">${refused ?? note ?? "Touch when a round is done"}</span>
    </button>
  </div>`;
}

function countNumbers(count: Count, standing: Standings): TemplateResult {
  const facts = [
    count.lastSplit === null ? "" : `last ${splitWords(count.lastSplit)}`,
    placeWords(standing),
    standing.pace === null || count.waiting > 0 ? "" : `on pace for ${standing.pace}`,
  ].filter((fact) => fact !== "");
  return html`<span class="number">${scoreWords(count)}</span>
    <span class="unit">${roundsWord(count.rounds)}</span>
    <span class="facts">${facts.map((fact) => html`<span>${fact}</span>`)}</span>`;
}
