/** What one person has in a window of work: count for them, set it, and whose phone counts. */
import { html, nothing, type TemplateResult } from "lit-html";
import type { OwnWindow, Person, Row, SegmentIndex } from "../shared/wire";
import { type Entry, entriesOf, readGrams } from "./entry";
import { windowInView } from "./floor";
import { openHistory } from "./history-panel";
import type { PersonOver, Shown } from "./live";
import { tallyIn, tapsOf, windowOf } from "./scoring";
import { works } from "./settle-panel";
import { parties, teamSize } from "./teams";
import { segmentName, tallyText } from "./words";

/** One person in one window that has begun. */
interface Counted {
  shown: Shown;
  over: PersonOver;
  person: Person;
  own: OwnWindow;
}

/** The windows of scored work, one of them open to count in and set. */
export function countPanel(
  shown: Shown,
  over: PersonOver,
  person: Person,
  row: Row | undefined,
): TemplateResult | typeof nothing {
  const { state, showing } = shown;
  const window = over.window ?? windowInView(showing, state.segments);
  if (window === null) return nothing;
  const own = windowOf(person, window);
  return html`
    <section class="card counts">
      ${windowChoice(shown, over, window)}
      ${own === undefined ? html`<p class="empty">It has not begun.</p>` : counted({ shown, over, person, own }, row)}
    </section>
  `;
}

function windowChoice({ live, state }: Shown, over: PersonOver, window: SegmentIndex): TemplateResult {
  const windows = state.segments.flatMap((segment, index) =>
    segment.kind === "work" && !segment.dropped ? [{ segment, index }] : [],
  );
  const choose = (event: Event) =>
    live.lay({ ...over, window: Number((event.target as HTMLSelectElement).value), problem: null });
  return html`
    <select aria-label="Which work" @change=${choose}>
      ${windows.map(
        ({ segment, index }) =>
          html`<option value=${index} .selected=${index === window}>${segmentName(segment, state.session)}</option>`,
      )}
    </select>
  `;
}

function counted(counted: Counted, row: Row | undefined): TemplateResult {
  const { shown, person, own } = counted;
  const { block } = shown.state.segments[own.segment] ?? { block: -1 };
  const score = row?.scores.find((score) => score.block === block);
  const place = score?.windows?.find(({ segment }) => segment === own.segment)?.place ?? score?.place;
  const team = teamSize(shown.state.session, block) > 1 ? mates(shown, person, own) : null;
  return html`
    <p class="big-tally">
      ${tallyText(tallyIn(own), own.scoring)}
      ${place == null ? nothing : html`<span class="quiet">place ${place}</span>`}
      ${own.as_written === null ? nothing : html`<span class="quiet">${own.as_written} of the rounds as written</span>`}
      ${team === null ? nothing : html`<span class="quiet">${team}</span>`}
      <button class="to-history" @click=${() => openHistory(shown, person.athlete, own.segment, person.name)}>History</button>
    </p>
    ${own.marks === undefined || own.marks.length === 0 ? nothing : html`<p><span class="tag warn">marked: in “To settle”</span></p>`}
    ${own.scoring.by === "load" ? attempts(counted) : tapping(counted)}
    ${own.scoring.by === "rounds" ? extraReps(counted, block) : nothing}
    ${entriesOf(own.scoring).map((entry) => entryForm(counted, entry))}
  `;
}

/** Who shares the tally, and whose turn it is. */
function mates({ view }: Shown, person: Person, { turn }: OwnWindow): string | null {
  const party = parties(view.people, true).find(({ members }) => members.includes(person));
  if (party === undefined || party.members.length < 2) return null;
  const next = party.members.find(({ athlete }) => athlete === turn)?.name;
  return `shared: ${party.name}${next === undefined ? "" : `; ${next}’s turn`}`;
}

/** What can be tapped for them, and undo. Taps are for work under way; a tally can be set at any time. */
function tapping({ shown, person, own }: Counted): TemplateResult {
  const { live, state, showing } = shown;
  const { athlete, name } = person;
  const runs = works(shown) && "index" in showing && showing.index === own.segment;
  const waiting = live.counting.waitingFor(athlete, own.segment);
  const last = live.counting.undoable(athlete, own.segment, own.last_tap);
  const [main, ...others] = tapsOf(own.scoring);
  const tap = ({ counts, word }: NonNullable<typeof main>, large: boolean) => html`
    <button
      class=${large ? "round" : ""}
      ?disabled=${!runs}
      aria-label="${word} for ${name}"
      @click=${() => live.counting.count(athlete, own.segment, counts, state.clock.revision)}
    >
      ${word}
    </button>
  `;
  return html`
    <div class="tapping">
      ${main === undefined ? nothing : tap(main, true)}
      <button ?disabled=${last === null} @click=${() => last !== null && live.undo(person, own.segment, last)}>Undo</button>
    </div>
    ${others.length === 0 ? nothing : html`<div class="tapping-more">${others.map((offer) => tap(offer, false))}</div>`}
    ${waiting > 0 ? html`<p class="quiet small">${waiting} on the way to the house</p>` : nothing}
  `;
}

/** Attempts at a load, each good or no lift; the last or any other can be taken back. */
function attempts({ shown, over, person, own }: Counted): TemplateResult {
  const { live, state } = shown;
  const { athlete, name } = person;
  const problem = problemOf(over, "attempt", "kg");
  const attempt = (event: SubmitEvent) => {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const good = (event.submitter as HTMLButtonElement | null)?.value !== "no-lift";
    const grams = readGrams(String(new FormData(form).get("kg") ?? ""));
    if (grams === null) {
      const text = "kg: from −1000 to 1000, such as 62.5. 0 is unweighted, assistance is below 0.";
      return live.lay({ ...over, problem: { entry: "attempt", field: "kg", problem: text } });
    }
    live.lay({ ...over, problem: null });
    live.counting.count(athlete, own.segment, { kind: "attempt", grams, good }, state.clock.revision);
    form.reset();
  };
  const runs = works(shown) && "index" in shown.showing && shown.showing.index === own.segment;
  return html`
    <form class="entry attempt" @submit=${attempt}>
      <label>
        Attempt, kg
        <input name="kg" inputmode="decimal" placeholder="62.5" autocomplete="off" aria-invalid=${problem !== ""} />
      </label>
      <button class="good" value="good" ?disabled=${!runs} aria-label="Good lift for ${name}">Good</button>
      <button value="no-lift" ?disabled=${!runs} aria-label="No lift for ${name}">No lift</button>
      ${problem === "" ? nothing : html`<p class="problem" role="alert">${problem}</p>`}
    </form>
    <ul class="attempts">
      ${own.attempts?.map(
        ({ tap, grams, good }) => html`
          <li data-good=${good}>
            ${tallyText({ kind: "load", grams }, null)} ${good ? "good" : "no lift"}
            <button @click=${() => live.undo(person, own.segment, tap)}>Undo</button>
          </li>
        `,
      )}
    </ul>
  `;
}

const problemOf = ({ problem }: PersonOver, entry: string, field: string): string =>
  problem?.entry === entry && problem.field === field ? problem.problem : "";

/** Extra reps by pointing at the movement reached and the reps of it done (rule 3.7). */
function extraReps({ shown, person, own }: Counted, block: number): TemplateResult {
  const { live, state } = shown;
  const { athlete, name } = person;
  const { segment } = own;
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

/** Sets the tally outright. What is wrong is said under the field, with the range. */
function entryForm({ shown: { live }, over, person, own }: Counted, entry: Entry): TemplateResult {
  const { athlete, name } = person;
  const enter = (event: SubmitEvent) => {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const typed = new FormData(form);
    const read = entry.read((field) => String(typed.get(field) ?? ""));
    live.lay({ ...over, problem: "problem" in read ? { ...read, entry: entry.key } : null });
    if ("problem" in read) return;
    const what = `${tallyText(read.tally, own.scoring)} for ${name}`;
    void live.ask({ ask: "set-tally", athlete, segment: own.segment, tally: read.tally }, what);
    form.reset();
  };
  return html`
    <form class="entry" @submit=${enter}>
      ${entry.fields.map(({ name: field, label, example, keys }) => {
        const problem = problemOf(over, entry.key, field);
        return html`
          <label>
            ${label}
            <input
              name=${field}
              inputmode=${keys}
              placeholder=${example}
              autocomplete="off"
              aria-invalid=${problem !== ""}
            />
          </label>
          ${problem === "" ? nothing : html`<p class="problem" role="alert">${problem}</p>`}
        `;
      })}
      <button>${entry.word === "Set" ? "Set" : `Set: ${entry.word.toLowerCase()}`}</button>
    </form>
  `;
}

/** Whose phone counts for somebody, one at a time, and the hand-over (rule 3.10). */
export function counterPanel({ live, view }: Shown, person: Person): TemplateResult {
  const { athlete, name, counter } = person;
  const phones = view.people.filter(
    (other) => other.here && other.heard !== null && other.athlete !== athlete,
  );
  const mate = (other: Person) => other.team !== null && other.team === person.team;
  const sorted = [...phones].sort(
    (a, b) => Number(mate(b)) - Number(mate(a)) || a.name.localeCompare(b.name),
  );
  const hand = (event: Event) => {
    const to = (event.target as HTMLSelectElement).value || null;
    void live.ask({ ask: "let-count", athlete, counter: to }, `who counts for ${name}`);
  };
  const tablets = view.devices.flatMap((line) =>
    line.role === "tablet" && line.counts_for?.includes(athlete) ? [`tally tablet ${line.number}`] : [],
  );
  return html`
    <label class="choice">
      <span>Who counts</span>
      <select @change=${hand}>
        <option value="" .selected=${counter === null}>${person.heard === null ? "nobody’s phone" : "their own phone"}</option>
        ${sorted.map(
          (other) =>
            html`<option value=${other.athlete} .selected=${other.athlete === counter}>${other.name}${mate(other) ? ", their team" : ""}</option>`,
        )}
      </select>
    </label>
    ${tablets.length === 0 ? nothing : html`<p class="quiet small">Also counted on ${tablets.join(", ")}.</p>`}
  `;
}
