/** The floor: everyone in or expected, how it stands with them, and a count for whoever has no phone. */
import { html, nothing, type TemplateResult } from "lit-html";
import { repeat } from "lit-html/directives/repeat.js";
import type { Person, Scoring, SegmentIndex } from "../shared/wire";
import { type Line, lines, type Order, windowInView } from "./floor";
import type { Live, Shown } from "./live";
import { rollWindow } from "./roll-panel";
import { scoringOf, tapsOf } from "./scoring";
import { openSettle, toSettle, works } from "./settle-panel";
import { pieceForTeams } from "./teams-panel";
import { agoWords, blockTitle } from "./words";

export function floorPanel(shown: Shown): TemplateResult {
  const { live, state, view, showing, at } = shown;
  const window = windowInView(showing, state.segments);
  const block = window === null ? null : (state.segments[window]?.block ?? null);
  const all = lines(
    view.people,
    state.rows,
    block,
    scoringOf(view.people, window),
    state.session,
    at,
    live.order,
  );
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
    ${tools(shown)}
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

/** What is done with everybody: each always in its place. */
function tools(shown: Shown): TemplateResult {
  const { live } = shown;
  const window = rollWindow(shown);
  const odd = toSettle(shown).length;
  const way = live.roll?.onTheWay ?? 0;
  const teams = pieceForTeams(shown) !== null || shown.view.people.some(({ team }) => team !== null);
  return html`
    <div class="tools">
      <button ?disabled=${window === null} @click=${() => window !== null && live.callRoll(window)}>
        <b>Roll call</b>${way === 0 ? nothing : html`<span>${way} on the way</span>`}
      </button>
      <button @click=${() => openSettle(shown)}>
        <b>To settle</b>${odd === 0 ? nothing : html`<span class=${works(shown) ? "number" : "number loud"}>${odd}</span>`}
      </button>
      ${teams ? html`<button @click=${() => live.lay({ over: "teams", moving: null })}><b>Teams</b></button>` : nothing}
    </div>
  `;
}

function orderButton(live: Live, order: Order, word: string): TemplateResult {
  const choose = () => {
    live.order = order;
    live.changed();
  };
  return html`<button aria-pressed=${order === live.order} @click=${choose}>${word}</button>`;
}

function personLine(shown: Shown, line: Line, window: SegmentIndex | null): TemplateResult {
  const { live, view, showing } = shown;
  const { person } = line;
  const runs = works(shown) && "index" in showing && showing.index === window;
  const scoring = runs && !isCounted(shown, person) ? scoringOf(view.people, window) : null;
  return html`
    <li>
      <button class="person" @click=${() => live.layPerson(person.athlete)}>
        <span class="place">${line.place ?? ""}</span>
        <span class="name">${person.name}</span>
        <span class="about">${line.choice}${badges(shown, line)}</span>
        <span class="tally">${person.here ? line.tally : ""}</span>
      </button>
      ${scoring === null || window === null ? nothing : plus(shown, person, window, scoring)}
    </li>
  `;
}

/** Whether a phone or a tally tablet counts for somebody already. */
const isCounted = ({ view }: Shown, { athlete, heard, counter }: Person): boolean =>
  heard !== null || counter !== null || view.devices.some((line) => line.counts_for?.includes(athlete));

/** One touch for whoever is counted by nobody else. */
function plus(
  { live, state }: Shown,
  { athlete, name }: Person,
  window: SegmentIndex,
  scoring: Scoring,
): TemplateResult | typeof nothing {
  const [offer] = tapsOf(scoring);
  if (offer === undefined) return nothing;
  const waiting = live.counting.waitingFor(athlete, window);
  return html`
    <button
      class="plus"
      aria-label=${scoring.by === "rounds" ? `One more round for ${name}` : `${offer.word} for ${name}`}
      @click=${() => live.counting.count(athlete, window, offer.counts, state.clock.revision)}
    >
      <b>${scoring.by === "rounds" ? "+1" : offer.word}</b>${waiting === 0 ? nothing : html`<span>${waiting} on the way</span>`}
    </button>
  `;
}

function badges({ view }: Shown, { person, marked, silent }: Line): TemplateResult {
  const counter = view.people.find(({ athlete }) => athlete === person.counter);
  return html`
    ${person.team === null ? nothing : html`<span class="tag">team ${person.team}</span>`}
    ${counter === undefined ? nothing : html`<span class="tag">counted by ${counter.name}</span>`}
    ${person.at_home ? html`<span class="tag">at home</span>` : nothing}
    ${person.first_class ? html`<span class="tag mine">first class</span>` : nothing}
    ${person.told_me ? html`<span class="tag mine">told me</span>` : nothing}
    ${person.here && person.heard === null ? html`<span class="tag">no phone</span>` : nothing}
    ${silent === null ? nothing : html`<span class="tag warn">not heard: ${agoWords(silent)}</span>`}
    ${marked ? html`<span class="tag">to settle</span>` : nothing}
  `;
}
