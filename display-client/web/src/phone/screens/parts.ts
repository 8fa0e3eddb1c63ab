/** Small pieces that several screens are made of. */
import { html, nothing, type TemplateResult } from "lit-html";
import type { Doing } from "../../counting/plan";
import { reasonWords } from "../words";

/** What the brief adds to a movement: its standard; of an option, what counts as one and the reason it serves. */
export function details({ movement, option }: Doing): TemplateResult {
  const reasons = reasonWords(option?.reasons ?? []);
  return html`
    ${movement.standard === null ? nothing : html`<p class="standard">${movement.standard}</p>`}
    ${option?.counts_as == null ? nothing : html`<p class="standard">${option.counts_as}</p>`}
    ${reasons === "" ? nothing : html`<p class="standard">for: ${reasons}</p>`}`;
}

/** A choice among a few words, as radio buttons that look like one bar. */
export function choices<T extends string>(
  name: string,
  legend: string,
  options: readonly (readonly [value: T, words: string])[],
  chosen: T,
  choose: (value: T) => void,
): TemplateResult {
  return html`<fieldset class="choices">
    <legend>${legend}</legend>
    <div>
      ${options.map(
        ([value, words]) => html`<label>
          <input type="radio" name=${name} .checked=${value === chosen} @change=${() => choose(value)} />
          <span>${words}</span>
        </label>`,
      )}
    </div>
  </fieldset>`;
}
