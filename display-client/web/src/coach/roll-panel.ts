/** Roll call on a large keypad: one name, the digits, and on to the next. */
import { html, nothing, type TemplateResult } from "lit-html";
import { type Entry, entriesOf } from "./entry";
import { windowInView } from "./floor";
import type { KeyPress } from "./keys";
import type { Live, Shown } from "./live";
import { extraKeys, type Floor, type RollCall, rollKey, typedWords } from "./roll";
import { scoringOf, windowOf } from "./scoring";
import { teamSize } from "./teams";
import { choiceWords, segmentName, tallyText } from "./words";

const DIGITS = ["1", "2", "3", "4", "5", "6", "7", "8", "9"];
const KEY_WORDS: Record<string, string> = { "+": "+ reps" };

/** The people of the moment, for the roll that is called; null before the work has begun. */
export function floorOf({ view, state }: Shown, segment: number): Floor | null {
  const scoring = scoringOf(view.people, segment);
  const shared = teamSize(state.session, state.segments[segment]?.block) > 1;
  return scoring === null ? null : { people: view.people, scoring, shared };
}

/** The window that the roll is called for, once it has begun. */
export function rollWindow(shown: Shown): number | null {
  const window = windowInView(shown.showing, shown.state.segments);
  return window !== null && floorOf(shown, window) !== null ? window : null;
}

export function rollPanel(shown: Shown): TemplateResult {
  const { live, state } = shown;
  const { roll } = live;
  const floor = roll === null ? null : floorOf(shown, roll.segment);
  const segment = roll === null ? undefined : state.segments[roll.segment];
  if (roll === null || floor === null || segment === undefined) {
    return html`<h2>Roll call</h2><p class="empty">Results can be entered once the work has begun.</p>`;
  }
  const party = roll.party(floor);
  return html`
    <h2>${roll.only === null ? "Roll call" : "Change it"}</h2>
    <div class="roll">
      <p class="roll-of">${windowChoice(shown, roll)} <span role="status">${progress(roll, floor)}</span></p>
      ${party === null ? called(shown, roll, floor) : name(shown, roll, floor)}
    </div>
  `;
}

/** Which work: chosen where more than one has begun. */
function windowChoice({ live, state, view }: Shown, roll: RollCall): TemplateResult {
  const begun = state.segments.flatMap((segment, index) =>
    view.people.some((person) => windowOf(person, index) !== undefined) ? [{ segment, index }] : [],
  );
  const name = (index: number) => {
    const segment = state.segments[index];
    return segment === undefined ? "" : segmentName(segment, state.session);
  };
  if (roll.only !== null || begun.length < 2) return html`<span class="quiet">${name(roll.segment)}</span>`;
  return html`
    <select
      aria-label="Which work"
      @change=${(event: Event) => live.callRoll(Number((event.target as HTMLSelectElement).value))}
    >
      ${begun.map(({ index }) => html`<option value=${index} .selected=${index === roll.segment}>${name(index)}</option>`)}
    </select>
  `;
}

function progress(roll: RollCall, floor: Floor): string {
  if (roll.only !== null) return "";
  const left = roll.open(floor).length;
  const way = roll.onTheWay;
  return `${left === 0 ? "all have a tally" : `${left} to go`}${way === 0 ? "" : ` · ${way} on the way`}`;
}

function called({ live }: Shown, roll: RollCall, floor: Floor): TemplateResult {
  const skipped = roll.open(floor);
  return html`
    <p class="roll-done">
      ${skipped.length === 0 ? "Everybody has a tally." : `Skipped: ${skipped.map(({ name }) => name).join(", ")}.`}
    </p>
    <div class="two-up">
      <button ?disabled=${!roll.canGoBack} @click=${() => roll.back()}>Back</button>
      ${
        skipped.length === 0
          ? html`<button class="yes" @click=${() => live.lay(null)}>Done</button>`
          : html`<button class="yes" @click=${() => roll.again()}>Call those again</button>`
      }
    </div>
  `;
}

function name(shown: Shown, roll: RollCall, floor: Floor): TemplateResult | typeof nothing {
  const party = roll.party(floor);
  const [first] = party?.members ?? [];
  if (party === null || first === undefined) return nothing;
  const has = roll.tallyOf(party);
  const entries = entriesOf(floor.scoring);
  const [usual] = entries;
  const problem = roll.problem || roll.refusal(party);
  const typed = usual === undefined ? "" : typedWords(usual, roll.typed);
  return html`
    <div class="roll-name">
      <button ?disabled=${!roll.canGoBack} @click=${() => roll.back()}>Back</button>
      <p aria-live="polite">
        <b class="roll-who">${party.name}</b>
        <span class="roll-about quiet">${has === null ? choiceWords(first.choice, shown.state.session) : `has ${tallyText(has, floor.scoring)}`}</span>
      </p>
      <button ?disabled=${roll.only !== null} @click=${() => roll.skip(floor)}>Skip</button>
    </div>
    ${
      entries.some(({ fields }) => fields.length > 0)
        ? html`
            <output class="typed" aria-label="Typed">${typed === "" ? html`<span class="quiet">–</span>` : typed}</output>
            <p class="problem-line" role="alert">${problem}</p>
            ${keypad(roll, floor)}
          `
        : html`<p class="problem-line" role="alert">${problem}</p>`
    }
    <div class="roll-ends">
      ${entries.map((entry, at) => end(roll, floor, entry, at === 0))}
    </div>
  `;
}

function keypad(roll: RollCall, { scoring }: Floor): TemplateResult {
  const [left = "", right = "", more = ""] = extraKeys(scoring);
  const key = (value: string) =>
    value === ""
      ? html`<span></span>`
      : html`<button @click=${() => roll.press(value)}>${KEY_WORDS[value] ?? value}</button>`;
  return html`
    <div class="keypad" data-more=${more === "" ? nothing : "yes"}>
      ${DIGITS.map(key)} ${key(left)} ${key("0")}
      <button aria-label="Erase" @click=${() => roll.press("erase")}>⌫</button>
      ${more === "" ? nothing : html`${key(right)} ${key(more)}`}
    </div>
  `;
}

/** What ends a name and brings the next: one button for each way to end the work. */
function end(roll: RollCall, floor: Floor, entry: Entry, main: boolean): TemplateResult {
  const typed = entry.fields.length === 0 ? "" : typedWords(entry, roll.typed);
  const word = entry.word === "Set" ? (roll.only === null ? "Next" : "Set") : entry.word;
  return html`
    <button class=${main ? "end yes" : "end"} @click=${() => roll.enter(entry, floor)}>
      ${word}${entry.word !== "Set" && typed !== "" ? html`<span class="ends-with">${typed}${entry.key === "at-cap" ? " reps" : ""}</span>` : nothing}
    </button>
  `;
}

/** Takes a key of a keyboard while the roll is open. Returns whether it was one of the roll's. */
export function rollKeyed(live: Live, { key, target, modified }: KeyPress): boolean {
  const shown = live.over?.over === "roll" ? live.shown() : null;
  const floor = shown === null || live.roll === null ? null : floorOf(shown, live.roll.segment);
  const { roll } = live;
  if (roll === null || floor === null || modified || target === "field") return false;
  const does = rollKey(key, floor.scoring);
  if (does === null || (target === "control" && key === "Enter")) return false;
  if (does === "skip") roll.skip(floor);
  else if (does === "back") roll.back();
  else if ("press" in does) roll.press(does.press);
  else {
    const entry = entriesOf(floor.scoring)[does.end];
    if (entry !== undefined) roll.enter(entry, floor);
  }
  return true;
}
