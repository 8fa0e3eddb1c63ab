/** The plan of the class, read before it and at hand during it. */
import { html, nothing, type TemplateResult } from "lit-html";
import { movement } from "../../counting/movement";
import { AS_WRITTEN, asIDo } from "../../counting/plan";
import { minutes, SECOND } from "../../shared/clock";
import type { Block, Choice, Session, State } from "../../shared/wire";
import { pieceWords, titleOf } from "../../shared/words";
import { CAUTION } from "../words";
import { details } from "./parts";

export function brief(state: Pick<State, "session" | "swaps">, choice: Choice = AS_WRITTEN): TemplateResult {
  const { session } = state;
  return html`<div class="brief">
    ${session.notes.map((note) => html`<p>${note}</p>`)}
    <p class="caution">${CAUTION}</p>
    ${session.blocks.map((block, index) => {
      const doing = asIDo(state, index, choice);
      return html`<section class="block">
        <h2>${titleOf(block)}</h2>
        <p class="quiet">${blockWords(block)}</p>
        ${block.aim === null ? nothing : html`<p class="aim">Aim: ${block.aim.text}</p>`}
        ${block.notes.map((note) => html`<p>${note}</p>`)}
        ${
          doing.length === 0
            ? nothing
            : html`<ul class="movements">
                ${doing.map((each) => html`<li>${movement(each)}${details(each)}</li>`)}
              </ul>`
        }
      </section>`;
    })}
  </div>`;
}

/** What kind of block it is, in a line. */
export function blockWords({ kind, movements }: Block): string {
  switch (kind.kind) {
    case "piece":
      return pieceWords(kind);
    case "rest":
      return `Rest, ${minutes(kind.length / SECOND)}`;
    default: {
      const parts = [
        kind.rounds > 1 ? `${kind.rounds} rounds` : "",
        kind.given === null ? "" : minutes(kind.given / SECOND),
        movements.length === 0 ? "" : kind.pace === "self-paced" ? "at your own pace" : "the coach leads",
      ];
      return parts.filter((part) => part !== "").join(" · ");
    }
  }
}

/** The session in a line, for the head of the page. */
export function sessionWords({ date, slot }: Session): string {
  return [date, slot === null ? null : `${Math.round(slot / SECOND / 60)} min`]
    .filter((part) => part != null)
    .join(" · ");
}
