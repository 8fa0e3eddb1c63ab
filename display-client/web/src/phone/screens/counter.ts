/** Somebody else counts: picked from the people of the class, handed back by one touch. */
import { html, nothing, type TemplateResult } from "lit-html";
import type { AthleteId } from "../../shared/wire";
import type { Phone } from "../phone";
import type { Known } from "../view";
import { NAMELESS, nameOf } from "../who";

/** Who counts for the athlete now, and the way to change it. */
export function counterLine(phone: Phone, { own, athlete }: Known): TemplateResult | typeof nothing {
  if (own === null) return nothing;
  const back = () => phone.ask({ ask: "let-count", athlete, counter: null });
  return html`<div class="how">
    <p>${own.counter === null ? "You count for yourself" : html`<b>${own.counter.name}</b> counts for you`}</p>
    ${
      own.counter === null
        ? html`<button @click=${() => phone.open("counter")}>Let somebody count for me</button>`
        : html`<button @click=${back}>Count yourself again</button>`
    }
  </div>`;
}

/** Who shares a tally, in the order in which they take turns. */
export function teamLine({ own, athlete }: Known): TemplateResult | typeof nothing {
  const team = own?.team ?? [];
  if (team.length < 2) return nothing;
  const names = team.map((member) => (member.athlete === athlete ? "you" : member.name));
  return html`<p class="soon">Your team, in turn: <b>${names.join(", ")}</b></p>`;
}

export function counterScreen(phone: Phone, known: Known): TemplateResult {
  const { state, own, athlete } = known;
  const others = state.rows.filter((row) => row.athlete !== athlete);
  const named = others.filter((row) => nameOf(known, row.athlete) !== NAMELESS);
  const pick = (counter: AthleteId) => {
    phone.ask({ ask: "let-count", athlete, counter });
    phone.open(null);
  };
  return html`<div class="counter">
    <h1>Who counts for you?</h1>
    <p class="quiet">Their phone counts for you until you take it back. Yours shows the count.</p>
    ${named.length === 0 ? html`<p class="soon">Nobody else is in the class yet.</p>` : nothing}
    <div class="people">
      ${named.map(
        (row) => html`<button
          aria-pressed=${own?.counter?.athlete === row.athlete}
          @click=${() => pick(row.athlete)}
        >
          ${nameOf(known, row.athlete)}
        </button>`,
      )}
    </div>
    ${
      named.length === others.length
        ? nothing
        : html`<p class="quiet">Who hides their name is not listed: ask the coach.</p>`
    }
    <div class="actions"><button @click=${() => phone.open("me")}>Back</button></div>
  </div>`;
}
