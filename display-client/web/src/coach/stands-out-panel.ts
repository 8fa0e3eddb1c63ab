/** Who stands out, at a glance; seen by coaches alone, never on a wall (rule 5.3). */
import { html, nothing, type TemplateResult } from "lit-html";
import { repeat } from "lit-html/directives/repeat.js";
import type { Shown } from "./live";
import { type Outstanding, standsOut } from "./stands-out";

/** As many as are read at a glance; the others are one touch away. */
const GLANCE = 3;

export function standsOutCard(shown: Shown): TemplateResult | typeof nothing {
  const list = look(shown);
  if (list.length === 0) return nothing;
  const more = list.length - GLANCE;
  return html`
    <section class="card stands-out" aria-label="Who stands out">
      ${lines(shown, list.slice(0, GLANCE))}
      ${more > 0 ? html`<button class="more" @click=${() => shown.live.lay({ over: "stands-out" })}>${more} more</button>` : nothing}
    </section>
  `;
}

export function standsOutPanel(shown: Shown): TemplateResult {
  const list = look(shown);
  return html`
    <h2>Who stands out</h2>
    <p class="quiet small">Overdue rounds first, then who fades, then who is outside the aim. Only coaches see this.</p>
    ${list.length === 0 ? html`<p class="empty">Nobody now.</p>` : lines(shown, list)}
  `;
}

function look({ live, view, showing, state, at }: Shown): readonly Outstanding[] {
  const of = "index" in showing ? `${showing.index}` : showing.phase;
  return live.calm.look(() => standsOut(view, showing, state.segments, state.session), of, at);
}

function lines({ live }: Shown, list: readonly Outstanding[]): TemplateResult {
  const open = (athlete: string) => live.layPerson(athlete);
  return html`
    <ul>
      ${repeat(
        list,
        ({ athlete }) => athlete,
        ({ athlete, name, words }) => html`
          <li>
            <button @click=${() => open(athlete)}><b>${name}</b> <span>${words.join(" · ")}</span></button>
          </li>
        `,
      )}
    </ul>
  `;
}
