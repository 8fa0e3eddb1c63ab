/** A number with steps on both sides, typed where that is quicker; what is wrong with it stands beneath. */
import { html, nothing, type TemplateResult } from "lit-html";
import { bump, type Field, read, stepsOf } from "../field";

export function numberField(
  field: Field,
  label: string,
  unit: string,
  set: (next: Field) => void,
): TemplateResult {
  const [large, small] = stepsOf(field);
  const step = (by: number) => html`<button
    aria-label=${`${by < 0 ? "less" : "more"}: ${Math.abs(by)} ${unit}`}
    @click=${() => set(bump(field, by))}
  >
    ${by < 0 ? "−" : "+"}${Math.abs(by)}
  </button>`;
  const typed = (event: Event) => {
    const next = { ...field, text: (event.target as HTMLInputElement).value, problem: null };
    const value = read(next);
    set("problem" in value && event.type === "change" ? { ...next, problem: value.problem } : next);
  };
  return html`<div class="number-field">
    ${step(-large)} ${step(-small)}
    <label>
      <input
        inputmode="decimal"
        autocomplete="off"
        aria-label=${label}
        aria-invalid=${field.problem !== null}
        aria-describedby="field-problem"
        .value=${field.text}
        @input=${typed}
        @change=${typed}
      />
      <small>${unit}</small>
    </label>
    ${step(small)} ${step(large)}
    ${field.problem === null ? nothing : html`<p id="field-problem" class="wrong">${field.problem}</p>`}
  </div>`;
}
