/** The result of a window after its bell: how far the last round came, and rounds that were not tapped. */
import { html, nothing, type TemplateResult } from "lit-html";
import { askOf, type Draft, draft, pointAt, promised, step, stepRounds, toItsEnd, totals } from "../extra";
import type { Phone } from "../phone";
import { AS_WRITTEN, asIDo, type Doing, repsOfRound } from "../plan";
import type { Entry, Known } from "../view";
import { roundsWord, scoreWords } from "../words";
import { movement } from "./parts";

/**
 * The entry where it is open, else what the window has. Straight after the bell it opens by itself, and follows the
 * count until it is first touched.
 */
export function entryTemplate(phone: Phone, known: Known, entry: Entry, asked: boolean): TemplateResult {
  const { draft } = phone;
  if (draft?.segment === entry.segment) return entryForm(phone, known, draft);
  const waits = promised(
    phone.requests.of(known.state.class),
    entry.segment,
    entry.count,
    repsFor(known, entry),
  );
  const opens = asked && !entry.entered && waits === null && !phone.notNow.has(entry.segment);
  return opens ? entryForm(phone, known, draftFor(known, entry)) : entryCard(phone, known, entry, waits);
}

function entryCard(
  phone: Phone,
  known: Known,
  entry: Entry,
  waits: { rounds: number; extra: number } | null,
): TemplateResult {
  const { count, entered, marked, window } = entry;
  const shown = waits ?? count;
  const said = waits !== null ? "waits on this phone" : entered ? "entered" : "as tapped";
  const open = () => {
    phone.draft = draftFor(known, entry);
    phone.changed();
  };
  return html`<div class="result">
    <div>
      <p class="quiet">${window === null ? "Your result" : `Window ${window}`}, ${said}</p>
      <p class="score">${scoreWords(shown)} <small>${shown.extra > 0 ? "" : roundsWord(shown.rounds)}</small></p>
      ${marked ? html`<p class="quiet">The coach will look at it.</p>` : nothing}
    </div>
    <button type="button" class=${entered || waits !== null ? "" : "main"} @click=${open}>
      ${entered || waits !== null ? "Change" : "Extra reps"}
    </button>
  </div>`;
}

const draftFor = (known: Known, entry: Entry): Draft =>
  draft(entry.segment, { ...entry.count, entered: entry.entered }, repsFor(known, entry));

/** Reps of each movement in the round that was under way: as the server says, else worked out here. */
function repsFor({ own, state }: Known, { segment, block, count }: Entry): readonly number[] {
  const told = own?.windows.find((window) => window.segment === segment);
  if (told?.tally.kind === "rounds" && told.tally.rounds === count.rounds) return told.reps;
  return repsOfRound(
    state.session.blocks[block],
    asIDo(state, block, own?.choice ?? AS_WRITTEN),
    count.rounds,
  );
}

export function entryForm(phone: Phone, known: Known, entry: Draft): TemplateResult {
  const block = known.state.segments[entry.segment]?.block ?? 0;
  const doing = asIDo(known.state, block, known.own?.choice ?? AS_WRITTEN);
  const set = (next: Draft | null) => {
    phone.draft = next;
    phone.changed();
  };
  const notNow = () => {
    phone.notNow.add(entry.segment);
    set(null);
  };
  const save = () => {
    phone.ask(askOf(entry, known.athlete));
    set(null);
  };
  return html`<div class="entry">
    <div class="rounds">
      <p>Full rounds<small>change it if a tap was missed</small></p>
      ${stepper(entry.rounds, "rounds", (by) => set(stepRounds(entry, by)))}
    </div>
    <p class="label">How far did the next round come?</p>
    <div class="reached" role="radiogroup" aria-label="Movement reached">
      ${doing.map((each) => reachedRow(each, entry, set))}
    </div>
    <div class="actions">
      <button type="button" @click=${notNow}>Not now</button>
      <button type="button" class="main" @click=${save}>Save ${scoreWords(totals(entry))}</button>
    </div>
  </div>`;
}

function reachedRow(each: Doing, entry: Draft, set: (next: Draft) => void): TemplateResult {
  const { reached, reps } = entry;
  const here = each.index === reached.movement;
  const all = reps[each.index] ?? 0;
  const state = each.index < reached.movement ? "done" : here ? "here" : "ahead";
  return html`<div class="row" data-state=${state}>
    <button type="button" class="point" role="radio" aria-checked=${here} @click=${() => set(pointAt(entry, each.index))}>
      ${movement(each)}${state === "done" ? html`<span class="tick">done</span>` : nothing}
    </button>
    ${
      here
        ? html`<div class="steps">
            ${stepper(reached.reps, `of ${all}`, (by) => set(step(entry, by)))}
            <button type="button" @click=${() => set(toItsEnd(entry))}>At its end</button>
          </div>`
        : nothing
    }
  </div>`;
}

const stepper = (
  value: number,
  unit: string,
  by: (by: number) => void,
): TemplateResult => html`<div class="stepper">
  <button type="button" aria-label="one fewer" @click=${() => by(-1)}>−</button>
  <output>${value}<small>${unit}</small></output>
  <button type="button" aria-label="one more" @click=${() => by(1)}>+</button>
</div>`;
