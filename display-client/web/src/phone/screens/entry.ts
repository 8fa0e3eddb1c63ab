/** The result of a window after its bell, by how it is counted. */
import { html, nothing, type TemplateResult } from "lit-html";
import { movement } from "../../counting/movement";
import { asIDo, type Doing, inRound } from "../../counting/plan";
import type { Reached, Tally } from "../../shared/wire";
import { askOf, type Draft, pointAt, step, stepRounds, tallyOf, toEndOf } from "../extra";
import { askOfField, type Field, read, stepUnits, tallyOfField } from "../field";
import type { Phone } from "../phone";
import {
  opensItself,
  promised,
  type Result,
  reachedOf,
  resultOf,
  suggestion,
  tallyFrom,
  timeOf,
} from "../result";
import type { Entry, Known } from "../view";
import { windowOf } from "../who";
import { resultWords } from "../words";
import { numberField } from "./field";

/**
 * The entry where it is open, else what the window has. Straight after the bell it opens by itself where taps alone
 * leave something to say, and follows the count until it is first touched.
 */
export function entryTemplate(phone: Phone, known: Known, entry: Entry, asked: boolean): TemplateResult {
  const { draft } = phone;
  if (draft?.segment === entry.segment && draft.athlete === entry.whose.athlete)
    return form(phone, known, entry, draft);
  const waits = promised(phone.asked(), known, entry);
  const opens = asked && opensItself(entry) && waits === null && !phone.notNow.has(entry.segment);
  const result = opens ? resultOf(known, entry) : null;
  return result === null ? card(phone, known, entry, waits) : form(phone, known, entry, result);
}

function card(phone: Phone, known: Known, entry: Entry, waits: Tally | null): TemplateResult {
  const { scoring, entered, standing, window, whose, count } = entry;
  const told = windowOf(whose, entry.segment)?.tally ?? null;
  const atCap = scoring.by === "time" && count.finished === null ? told : null;
  const [main, unit] = resultWords(waits ?? atCap ?? tallyFrom(count, scoring), scoring);
  const said = waits !== null ? "waits on this phone" : entered ? "entered" : "as tapped";
  const open = () => {
    phone.draft = resultOf(known, entry);
    phone.changed();
  };
  const again = entered || waits !== null || count.finished !== null;
  const whoseWords = whose.me ? "Your result" : `Result of ${whose.name}`;
  return html`<div class="result" data-me=${whose.me}>
    <div>
      <p class="quiet">${whoseWords}${window === null ? "" : `, window ${window}`}, ${said}</p>
      <p class="score">${main} <small>${unit}</small></p>
      ${standing.marked ? html`<p class="quiet">The coach will look at it.</p>` : nothing}
    </div>
    ${
      scoring.by === "made" || scoring.by === "done"
        ? yesNo(phone, entry, waits)
        : html`<button class=${again ? "" : "main"} @click=${open}>
            ${again ? "Change" : scoring.by === "rounds" ? "Extra reps" : "Enter"}
          </button>`
    }
  </div>`;
}

/** Made or not, done or not: one touch says it. */
function yesNo(phone: Phone, { scoring, segment, whose, count }: Entry, waits: Tally | null): TemplateResult {
  const made = waits?.kind === "made" ? waits.made > 0 : count.rounds > 0;
  const done = scoring.by === "done" && (waits ?? count.finished) !== null;
  const tally: Tally = scoring.by === "done" ? { kind: "done" } : { kind: "made", made: made ? 0 : 1, of: 1 };
  const set = () => phone.ask({ ask: "set-tally", athlete: whose.athlete, segment, tally });
  const word = scoring.by === "done" ? "Done" : made ? "Not made" : "Made it";
  return html`<button ?hidden=${done} class=${made ? "" : "main"} @click=${set}>${word}</button>`;
}

function form(phone: Phone, known: Known, entry: Entry, result: Result): TemplateResult {
  const set = (next: Result | null) => {
    phone.draft = next;
    phone.changed();
  };
  const notNow = () => {
    phone.notNow.add(entry.segment);
    set(null);
  };
  const save = () => {
    if (result.kind === "reached") {
      phone.ask(askOf(result));
      return set(null);
    }
    const now = read(result);
    if ("problem" in now) return set({ ...result, problem: now.problem });
    phone.ask(askOfField(result, now.value));
    return set(null);
  };
  return html`<div class="entry" data-me=${entry.whose.me}>
    ${entry.whose.me ? nothing : html`<p class="whose">Result of <b>${entry.whose.name}</b></p>`}
    ${entry.scoring.by === "time" ? otherEnd(known, entry, result, set) : nothing}
    ${result.kind === "reached" ? reachedForm(known, entry, result, set) : fieldForm(result, set)}
    <div class="actions">
      <button @click=${notNow}>Not now</button>
      <button class="main" @click=${save}>Save ${saveWords(entry, result)}</button>
    </div>
  </div>`;
}

/** What the entry comes to, on the button that saves it. */
function saveWords({ scoring }: Entry, result: Result): string {
  const now = result.kind === "field" ? read(result) : null;
  if (now !== null && "problem" in now) return "";
  const tally = result.kind === "reached" ? tallyOf(result) : tallyOfField(result, now?.value ?? 0);
  const [main, unit] = resultWords(tally, scoring);
  if (tally.kind === "finished" || tally.kind === "rounds") return main;
  return tally.kind === "at-cap" ? `${main} reps` : `${main} ${unit}`;
}

/** For time: at the cap, or finished where the touch for it was missed. */
function otherEnd(known: Known, entry: Entry, { kind }: Result, set: (next: Result) => void): TemplateResult {
  const capped = kind === "reached";
  const turn = () => set(capped ? timeOf(entry) : reachedOf(known, entry));
  return html`<p class="tabs">
    <b>${capped ? "Stopped at the cap" : "Finished"}</b>
    <button @click=${turn}>${capped ? "I finished" : "I did not finish"}</button>
  </p>`;
}

function fieldForm(field: Field, set: (next: Result) => void): TemplateResult {
  const { of } = field;
  if (of.asks !== "rest")
    return html`<p class="label">${LABELS[of.asks]}</p>
      ${numberField(field, LABELS[of.asks], unitOf(field), set)}`;
  const each = `${of.step} ${of.unit}`;
  return html`<div class="rounds">
      <p>Times ${each}<small>a tap missed? change it</small></p>
      ${stepper(of.units, "times", (by) => set(stepUnits(field, by)))}
    </div>
    <p class="label">And of the next ${each}</p>
    ${numberField(field, `Of the next ${each}`, of.unit, set)}`;
}

const LABELS = { load: "Heaviest good attempt", count: "In all", time: "Time, in minutes and seconds" };

const unitOf = ({ of }: Field): string => ("unit" in of ? of.unit : of.asks === "load" ? "kg" : "min : s");

function reachedForm(known: Known, entry: Entry, draft: Draft, set: (next: Result) => void): TemplateResult {
  const { segment, block, whose } = entry;
  const length = known.state.segments[segment]?.length ?? null;
  const here = known.state.session.blocks[block];
  const about = suggestion(windowOf(whose, segment), length, draft);
  return html`<div class="rounds">
      <p>Full rounds<small>a tap missed? change it</small></p>
      ${stepper(draft.rounds, "rounds", (by) => set(stepRounds(draft, by)))}
    </div>
    <p class="label">How far did the next round come?</p>
    <div class="reached" role="radiogroup" aria-label="Movement reached">
      ${inRound(here, asIDo(known.state, block, whose.choice), draft.rounds).map((each) => reachedRow(each, draft, about, set))}
    </div>`;
}

function reachedRow(
  each: Doing,
  draft: Draft,
  about: Reached | null,
  set: (next: Result) => void,
): TemplateResult {
  const { reached, reps } = draft;
  const here = each.index === reached.movement;
  const all = reps[each.index] ?? 0;
  const state = each.index < reached.movement ? "done" : here ? "here" : "ahead";
  const guess = about?.movement === each.index && about.reps > 0 ? about : null;
  return html`<div class="row" data-state=${state}>
    <div class="line">
      <button class="point" role="radio" aria-checked=${here} @click=${() => set(pointAt(draft, each.index))}>
        ${movement(each)}
      </button>
      <button
        class="all"
        aria-label=${`at the end of ${each.movement.name}`}
        aria-pressed=${state === "done" || (here && reached.reps === all)}
        @click=${() => set(toEndOf(draft, each.index))}
      >
        all ${all}
      </button>
    </div>
    ${
      here
        ? html`<div class="steps">${stepper(reached.reps, `of ${all}`, (by) => set(step(draft, by)))}</div>`
        : nothing
    }
    ${
      guess === null || (here && reached.reps === guess.reps)
        ? nothing
        : html`<button class="guess" @click=${() => set({ ...draft, reached: guess })}>
            About here? <b>${guess.reps}</b> of ${all}
          </button>`
    }
  </div>`;
}

const stepper = (
  value: number,
  unit: string,
  by: (by: number) => void,
): TemplateResult => html`<div class="stepper">
  <button aria-label="one fewer" @click=${() => by(-1)}>−</button>
  <output>${value}<small>${unit}</small></output>
  <button aria-label="one more" @click=${() => by(1)}>+</button>
</div>`;
