/** Who stands out, at a glance; seen by coaches alone, never on a wall (rule 5.3). */
import { html, nothing, type TemplateResult } from "lit-html";
import { repeat } from "lit-html/directives/repeat.js";
import type { Shown } from "./live";
import { scoringOf } from "./scoring";
import { works } from "./settle-panel";
import { type Outstanding, standsOut } from "./stands-out";

/** As many as are read at a glance; the others are one touch away. */
const GLANCE = 3;

export function standsOutCard(shown: Shown): TemplateResult | typeof nothing {
  const list = look(shown);
  // While work is scored it keeps its place, so that nothing below moves when somebody comes or goes.
  const { showing, view } = shown;
  const scored = works(shown) && "index" in showing && scoringOf(view.people, showing.index) !== null;
  if (list.length === 0 && !scored) return nothing;
  return html`
    <section class="card stands-out" ?data-keeps=${scored} aria-label="Who stands out">
      <header>
        <h3>Stands out${list.length === 0 ? ": nobody" : ""}</h3>
        ${list.length < 2 ? nothing : html`<button @click=${() => shown.live.lay({ over: "stands-out" })}>All ${list.length}</button>`}
      </header>
      ${lines(shown, list.slice(0, GLANCE))}
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
    <ul class="standing">
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
