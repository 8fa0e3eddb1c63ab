/** After the class: what the athlete has in each piece and over all. */
import { html, nothing, type TemplateResult } from "lit-html";
import { SECOND } from "../../shared/clock";
import { scoreOf } from "../../shared/state";
import type { Span } from "../../shared/wire";
import { formatOf, tallyWords, titleOf } from "../../shared/words";
import type { Phone } from "../phone";
import { byRounds } from "../plan";
import { entryOf, type Known, standings } from "../view";
import { CAUTION, ordinal, placeWords, splitWords } from "../words";
import { entryTemplate } from "./entry";

export function results(phone: Phone, known: Known): TemplateResult {
  const { state, athlete } = known;
  const row = state.rows.find((row) => row.athlete === athlete);
  const pieces = state.session.blocks.flatMap((block, index) =>
    formatOf(block) === undefined ? [] : [index],
  );
  return html`<div class="results">
    <h1>${state.closed ? "The class is closed" : "The class is over"}</h1>
    <p class="quiet">${state.session.title}</p>
    ${
      row?.overall == null || pieces.length < 2
        ? nothing
        : html`<p class="overall">
            <b>${ordinal(row.overall)}</b> over the whole class <span class="quiet">${row.scaled ? "scaled" : "as written"}</span>
          </p>`
    }
    ${pieces.map((block) => piece(phone, known, block))}
    <p class="caution">${CAUTION}</p>
  </div>`;
}

function piece(phone: Phone, known: Known, index: number): TemplateResult {
  const { state, athlete, own } = known;
  const block = state.session.blocks[index];
  const row = state.rows.find((row) => row.athlete === athlete);
  const [main, rest] = tallyWords((row && scoreOf(row, index)?.tally) ?? null, formatOf(block));
  const windows = byRounds(formatOf(block))
    ? state.segments.flatMap((segment, at) =>
        segment.block === index && segment.kind === "work" && !segment.dropped ? [at] : [],
      )
    : [];
  return html`<section class="piece">
    <h2>${block === undefined ? "" : titleOf(block)}</h2>
    ${
      windows.length === 1
        ? nothing
        : html`<p class="score">${main === "" ? "No result" : main} <small>${rest}</small></p>`
    }
    <p class="quiet">${placeWords(standings(known, null, index))}</p>
    ${windows.map((segment) => {
      const splits = own?.windows.find((window) => window.segment === segment)?.splits ?? [];
      return html`${splits.length > 1 ? bars(splits) : nothing}
      ${entryTemplate(phone, known, entryOf(known, segment), false)}`;
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
