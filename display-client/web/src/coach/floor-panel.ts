/** The floor: everyone in or expected, how it stands with them, and a count for whoever has no phone. */
import { html, nothing, type TemplateResult } from "lit-html";
import { repeat } from "lit-html/directives/repeat.js";
import { formatOf } from "../shared/words";
import { countsRounds, type Line, lines, type Order, windowInView } from "./floor";
import type { Live, Shown } from "./live";
import { agoWords, blockTitle } from "./words";

export function floorPanel(shown: Shown): TemplateResult {
  const { live, state, view, showing, at } = shown;
  const window = windowInView(showing, state.segments);
  const block = window === null ? null : (state.segments[window]?.block ?? null);
  const all = lines(view.people, state.rows, block, state.session, at, live.order);
  const here = all.filter(({ person }) => person.here);
  const expected = all.filter(({ person }) => !person.here);
  const piece = block === null ? "" : ` · ${blockTitle(block, state.session)}`;
  return html`
    <div class="floor-head">
      <p>${here.length} in${piece}</p>
      <div class="switch" role="group" aria-label="Order">
        ${orderButton(live, "name", "Name")} ${orderButton(live, "place", "Place")}
      </div>
      <button class="add" @click=${() => live.lay({ over: "add", problem: "" })}>Add</button>
    </div>
    ${
      all.length === 0
        ? html`<p class="empty">Nobody is in yet. Show the class code, or add people who have no phone.</p>`
        : nothing
    }
    <ul class="people">
      ${repeat(
        here,
        ({ person }) => person.athlete,
        (line) => personLine(shown, line, window),
      )}
    </ul>
    ${
      expected.length === 0
        ? nothing
        : html`
            <h3>Expected</h3>
            <ul class="people">
              ${repeat(
                expected,
                ({ person }) => person.athlete,
                (line) => personLine(shown, line, null),
              )}
            </ul>
          `
    }
  `;
}

function orderButton(live: Live, order: Order, word: string): TemplateResult {
  const choose = () => {
    live.order = order;
    live.changed();
  };
  return html`<button aria-pressed=${order === live.order} @click=${choose}>${word}</button>`;
}

function personLine({ live, state, showing }: Shown, line: Line, window: number | null): TemplateResult {
  const { person } = line;
  const runs = showing.phase === "running" && showing.index === window && showing.resumeIn === 0;
  const counted =
    runs && person.heard === null && countsRounds(formatOf(state.session.blocks[showing.segment.block]));
  const waiting = window === null ? 0 : live.counting.waitingFor(person.athlete, window);
  return html`
    <li>
      <button
        class="person"
        @click=${() =>
          live.lay({ over: "person", athlete: person.athlete, window: null, problem: "", removing: false })}
      >
        <span class="place">${line.place ?? ""}</span>
        <span class="name">${person.name}</span>
        <span class="about">${line.choice}${badges(line)}</span>
        <span class="tally">${person.here ? line.tally : ""}</span>
      </button>
      ${
        counted
          ? html`
              <button
                class="plus"
                aria-label="One more round for ${person.name}"
                @click=${() => live.counting.round(person.athlete, showing.index, state.clock.revision)}
              >
                <b>+1</b>${waiting === 0 ? nothing : html`<span>${waiting} on the way</span>`}
              </button>
            `
          : nothing
      }
    </li>
  `;
}

function badges({ person, marked, silent }: Line): TemplateResult {
  return html`
    ${person.at_home ? html`<span class="tag">at home</span>` : nothing}
    ${person.first_class ? html`<span class="tag mine">first class</span>` : nothing}
    ${person.told_me ? html`<span class="tag mine">told me</span>` : nothing}
    ${person.here && person.heard === null ? html`<span class="tag">no phone</span>` : nothing}
    ${silent === null ? nothing : html`<span class="tag warn">not heard: ${agoWords(silent)}</span>`}
    ${marked ? html`<span class="tag warn">count marked</span>` : nothing}
  `;
}
