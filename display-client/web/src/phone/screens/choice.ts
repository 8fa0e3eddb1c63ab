/** How the athlete does the class: as written or scaled, and which option of each movement. */
import { html, nothing, type TemplateResult } from "lit-html";
import { AS_WRITTEN, choose, chooseFor, chosenFor, reasonsIn, serves } from "../../counting/plan";
import type { Block, BlockIndex, Choice, Movement, MovementIndex } from "../../shared/wire";
import { movementLine, optionWords, REASON_WORDS, reasonWords } from "../words";
import { choices } from "./parts";

export function choiceScreen(
  blocks: readonly Block[],
  choice: Choice,
  set: (choice: Choice) => void,
): TemplateResult {
  const reasons = reasonsIn(blocks);
  return html`<div class="choice">
    ${choices(
      "scaled",
      "Today",
      [
        ["as-written", "As written"],
        ["scaled", "Scaled"],
      ],
      choice.scaled ? "scaled" : "as-written",
      (value) => set(value === "scaled" ? { ...choice, scaled: true } : AS_WRITTEN),
    )}
    <p class="quiet">
      Both are ranked, side by side. Scale to keep the work what it is meant to be. A load by feel is as written,
      whatever you choose.
    </p>
    ${
      reasons.length === 0
        ? nothing
        : html`<p class="label">Today I need</p>
            <div class="chips">
              ${reasons.map(
                (reason) => html`<button
                  aria-pressed=${serves(choice, blocks, reason)}
                  @click=${() => set(chooseFor(choice, blocks, reason))}
                >
                  ${REASON_WORDS[reason]}
                </button>`,
              )}
            </div>`
    }
    ${blocks.map((block, index) => blockChoice(block, index, choice, set))}
  </div>`;
}

function blockChoice(
  { name, movements }: Block,
  block: BlockIndex,
  choice: Choice,
  set: (choice: Choice) => void,
): TemplateResult | typeof nothing {
  const open = movements
    .map((movement, index) => ({ movement, index }))
    .filter(({ movement }) => movement.options.length > 0);
  if (open.length === 0) return nothing;
  return html`<section>
    <h2>${name}</h2>
    ${open.map(({ movement, index }) => movementChoice(movement, block, index, choice, set))}
  </section>`;
}

function movementChoice(
  movement: Movement,
  block: BlockIndex,
  index: MovementIndex,
  choice: Choice,
  set: (choice: Choice) => void,
): TemplateResult {
  const chosen = chosenFor(choice.options, block, index)?.option ?? null;
  const group = `option-${block}-${index}`;
  const pick = (option: number | null) => set(choose(choice, block, index, option));
  return html`<fieldset class="options">
    <legend>${movement.name}</legend>
    <label>
      <input type="radio" name=${group} .checked=${chosen === null} @change=${() => pick(null)} />
      <span>${movementLine(movement)} <small>as written</small></span>
    </label>
    ${movement.options.map(
      (option, number) => html`<label>
        <input type="radio" name=${group} .checked=${chosen === number} @change=${() => pick(number)} />
        <span>${optionWords(movement, option)}${option.reasons.length > 0 ? html` <small>${reasonWords(option.reasons)}</small>` : nothing}</span>
      </label>`,
    )}
  </fieldset>`;
}
