/** A movement as it stands in a list. */
import { html, nothing, type TemplateResult } from "lit-html";
import { countWords, movementWords, SIDES_WORDS } from "../shared/words";
import type { Doing } from "./plan";

/** One movement as the athlete does it, on one or two lines. */
export function movement({ movement, by }: Doing): TemplateResult {
  const { amount, sides, name } = movement;
  const { load, tempo } = movementWords(movement);
  const quiet = [SIDES_WORDS[sides], load, tempo].filter((part) => part !== "").join(" · ");
  return html`<span class="amount">${amount === null ? "" : countWords(amount)}</span>
    <span class="name">${name}${quiet === "" ? nothing : html` <small>${quiet}</small>`}
      ${by === null ? nothing : html`<i class="by">${by === "me" ? "your option" : "for all"}</i>`}
    </span>`;
}
