/** One person: count for them, set what they have, choose how they do it, the coach's own marks. */
import { html, nothing, type TemplateResult } from "lit-html";
import type { OwnWindow, Person, Row, SegmentIndex } from "../shared/wire";
import { formatOf, tallyWords, titleOf } from "../shared/words";
import { type Entry, entriesOf, readEntry } from "./entry";
import { countsRounds, windowInView } from "./floor";
import type { Over, Shown } from "./live";
import { agoWords, optionWords, segmentName, tallyText } from "./words";

type PersonOver = Extract<Over, { over: "person" }>;

export function personPanel(shown: Shown, over: PersonOver): TemplateResult {
  const person = shown.view.people.find(({ athlete }) => athlete === over.athlete);
  if (person === undefined) return html`<h2>Gone</h2><p>They were taken out of the class.</p>`;
  const row = shown.state.rows.find(({ athlete }) => athlete === over.athlete);
  return html`
    <h2>${person.name}</h2>
    <p class="quiet">${aboutWords(shown, person)}</p>
    ${person.here ? counts(shown, over, person, row) : nothing} ${marks(shown, person)}
    ${choices(shown, person)} ${removal(shown, over, person)}
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

/** The windows of scored work, one of them open to count in and set. */
function counts(shown: Shown, over: PersonOver, person: Person, row: Row | undefined): TemplateResult {
  const { live, state, showing } = shown;
  const windows = state.segments.flatMap(({ kind, dropped }, index) =>
    kind === "work" && !dropped ? [index] : [],
  );
  const window = over.window ?? windowInView(showing, state.segments);
  if (window === null) return html``;
  const own = person.windows.find(({ segment }) => segment === window);
  const segment = state.segments[window];
  const block = segment?.block ?? -1;
  const format = formatOf(state.session.blocks[block]);
  if (format === undefined) return html``;
  const score = row?.scores.find((score) => score.block === block);
  const choose = (event: Event) =>
    live.lay({ ...over, window: Number((event.target as HTMLSelectElement).value), problem: "" });
  return html`
    <section class="card counts">
      <select aria-label="Which work" @change=${choose}>
        ${windows.map(
          (index) =>
            html`<option value=${index} ?selected=${index === window}>${windowName(shown, index)}</option>`,
        )}
      </select>
      <p class="big-tally">
        ${tallyText(own !== undefined && (own.entered || countsRounds(format)) ? own.tally : null, format)}
        ${score?.place == null ? nothing : html`<span class="quiet">place ${score.place}</span>`}
        ${score?.marked ? html`<span class="tag warn">marked: have a look</span>` : nothing}
      </p>
      ${countsRounds(format) ? tapping(shown, person, window, own) : nothing}
      ${format.format === "amrap" && own !== undefined ? extraReps(shown, person, window, own, block) : nothing}
      ${entriesOf(format).map((entry) => entryForm(shown, over, person, window, entry, own))}
      ${over.problem === "" ? nothing : html`<p class="problem" role="alert">${over.problem}</p>`}
    </section>
  `;
}

function windowName({ state }: Shown, index: SegmentIndex): string {
  const segment = state.segments[index];
  return segment === undefined ? "" : segmentName(segment, state.session);
}

function tapping(
  { live, state, showing }: Shown,
  { athlete, name }: Person,
  window: SegmentIndex,
  own: OwnWindow | undefined,
): TemplateResult {
  const runs = showing.phase === "running" && showing.index === window && showing.resumeIn === 0;
  const waiting = live.counting.waitingFor(athlete, window);
  const last = own?.last_tap ?? null;
  return html`
    <div class="tapping">
      <button
        class="round"
        ?disabled=${!runs}
        aria-label="One more round for ${name}"
        @click=${() => live.counting.round(athlete, window, state.clock.revision)}
      >
        +1 round
      </button>
      <button ?disabled=${last === null} @click=${() => last !== null && live.requests.undo(athlete, last)}>
        Undo
      </button>
    </div>
    ${waiting > 0 ? html`<p class="quiet small">${waiting} on the way to the house</p>` : nothing}
  `;
}

/** Extra reps by pointing at the movement reached and the reps of it done (rule 3.7). */
function extraReps(
  { live, state }: Shown,
  { athlete, name }: Person,
  segment: SegmentIndex,
  own: OwnWindow,
  block: number,
): TemplateResult {
  const movements = state.session.blocks[block]?.movements ?? [];
  const enter = (event: SubmitEvent) => {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const typed = new FormData(form);
    const reached = { movement: Number(typed.get("movement")), reps: Number(typed.get("reps")) };
    void live.ask({ ask: "enter-extra", athlete, segment, reached }, `extra reps for ${name}`);
    form.reset();
  };
  return html`
    <form class="entry" @submit=${enter}>
      <label>
        Reached
        <select name="movement">
          ${movements.map(
            (movement, index) =>
              html`<option value=${index}>
                ${movement.name}${own.reps[index] === undefined ? "" : ` (of ${own.reps[index]})`}
              </option>`,
          )}
        </select>
      </label>
      <label>Reps of it <input name="reps" type="number" inputmode="numeric" min="0" max="9999" value="0" /></label>
      <button>Enter extra reps</button>
    </form>
  `;
}

function entryForm(
  { live }: Shown,
  over: PersonOver,
  { athlete, name }: Person,
  segment: SegmentIndex,
  entry: Entry,
  own: OwnWindow | undefined,
): TemplateResult {
  const enter = (event: SubmitEvent) => {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const typed = new FormData(form);
    const read = readEntry(entry, (field) => String(typed.get(field) ?? ""));
    live.lay({ ...over, problem: "problem" in read ? read.problem : "" });
    if ("problem" in read) return;
    const [main, rest] = tallyWords(read.tally, undefined);
    void live.ask({ ask: "set-tally", athlete, segment, tally: read.tally }, `${main} ${rest} for ${name}`);
    form.reset();
  };
  return html`
    <form class="entry" @submit=${enter}>
      ${entry.fields.map(
        ({ name: field, label, example }) => html`
          <label>
            ${label}
            <input name=${field} inputmode=${field === "time" ? "text" : "decimal"} placeholder=${example} autocomplete="off" />
          </label>
        `,
      )}
      <button>${own === undefined ? "Enter" : "Set"}${entry.fields.length === 0 ? ` ${entry.word.toLowerCase()}` : ""}</button>
    </form>
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
                    <option value="" ?selected=${chosen(index, place) === undefined}>as written</option>
                    ${movement.options.map(
                      (option, number) => html`
                        <option value=${number} ?selected=${chosen(index, place)?.option === number}>
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
