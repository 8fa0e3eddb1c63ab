/** For whom a tally tablet counts: up to twelve, by the number that it shows. */
import { html, type TemplateResult } from "lit-html";
import type { AthleteId } from "../shared/wire";
import type { Over, Shown } from "./live";
import { choiceWords } from "./words";

/** As many as find room on its screen with targets large enough. */
const ASSIGNED_MAX = 12;

type TabletOver = Extract<Over, { over: "tablet" }>;

export function tabletPanel({ live, view, state }: Shown, over: TabletOver): TemplateResult {
  const { number, chosen } = over;
  const here = view.people.filter((person) => person.here).sort((a, b) => a.name.localeCompare(b.name));
  const full = chosen.length >= ASSIGNED_MAX;
  const choose = (next: readonly AthleteId[]) => live.lay({ ...over, chosen: next.slice(0, ASSIGNED_MAX) });
  const others = view.devices.flatMap((line) =>
    line.role === "tablet" && line.number !== number
      ? (line.counts_for ?? []).map((athlete) => [athlete, line.number] as const)
      : [],
  );
  const elsewhere = new Map(others);
  const phoneless = here.filter(({ heard }) => heard === null).map(({ athlete }) => athlete);
  const assign = () => {
    void live.ask({ ask: "assign", number, athletes: [...chosen] }, `assign tally tablet ${number}`);
    live.lay(null);
  };
  return html`
    <h2>Tally tablet ${number}</h2>
    <p class="quiet">It counts for ${chosen.length} of up to ${ASSIGNED_MAX}.</p>
    <div class="two-up">
      <button @click=${() => choose([...new Set([...chosen, ...phoneless])])}>Add all without a phone</button>
      <button ?disabled=${chosen.length === 0} @click=${() => choose([])}>Nobody</button>
    </div>
    <div class="pick">
      ${here.map((person) => {
        const on = chosen.includes(person.athlete);
        const other = elsewhere.get(person.athlete);
        const about = other === undefined ? choiceWords(person.choice, state.session) : `on tablet ${other}`;
        return html`
          <button
            aria-pressed=${on}
            ?disabled=${!on && full}
            @click=${() => choose(on ? chosen.filter((athlete) => athlete !== person.athlete) : [...chosen, person.athlete])}
          >
            ${person.name} <span class="pick-about quiet small">${about}</span>
          </button>
        `;
      })}
    </div>
    <button class="wide yes" @click=${assign}>Assign</button>
  `;
}
