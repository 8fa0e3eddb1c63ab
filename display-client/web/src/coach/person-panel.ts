/** One person: count for them, set what they have, choose how they do it, the coach's own marks. */
import { html, nothing, type TemplateResult } from "lit-html";
import type { Person } from "../shared/wire";
import { titleOf } from "../shared/words";
import { counterPanel, countPanel } from "./count-panel";
import type { PersonOver, Shown } from "./live";
import { agoWords, optionWords } from "./words";

export function personPanel(shown: Shown, over: PersonOver): TemplateResult {
  const person = shown.view.people.find(({ athlete }) => athlete === over.athlete);
  if (person === undefined) return html`<h2>Gone</h2><p>They were taken out of the class.</p>`;
  const row = shown.state.rows.find(({ athlete }) => athlete === over.athlete);
  return html`
    <h2>${person.name}</h2>
    <p class="quiet">${aboutWords(shown, person)}</p>
    ${person.here ? html`${countPanel(shown, over, person, row)} ${counterPanel(shown, person)}` : nothing}
    ${marks(shown, person)} ${choices(shown, person)} ${removal(shown, over, person)}
  `;
}

function aboutWords({ at }: Shown, person: Person): string {
  const phone = person.heard === null ? "no phone" : `phone heard ${agoWords(at - person.heard)}`;
  return [person.here ? "in the class" : "expected", person.at_home ? "at home" : "", phone]
    .filter((part) => part !== "")
    .join(" · ");
}

/** Seen by coaches alone; one touch each. */
function marks({ live }: Shown, { athlete, name, first_class, told_me }: Person): TemplateResult {
  const note = (change: { first_class?: boolean; told_me?: boolean }) =>
    live.ask({ ask: "note", athlete, first_class, told_me, ...change }, `mark ${name}`);
  return html`
    <div class="two-up">
      <button class="mark" aria-pressed=${first_class} @click=${() => note({ first_class: !first_class })}>
        First class here
      </button>
      <button class="mark" aria-pressed=${told_me} @click=${() => note({ told_me: !told_me })}>
        Told me something today
      </button>
    </div>
    <p class="quiet small">Only coaches see these two marks.</p>
  `;
}

/** As written or scaled, and the option of each movement that has any. */
function choices({ live, state }: Shown, { athlete, name, choice }: Person): TemplateResult {
  const blocks = state.session.blocks.flatMap((block, index) =>
    block.movements.some(({ options }) => options.length > 0) ? [{ block, index }] : [],
  );
  const choose = (next: typeof choice) =>
    live.ask({ ask: "choose", athlete, choice: next }, `how ${name} does it`);
  const chosen = (block: number, movement: number) =>
    choice.options.find((option) => option.block === block && option.movement === movement);
  const pick = (block: number, movement: number) => (event: Event) => {
    const value = (event.target as HTMLSelectElement).value;
    const others = choice.options.filter((option) => option.block !== block || option.movement !== movement);
    const options = value === "" ? others : [...others, { block, movement, option: Number(value) }];
    void choose({ scaled: options.length > 0, options });
  };
  return html`
    <h3>How they do it</h3>
    <div class="two-up">
      <button class="mark" aria-pressed=${!choice.scaled} @click=${() => choose({ scaled: false, options: [] })}>
        As written
      </button>
      <button class="mark" aria-pressed=${choice.scaled} @click=${() => choose({ ...choice, scaled: true })}>
        Scaled
      </button>
    </div>
    ${blocks.map(
      ({ block, index }) => html`
        <h4>${titleOf(block)}</h4>
        ${block.movements.map((movement, place) =>
          movement.options.length === 0
            ? nothing
            : html`
                <label class="choice">
                  <span>${movement.name}</span>
                  <select @change=${pick(index, place)}>
                    <option value="" .selected=${chosen(index, place) === undefined}>as written</option>
                    ${movement.options.map(
                      (option, number) => html`
                        <option value=${number} .selected=${chosen(index, place)?.option === number}>
                          ${optionWords(option)}
                        </option>
                      `,
                    )}
                  </select>
                </label>
              `,
        )}
      `,
    )}
  `;
}

function removal({ live }: Shown, over: PersonOver, { athlete, name }: Person): TemplateResult {
  if (!over.removing) {
    return html`
      <button class="wide" @click=${() => live.lay({ ...over, removing: true })}>Take ${name} out of the class</button>
    `;
  }
  return html`
    <div class="card ask">
      <p>Take ${name} out? Their counts stay in the journal, but leave the board.</p>
      <button @click=${() => live.lay({ ...over, removing: false })}>Keep</button>
      <button
        class="danger"
        @click=${() => {
          void live.ask({ ask: "remove-athlete", athlete }, `take ${name} out`);
          live.lay(null);
        }}
      >
        Take out
      </button>
    </div>
  `;
}
