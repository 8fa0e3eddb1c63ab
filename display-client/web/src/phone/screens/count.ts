/** Counting on the floor: the touch area of each format, with undo and "one more" apart from it. */
import { html, nothing, type TemplateResult } from "lit-html";
import { touchOf } from "../../counting/scoring";
import type { Counts } from "../../shared/wire";
import { type Field, kilograms, read } from "../field";
import type { Phone } from "../phone";
import { turnWords } from "../team";
import type { Counting, Foot, Known } from "../view";
import { windowOf } from "../who";
import {
  aimWords,
  countedWords,
  mixedWords,
  onPaceWords,
  paceWords,
  placeWords,
  unitWords,
  waitingWords,
} from "../words";
import { numberField } from "./field";

type CountFoot = Extract<Foot, { foot: "count" }>;

/** What a touch on the large area counts now; null where it takes none, with the reason in `say`. */
export function areaOf({ scoring, count }: Counting): { counts: Counts | null; say: string } {
  const none = (say: string) => ({ counts: null, say });
  switch (scoring.by) {
    case "time":
      if (count.finished !== null) return none("All of it is done");
      if (scoring.rounds > 1 && count.rounds >= scoring.rounds - 1)
        return none("The last round: touch Finish when it is done");
      break;
    case "made":
      if (count.rounds > 0) return none("Made in its time");
      break;
    case "done":
      if (count.finished !== null) return none("All of it is done");
  }
  return touchOf(scoring);
}

/** Undo and "one more" stand beside the count, apart from the touch area, so that a wet thumb finds only the one. */
export function countTemplate(phone: Phone, known: Known, foot: CountFoot): TemplateResult {
  const { segment, refused, note, scoring, whose } = foot;
  const touched = (counts: Counts) => () =>
    refused === null ? phone.tap(segment, counts, whose.athlete) : phone.refuse(refused);
  return html`<div class="counting" data-by=${scoring.by} data-me=${whose.me}>
    ${beside(phone, foot, touched)}
    ${
      scoring.by === "load"
        ? loadTemplate(phone, known, foot, touched)
        : html`${area(known, foot, refused, note)}
          ${finishBand(foot, refused)}
          ${scoring.by === "amount" && scoring.step === 1 ? more(refused, touched) : nothing}`
    }
  </div>`;
}

function beside(
  phone: Phone,
  { count, refused, scoring, whose }: CountFoot,
  touched: (counts: Counts) => () => void,
): TemplateResult {
  const { undoable } = count;
  const unit = scoring.by === "amount" ? unitWords(scoring) : "forgot to tap";
  const several =
    scoring.by === "rounds" ||
    (scoring.by === "amount" && scoring.step > 1) ||
    (scoring.by === "time" && count.finished === null && count.rounds < scoring.rounds - 1);
  return html`<div class="beside">
    <button
      ?disabled=${undoable === null}
      @click=${() => undoable !== null && phone.undo(undoable, whose.athlete)}
    >
      Undo
    </button>
    <span class="kept" data-waiting=${count.waiting > 0}>${waitingWords(count)}</span>
    ${
      several
        ? html`<button ?disabled=${refused !== null} @click=${touched({ kind: "round-before" })}>
            One more<small>${unit}</small>
          </button>`
        : html`<span class="gap"></span>`
    }
  </div>`;
}

function area(known: Known, foot: CountFoot, refused: string | null, note: string | null): TemplateResult {
  const { counts, say } = areaOf(foot);
  const quiet = refused !== null || counts === null;
  return html`<button
    id="touch"
    class="touch"
    data-refused=${refused !== null}
    data-over=${refused === null && counts === null}
    aria-disabled=${quiet}
  >
    <span class="flash" aria-hidden="true"></span>
    ${numbers(known, foot)}
    <span class="say">${refused ?? note ?? say}</span>
  </button>`;
}

/** Far from the area of the rounds, with a look of its own: no touch for a round can finish by mistake. */
function finishBand({ scoring, count }: CountFoot, refused: string | null): TemplateResult | typeof nothing {
  if (scoring.by !== "time" || scoring.rounds <= 1) return nothing;
  const over = count.finished !== null;
  return html`<button id="finish" class="finish" aria-disabled=${over || refused !== null}>
    <span class="flash" aria-hidden="true"></span>
    <b>Finish</b><small class="say">${over ? "done" : `all ${scoring.rounds} rounds are done`}</small>
  </button>`;
}

const more = (refused: string | null, touched: (counts: Counts) => () => void): TemplateResult =>
  html`<div class="more">
    ${[5, 10].map(
      (amount) => html`<button ?disabled=${refused !== null} @click=${touched({ kind: "amount", amount })}>
        +${amount}
      </button>`,
    )}
  </div>`;

function numbers(known: Known, foot: Counting): TemplateResult {
  const [main, unit] = countedWords(foot.count, foot.scoring);
  return html`${whom(foot)}<span class="number" data-long=${main.length > 4}>${main}</span>
    <span class="unit">${unit}</span>
    <span class="facts">${facts(known, foot).map((fact) => html`<span>${fact}</span>`)}</span>`;
}

/** For whom every touch counts, large, where that is somebody else. */
const whom = ({ whose }: Counting): TemplateResult | typeof nothing =>
  whose.me ? nothing : html`<span class="whom"><small>You count for </small>${whose.name}</span>`;

function facts(known: Known, { segment, count, standing, whose, scoring }: Counting): string[] {
  const { state } = known;
  const told = windowOf(whose, segment);
  const block = state.session.blocks[state.segments[segment]?.block ?? -1];
  const byRounds = scoring.by === "rounds";
  return [
    byRounds || scoring.by === "time" ? paceWords(count.lastSplit, told?.splits ?? []) : "",
    placeWords(standing),
    count.waiting > 0 ? "" : onPaceWords(standing.pace),
    byRounds ? aimWords(block?.aim) : "",
    byRounds ? mixedWords(count.rounds, told?.as_written) : "",
    ...(whose.me ? turnWords(known, told, known.athlete) : []),
    standing.marked ? "the coach will look at it" : "",
  ].filter((fact) => fact !== "");
}

/** Attempts at a load: the weight, good or no lift, and those made so far. */
function loadTemplate(
  phone: Phone,
  known: Known,
  foot: CountFoot,
  touched: (counts: Counts) => () => void,
): TemplateResult {
  const { count, refused, standing } = foot;
  const lift = liftOf(phone, known, foot);
  const set = (next: Field) => {
    phone.lift = next;
    phone.changed();
  };
  const attempt = (good: boolean) => () => {
    const loaded = read(lift);
    if ("problem" in loaded) return set({ ...lift, problem: loaded.problem });
    touched({ kind: "attempt", grams: loaded.value, good })();
  };
  return html`<div class="lifts">
    ${whom(foot)} ${numberField(lift, "Load of this attempt", "kg", set)}
    <div class="lift">
      <button class="main" aria-disabled=${refused !== null} @click=${attempt(true)}>Good lift</button>
      <button aria-disabled=${refused !== null} @click=${attempt(false)}>No lift</button>
    </div>
    <p class="say">${refused ?? placeWords(standing)}</p>
    <ol class="attempts" aria-label="Attempts">
      ${count.attempts.map(
        ({ grams, good }) => html`<li data-good=${good} data-best=${good && grams === count.best}>
          ${kilograms(grams)} kg <small>${good ? (grams === count.best ? "best" : "good") : "no lift"}</small>
        </li>`,
      )}
    </ol>
  </div>`;
}

/** The load of the next attempt: as it was left, else from the last attempt, else as the sheet has it. */
function liftOf(phone: Phone, { state }: Known, { segment, whose, count }: Counting): Field {
  const { lift } = phone;
  if (lift?.segment === segment && lift.athlete === whose.athlete) return lift;
  const block = state.session.blocks[state.segments[segment]?.block ?? -1];
  const grams = count.attempts.at(-1)?.grams ?? block?.movements[0]?.load?.grams.at(0) ?? 20_000;
  const of = { asks: "load" } as const;
  return {
    kind: "field",
    athlete: whose.athlete,
    segment,
    again: false,
    of,
    text: kilograms(grams),
    problem: null,
  };
}

/** Somebody else counts: who, what stands, and one touch to take it back. */
export function lentTemplate(
  phone: Phone,
  known: Known,
  foot: Extract<Foot, { foot: "lent" }>,
): TemplateResult {
  const back = () => phone.ask({ ask: "let-count", athlete: known.athlete, counter: null });
  return html`<div class="counting">
    <div class="lent">
      <p><b>${foot.by}</b> counts for you</p>
      ${numbers(known, foot)}
    </div>
    <button class="take-back" @click=${back}>Count yourself again</button>
  </div>`;
}
