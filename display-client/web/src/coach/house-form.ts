/** The house's name, the text of its stop notice, and whether its boards show places. */
import { html, nothing, type TemplateResult } from "lit-html";
import type { Settings } from "./settings";

/** What the stop notice ought to say; shown where there is room to write it. */
export const EMERGENCY_EXAMPLE =
  "Call 112. First-aid kit: by the front desk. Defibrillator: on the wall beside the lift.";

/** As much as the house takes, still read from the far end of the floor. */
export const EMERGENCY_MAX = 280;

export function houseForm(settings: Settings): TemplateResult {
  if (settings.house === null) {
    return html`<button class="wide" @click=${() => settings.fetchHouse()}>House name, stop notice, places</button>
      ${settings.said === "" ? nothing : html`<p role="status">${settings.said}</p>`}`;
  }
  const save = (event: SubmitEvent) => {
    event.preventDefault();
    const form = new FormData(event.target as HTMLFormElement);
    void settings.saveHouse({
      house: String(form.get("house") ?? "").trim(),
      emergency: String(form.get("emergency") ?? "").trim(),
      places: form.has("places"),
    });
  };
  return html`
    <form class="stack card" @submit=${save}>
      <h2>The house</h2>
      <label>Name <input name="house" maxlength="80" value=${settings.house.house} /></label>
      <label>
        What the stop notice says
        <textarea name="emergency" rows="4" maxlength=${EMERGENCY_MAX} placeholder=${EMERGENCY_EXAMPLE}>${settings.house.emergency}</textarea>
      </label>
      <label class="choose">
        <input type="checkbox" name="places" .checked=${settings.house.places} />
        <span>Boards show places <span class="quiet small">Without, walls and phones show counts alone.</span></span>
      </label>
      <button class="yes">Save</button>
      ${settings.said === "" ? nothing : html`<p role="status">${settings.said}</p>`}
    </form>
  `;
}
