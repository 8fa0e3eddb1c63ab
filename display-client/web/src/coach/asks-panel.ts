/** Who wants something of the coach: the house itself, walls and tablets at the door, athletes with a question. */
import { html, nothing, type TemplateResult } from "lit-html";
import type { Shown } from "./live";

export function asks({ live, view }: Shown): TemplateResult | typeof nothing {
  const { warnings, walls_waiting: walls, tablets_waiting: tablets, questions, people } = view;
  const waiting = [
    ...walls.map((number) => ({ number, what: "wall" })),
    ...tablets.map((number) => ({ number, what: "tally tablet" })),
  ];
  if (warnings.length + waiting.length + questions.length === 0) return nothing;
  const letIn = (number: number, what: string, accept: boolean) =>
    live.ask({ ask: "wall", number, accept }, `${accept ? "let in" : "turn away"} ${what} ${number}`);
  return html`
    <div class="asks">
      ${warnings.map((warning) => html`<p class="card warning" role="alert">${warning}</p>`)}
      ${waiting.map(
        ({ number, what }) => html`
          <div class="card ask">
            <p>A ${what} that shows <b class="number">${number}</b> asks to be let in.</p>
            <button @click=${() => letIn(number, what, false)}>Turn away</button>
            <button class="yes" @click=${() => letIn(number, what, true)}>Let in</button>
          </div>
        `,
      )}
      ${questions.map(({ number, athlete, text }) => {
        const name = people.find((person) => person.athlete === athlete)?.name ?? "Somebody";
        return html`
          <div class="card ask">
            <p><b>${name}</b> asks: ${text}</p>
            <button
              class="yes"
              @click=${() => live.ask({ ask: "answered", question: number }, "put the question away")}
            >
              Answered
            </button>
          </div>
        `;
      })}
    </div>
  `;
}
