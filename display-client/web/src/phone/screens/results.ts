/** After the class: what the athlete has in each piece and over all. */
import { html, nothing, type TemplateResult } from "lit-html";
import { scoringAt } from "../../counting/scoring";
import { SECOND } from "../../shared/clock";
import { scoreOf } from "../../shared/state";
import type { Span } from "../../shared/wire";
import { titleOf } from "../../shared/words";
import type { Phone } from "../phone";
import { entryOf, type Known, standings } from "../view";
import { people, windowOf } from "../who";
import { CAUTION, mixedWords, ordinal, placeWords, resultWords, splitWords } from "../words";
import { entryTemplate } from "./entry";

export function results(phone: Phone, known: Known): TemplateResult {
  const { state, athlete, places } = known;
  const row = state.rows.find((row) => row.athlete === athlete);
  const pieces = state.scoring.flatMap((scoring, index) => (scoring === null ? [] : [index]));
  const place = places ? (row?.overall ?? null) : null;
  return html`<div class="results">
    <h1>${state.closed ? "The class is closed" : "The class is over"}</h1>
    <p class="quiet">${state.session.title}</p>
    ${
      place === null || pieces.length < 2
        ? nothing
        : html`<p class="overall">
            <b>${ordinal(place)}</b> over the whole class <span class="quiet">${row?.scaled ? "scaled" : "as written"}</span>
          </p>`
    }
    ${pieces.map((block) => piece(phone, known, block))}
    <p class="caution">${CAUTION}</p>
  </div>`;
}

function piece(phone: Phone, known: Known, index: number): TemplateResult {
  const { state, athlete } = known;
  const block = state.session.blocks[index];
  const scoring = state.scoring[index] ?? null;
  const row = state.rows.find((row) => row.athlete === athlete);
  const me = people(known).at(-1);
  if (scoring === null || block === undefined || me === undefined) return html``;
  const [main, rest] = resultWords((row && scoreOf(row, index)?.tally) ?? null, scoring);
  const windows = state.segments.flatMap((segment, at) =>
    segment.block === index && !segment.dropped && scoringAt(state, at) !== null ? [at] : [],
  );
  return html`<section class="piece">
    <h2>${titleOf(block)}</h2>
    ${windows.length === 1 ? nothing : html`<p class="score">${main} <small>${rest}</small></p>`}
    <p class="quiet">${placeWords(standings(known, me, null, index))}</p>
    ${windows.map((segment) => {
      const told = windowOf(me, segment);
      const splits = told?.splits ?? [];
      const entry = entryOf(known, segment, me);
      const mixed = mixedWords(told?.tally.kind === "rounds" ? told.tally.rounds : 0, told?.as_written);
      return html`${splits.length > 1 ? bars(splits) : nothing}
      ${mixed === "" ? nothing : html`<p class="quiet">${mixed}</p>`}
      ${entry === null ? nothing : entryTemplate(phone, known, entry, false)}`;
    })}
  </section>`;
}

/** The splits as bars from nothing, so that even rounds look even. */
function bars(splits: readonly Span[]): TemplateResult {
  const longest = Math.max(...splits, SECOND);
  return html`<figure class="splits">
    <figcaption>Your rounds</figcaption>
    <ol>
      ${splits.map(
        (split) => html`<li>
          <i style=${`--part:${split / longest}`}></i><span>${splitWords(split)}</span>
        </li>`,
      )}
    </ol>
  </figure>`;
}
