/** The class code, large, with what is scanned and the address that it holds. */
import { html, nothing, type TemplateResult } from "lit-html";
import type { Shown } from "./live";

export function codeCard({ state }: Shown): TemplateResult | typeof nothing {
  const { join } = state;
  if (join === null) return nothing;
  return html`
    <div class="card code">
      <img src="/api/qr.svg?class=${state.class}" alt="QR code of the address that lets phones in" />
      <div>
        <p class="quiet">Class code</p>
        <p class="code-word">${join.code}</p>
        <p class="address">${join.address}</p>
      </div>
    </div>
  `;
}
