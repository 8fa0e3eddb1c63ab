/** Who wants something of the coach: the house itself, walls at the door, athletes with a question. */
import { html, nothing, type TemplateResult } from "lit-html";
import type { Shown } from "./live";

export function asks({ live, view }: Shown): TemplateResult | typeof nothing {
  const { warnings, walls_waiting: walls, questions, people } = view;
  if (warnings.length + walls.length + questions.length === 0) return nothing;
  const letIn = (number: number, accept: boolean) =>
    live.ask({ ask: "wall", number, accept }, `${accept ? "let in" : "turn away"} wall ${number}`);
  return html`
    <div class="asks">
      ${warnings.map((warning) => html`<p class="card warning" role="alert">${warning}</p>`)}
      ${walls.map(
        (number) => html`
          <div class="card ask">
            <p>A wall that shows <b class="number">${number}</b> asks to be let in.</p>
            <button @click=${() => letIn(number, false)}>Turn away</button>
            <button class="yes" @click=${() => letIn(number, true)}>Let in</button>
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
