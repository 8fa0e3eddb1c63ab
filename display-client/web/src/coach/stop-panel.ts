/** The stop notice on the coach's own device, with how it fares on the others. */
import { html, nothing, type TemplateResult } from "lit-html";
import { unconfirmed } from "./devices";
import type { Shown } from "./live";
import type { StopCall } from "./requests";

export function stopNotice(shown: Shown): TemplateResult {
  const { live, state } = shown;
  const { stop } = live.requests;
  const emergency = live.follower.welcome?.emergency ?? "";
  const stands = state.clock.stopped;
  return html`
    <section class="stop-notice" role="alertdialog" aria-label="Stop">
      <h2>STOP</h2>
      ${stop === null ? nothing : delivery(stop)}
      <p class="emergency">${emergency}</p>
      ${stands ? confirmations(shown) : nothing}
      <div class="stop-calls">
        ${
          stop?.state === "refused"
            ? html`<button @click=${() => live.forgetStop()}>Put away</button>`
            : html`
                <button @click=${() => live.putStopAside(true)}>Look at the class</button>
                <button ?disabled=${!stands} @click=${() => live.call({ call: "resume" })}>
                  Resume, and take the notice away everywhere
                </button>
              `
        }
      </div>
    </section>
  `;
}

function delivery({ state, text }: StopCall): TemplateResult {
  switch (state) {
    case "sent":
      return html`<p class="delivery">Sent to every screen …</p>`;
    case "undelivered":
      return html`
        <p class="delivery undelivered" role="alert">
          <b>Not delivered. Use your voice.</b> It is sent again until the house answers.
        </p>
      `;
    case "delivered":
      return html`<p class="delivery">The clock is held.</p>`;
    case "not-yet-saved":
      return html`<p class="delivery">The clock is held. The disk refuses: it is written as soon as it can be.</p>`;
    case "refused":
      return html`<p class="delivery">${text}</p>`;
  }
}

/** Who has not confirmed it (rule 1.8). */
function confirmations({ live, view }: Shown): TemplateResult {
  const { waitingFor, outOfReach } = unconfirmed(view.devices, view.people, live.follower.device);
  return html`
    <div class="confirmations">
      <p>
        ${
          waitingFor.length === 0
            ? "Every connected screen shows the stop notice."
            : html`<b>Not confirmed by:</b> ${waitingFor.join(", ")}`
        }
      </p>
      ${outOfReach.length === 0 ? nothing : html`<p><b>Out of reach:</b> ${outOfReach.join(", ")}</p>`}
    </div>
  `;
}
