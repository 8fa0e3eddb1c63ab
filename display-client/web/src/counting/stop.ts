/** The stop notice: over everything, until the coach resumes (rule 1.8). */
import { html, type TemplateResult } from "lit-html";

export const stop = (
  emergency: string,
): TemplateResult => html`<div class="stop" role="alertdialog" aria-labelledby="stop-word" aria-describedby="stop-text">
  <h1 id="stop-word"><span class="stop-shape" aria-hidden="true"></span>Stop</h1>
  <p>The coach has stopped the class. Put everything down and listen.</p>
  <p id="stop-text" class="emergency">${emergency}</p>
  <p class="safe">Your rounds are kept.</p>
</div>`;
