/** What lies over the grid for one person. */
import { html, nothing, type TemplateResult } from "lit-html";
import { movement } from "../../counting/movement";
import { asIDo, inRound } from "../../counting/plan";
import type { Counts } from "../../shared/wire";
import {
  askOf,
  inAll,
  pointAt,
  type RepsOf,
  result,
  type Sheet,
  stepFull,
  stepLoad,
  stepReps,
  toEndOf,
  totals,
} from "../sheet";
import type { Tablet } from "../tablet";
import { type Card, type Known, repsOfRounds } from "../view";
import { amountWord, countWords, kilograms } from "../words";

type Attempt = Extract<Sheet, { sheet: "attempt" }>;
type Result = Extract<Sheet, { sheet: "result" }>;
/** A card of somebody in a window. */
type Counted = Card & { counted: NonNullable<Card["counted"]> };

const isCounted = (card: Card | undefined): card is Counted => card?.counted != null;

/** Opens what a touch on somebody asks for, where it asks for more than a count. */
export function openFor(tablet: Tablet, card: Card): void {
  if (!isCounted(card)) return;
  if (card.touch.touch === "attempt") openAttempt(tablet, card);
  if (card.touch.touch === "result") openResult(tablet, card);
}

export function openMore(tablet: Tablet, { athlete, counted }: Card): void {
  if (counted !== null) tablet.open({ sheet: "more", athlete, segment: counted.segment });
}

function openAttempt(tablet: Tablet, { athlete, counted: { segment, count } }: Counted): void {
  const grams = count.attempts.at(-1)?.grams ?? count.best ?? 20_000;
  tablet.open({ sheet: "attempt", athlete, segment, grams });
}

function openResult(tablet: Tablet, card: Counted): void {
  const known = tablet.known();
  if (known === null) return;
  const { athlete, counted } = card;
  const { segment, scoring, count, entered } = counted;
  const repsOf = repsFor(known, card);
  const { step } = scoring.by === "amount" ? scoring : { step: 1 };
  const full = scoring.by === "amount" ? Math.floor(count.amount / step) : count.rounds;
  const before = inAll({ counted: full, full, again: entered, reached: { movement: 0, reps: 0 } }, repsOf);
  const extra =
    scoring.by === "amount"
      ? count.amount - full * step
      : scoring.by === "time"
        ? count.reps - before
        : count.extra;
  tablet.open({ sheet: "result", athlete, segment, ...result(full, Math.max(0, extra), entered, repsOf) });
}

function repsFor({ state, lines }: Known, { athlete, counted }: Counted): RepsOf {
  const line = lines.find((line) => line.athlete === athlete);
  return line === undefined ? () => [] : repsOfRounds(state, line, counted.segment, counted.scoring);
}

/** The sheet that lies open; nothing where there is none, or its window is not shown any longer. */
export function sheetTemplate(
  tablet: Tablet,
  known: Known,
  cards: readonly Card[],
): TemplateResult | typeof nothing {
  const { sheet } = tablet;
  const card = cards.find(({ athlete }) => athlete === sheet?.athlete);
  if (sheet === null || !isCounted(card) || card.counted.segment !== sheet.segment) return nothing;
  const [main, rest] = countWords(card.counted.scoring, card.counted.count);
  const inside =
    sheet.sheet === "more"
      ? more(tablet, card)
      : sheet.sheet === "attempt"
        ? attempt(tablet, card, sheet)
        : resultForm(tablet, known, card, sheet);
  return html`<div class="over" role="dialog" aria-modal="true" aria-label=${card.name}>
    <div class="sheet">
      <header>
        <h2>${card.name} <span>${main} ${rest}</span></h2>
        <button type="button" class="close" @click=${() => tablet.open(null)}>Close</button>
      </header>
      ${inside}
    </div>
  </div>`;
}

/** More ways to count for somebody than a touch. */
function more(tablet: Tablet, card: Counted): TemplateResult {
  const { athlete, counted, touch } = card;
  const { segment, scoring } = counted;
  const counts = (words: string, what: Counts) => html`<button
    type="button"
    @click=${() => {
      tablet.tap(athlete, segment, what);
      tablet.open(null);
    }}
  >
    ${words}
  </button>`;
  const works = touch.touch === "count" || !tablet.connected;
  const rounds = scoring.by === "rounds" || (scoring.by === "time" && scoring.rounds > 1);
  const asksResult = scoring.by === "rounds" || scoring.by === "time" || scoring.by === "amount";
  return html`<div class="ways">
    ${works && rounds ? counts("One more round, that was forgotten", { kind: "round-before" }) : nothing}
    ${works && scoring.by === "time" ? counts("Finished now", { kind: "finish" }) : nothing}
    ${
      works && scoring.by === "amount"
        ? [scoring.step, 5, 10]
            .filter((each, index) => index === 0 || each > scoring.step)
            .map((amount) => counts(`+ ${amount} ${amountWord(scoring)}`, { kind: "amount", amount }))
        : nothing
    }
    ${scoring.by === "load" ? html`<button type="button" @click=${() => openAttempt(tablet, card)}>A try at a load</button>` : nothing}
    ${asksResult ? html`<button type="button" @click=${() => openResult(tablet, card)}>Set the count</button>` : nothing}
    ${scoring.by === "made" ? madeTemplate(tablet, card) : nothing}
  </div>`;
}

function madeTemplate(tablet: Tablet, { athlete, counted: { segment, count } }: Counted): TemplateResult {
  const made = count.rounds > 0 ? 0 : 1;
  const set = () => {
    tablet.ask({ ask: "set-tally", athlete, segment, tally: { kind: "made", made, of: 1 } });
    tablet.open(null);
  };
  return html`<button type="button" @click=${set}>${made === 1 ? "It was made" : "It was not made"}</button>`;
}

/** A try at a load, good or no lift; after the bell, the load that counts. */
function attempt(tablet: Tablet, { athlete, counted, touch }: Counted, sheet: Attempt): TemplateResult {
  const { grams, segment } = sheet;
  const by = (step: number) => () => tablet.open({ ...sheet, grams: stepLoad(grams, step) });
  const tried = (good: boolean) => () => {
    tablet.tap(athlete, segment, { kind: "attempt", grams, good });
    tablet.open(null);
  };
  const set = () => {
    tablet.ask({ ask: "set-tally", athlete, segment, tally: { kind: "load", grams } });
    tablet.open(null);
  };
  const over = touch.touch === "attempt" && touch.over;
  return html`
    ${counted.count.attempts.length === 0 ? nothing : attempts(counted.count.attempts)}
    <div class="load">
      ${[-25_000, -10_000, -2_500, -1_000].map((step) => html`<button type="button" @click=${by(step)}>− ${kilograms(-step)}</button>`)}
      <output>${kilograms(grams)}<small>kg</small></output>
      ${[1_000, 2_500, 10_000, 25_000].map((step) => html`<button type="button" @click=${by(step)}>+ ${kilograms(step)}</button>`)}
    </div>
    <div class="actions">
      ${
        over
          ? html`<button type="button" class="main" @click=${set}>It counts</button>`
          : html`<button type="button" @click=${tried(false)}>No lift</button>
              <button type="button" class="main" @click=${tried(true)}>Good lift</button>`
      }
    </div>
  `;
}

const attempts = (all: Counted["counted"]["count"]["attempts"]): TemplateResult => html`<ol class="attempts">
  ${all.map(({ grams, good }) => html`<li data-good=${good}>${kilograms(grams)} kg ${good ? "good" : "no lift"}</li>`)}
</ol>`;

/** Full rounds, and how far the unfinished one came. */
function resultForm(tablet: Tablet, known: Known, card: Counted, sheet: Result): TemplateResult {
  const { scoring } = card.counted;
  const repsOf = repsFor(known, card);
  const set = (next: Result) => tablet.open(next);
  const save = () => {
    tablet.ask(askOf(sheet, scoring, repsOf));
    tablet.open(null);
  };
  const units = scoring.by === "amount";
  const ones = units && scoring.step === 1;
  const word = !units
    ? "Full rounds"
    : ones
      ? `All ${amountWord(scoring)}`
      : `Full ${scoring.step} ${amountWord(scoring)}`;
  return html`
    <div class="result">
      <div class="row">
        <p>${word}</p>
        ${stepper(sheet.full, "", (by) => set(stepFull(sheet, by, repsOf)), ones ? [1, 10] : [1])}
      </div>
      ${ones ? nothing : units ? rest(sheet, repsOf, amountWord(scoring), set) : reached(known, card, sheet, repsOf, set)}
    </div>
    <div class="actions">
      <button type="button" class="main" @click=${save}>Save ${savedWords(sheet, repsOf, scoring.by)}</button>
    </div>
  `;
}

function savedWords(sheet: Result, repsOf: RepsOf, by: string): string {
  if (by !== "rounds") return `${inAll(sheet, repsOf)}`;
  const { full, extra } = totals(sheet, repsOf);
  return extra > 0 ? `${full} + ${extra}` : `${full}`;
}

/** What of one unit was done when the bell went. */
const rest = (sheet: Result, repsOf: RepsOf, word: string, set: (next: Result) => void): TemplateResult =>
  html`<div class="row">
    <p>And ${word} of the next</p>
    ${stepper(sheet.reached.reps, `of ${repsOf(sheet.full)[0] ?? 0}`, (by) => set(stepReps(sheet, by, repsOf)), [1, 10])}
  </div>`;

function reached(
  known: Known,
  card: Counted,
  sheet: Result,
  repsOf: RepsOf,
  set: (next: Result) => void,
): TemplateResult {
  const block = known.state.segments[sheet.segment]?.block ?? 0;
  const choice = known.lines.find(({ athlete }) => athlete === card.athlete)?.choice ?? {
    scaled: false,
    options: [],
  };
  const reps = repsOf(sheet.full);
  return html`<p class="label">How far did the next round come?</p>
    <ul class="reached">
      ${inRound(known.state.session.blocks[block], asIDo(known.state, block, choice), sheet.full).map(
        (each) => {
          const here = each.index === sheet.reached.movement;
          return html`<li data-state=${each.index < sheet.reached.movement ? "done" : here ? "here" : "ahead"}>
          <button type="button" class="point" aria-pressed=${here} @click=${() => set(pointAt(sheet, each.index))}>
            ${movement({ ...each, by: null })}
          </button>
          ${
            here
              ? stepper(
                  sheet.reached.reps,
                  `of ${reps[each.index] ?? 0}`,
                  (by) => set(stepReps(sheet, by, repsOf)),
                  [1],
                )
              : nothing
          }
          <button type="button" class="end" @click=${() => set(toEndOf(sheet, each.index, repsOf))}>At the end of it</button>
        </li>`;
        },
      )}
    </ul>`;
}

function stepper(
  value: number,
  unit: string,
  by: (by: number) => void,
  steps: readonly number[],
): TemplateResult {
  const button = (step: number) => html`<button
    type="button"
    aria-label="${Math.abs(step)} ${step < 0 ? "fewer" : "more"}"
    @click=${() => by(step)}
  >
    ${step < 0 ? "−" : "+"}${Math.abs(step) === 1 ? "" : Math.abs(step)}
  </button>`;
  return html`<div class="stepper">
    ${steps.toReversed().map((step) => button(-step))}
    <output>${value}<small>${unit}</small></output>
    ${steps.map(button)}
  </div>`;
}
