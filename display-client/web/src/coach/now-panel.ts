/** What the coach reads while the class runs: who wants something, what is done now, what to say about it. */
import { html, nothing, type TemplateResult } from "lit-html";
import { minutes, secondsLeft } from "../shared/clock";
import type { Block, BlockIndex, Movement, Session } from "../shared/wire";
import { formatOf, formatWords, movementWords, titleOf, withOption } from "../shared/words";
import { asks } from "./asks-panel";
import { codeCard } from "./code-panel";
import { outOfReach, taps } from "./devices";
import type { Shown } from "./live";
import { afterWork } from "./settle-panel";
import { standsOutCard } from "./stands-out-panel";
import { teamsCard } from "./teams-panel";
import { namesWords, optionName, optionWords } from "./words";

export function nowPanel(shown: Shown): TemplateResult {
  const { state, showing } = shown;
  const first = state.segments.find(({ dropped }) => !dropped);
  if (state.closed) {
    return html`<p>The class is closed. Late taps and results still count; nothing else can be changed.</p>
      ${afterWork(shown)} ${stillWaiting(shown)}`;
  }
  switch (showing.phase) {
    case "gathering":
      return html`${asks(shown)} ${teamsCard(shown)} ${codeCard(shown)} ${safetyNotes(state.session)}
      ${first === undefined ? nothing : block(shown, first.block, "First")}`;
    case "done":
      return html`
        ${asks(shown)} ${afterWork(shown)} ${standsOutCard(shown)} ${stillWaiting(shown)}
        <div class="card">
          <p>Results can still be entered and set on the Floor tab. When all is done, close the class.</p>
          <button class="wide" @click=${() => shown.live.lay({ over: "close" })}>Close the class</button>
        </div>
      `;
    default: {
      const here = showing.segment.block;
      const after = state.segments.find(
        (segment, index) => index > showing.index && !segment.dropped && segment.block !== here,
      );
      return html`${asks(shown)} ${teamsCard(shown)} ${afterWork(shown)} ${standsOutCard(shown)}
      ${block(shown, here, null)}
      ${after === undefined ? nothing : block(shown, after.block, "After this")}`;
    }
  }
}

/** On which devices taps wait or may wait when all is over: they count whenever they come. */
export function stillWaiting({ view, live }: Shown): TemplateResult | typeof nothing {
  const waiting = taps(view.devices, view.people, live.follower.device);
  const away = outOfReach(view.devices, view.people);
  if (waiting.length + away.length === 0) return nothing;
  return html`
    <div class="card warning">
      ${waiting.length === 0 ? nothing : html`<p><b>Still to come:</b> ${namesWords(waiting)}.</p>`}
      ${away.length === 0 ? nothing : html`<p><b>Out of reach:</b> ${namesWords(away)}. Taps may wait there.</p>`}
      <p class="quiet small">Taps count whenever they come, after the class is closed too.</p>
    </div>
  `;
}

const safetyNotes = ({ notes }: Session) =>
  notes.length === 0 ? nothing : html`<div class="card">${notes.map((note) => html`<p>${note}</p>`)}</div>`;

/** One block with everything that the sheet says about it. `when` heads one that is still to come. */
export function block(shown: Shown, index: BlockIndex, when: string | null): TemplateResult | typeof nothing {
  const { state, showing } = shown;
  const planned = state.session.blocks[index];
  if (planned === undefined) return nothing;
  const format = formatOf(planned);
  const at = when === null && "segment" in showing ? showing.segment.movement : null;
  return html`
    <article class="block" ?data-later=${when !== null}>
      <h2>${when === null ? nothing : html`<span class="quiet">${when}:</span>`} ${titleOf(planned)}</h2>
      ${format === undefined ? nothing : html`<p>${formatWords(format)}${repeats(planned)}</p>`}
      ${planned.aim === null ? nothing : html`<p class="aim"><b>Aim</b> ${planned.aim.text}</p>`}
      ${told(planned)}
      ${
        planned.movements.length === 0
          ? nothing
          : html`
              <ol class="movements">
                ${planned.movements.map((movement, place) => movementItem(shown, index, movement, place, at))}
              </ol>
            `
      }
    </article>
  `;
}

/** `, 4 times with 1:30 of rest between`, where a piece is repeated. */
function repeats({ kind }: Block): string {
  if (kind.kind !== "piece" || kind.repeats === 1) return "";
  const rest =
    kind.repeat_rest === 0 ? "" : ` with ${minutes(secondsLeft(kind.repeat_rest))} of rest between`;
  return `, ${kind.repeats} times${rest}`;
}

/** Cues and notes. Those for the coach alone are set apart from what everybody reads. */
function told({ cues, coach_notes: coachNotes, notes }: Block): TemplateResult {
  return html`
    ${cues.length === 0 ? nothing : html`<ul class="cues">${cues.map((cue) => html`<li>${cue}</li>`)}</ul>`}
    ${coachNotes.map((note) => html`<p class="for-coach"><b>For you</b> ${note}</p>`)}
    ${notes.map((note) => html`<p>${note}</p>`)}
  `;
}

function movementItem(
  { live, state }: Shown,
  block: BlockIndex,
  movement: Movement,
  place: number,
  at: number | null,
): TemplateResult {
  const { amount, name, load, tempo } = movementWords(movement);
  const swap = state.swaps.find((swap) => swap.block === block && swap.movement === place);
  const instead = swap === undefined ? undefined : movement.options[swap.option];
  const { standard } = withOption(movement, instead);
  return html`
    <li ?data-here=${place === at}>
      <p class="movement" ?data-swapped=${swap !== undefined}>
        ${amount === "" ? nothing : html`<b>${amount}</b>`} ${name}
        <span class="quiet">${[load, tempo].filter((part) => part !== "").join(" · ")}</span>
      </p>
      ${
        swap === undefined
          ? nothing
          : html`<p class="movement"><b>All do</b> ${instead === undefined ? "" : optionName(instead)}</p>`
      }
      ${standard === null ? nothing : html`<p class="standard">${standard}</p>`}
      ${movement.cues.length === 0 ? nothing : html`<ul class="cues">${movement.cues.map((cue) => html`<li>${cue}</li>`)}</ul>`}
      ${
        movement.options.length === 0
          ? nothing
          : html`
              <details>
                <summary>${movement.options.length === 1 ? "1 option" : `${movement.options.length} options`}</summary>
                ${movement.options.map(
                  (option, index) => html`
                    <div class="option">
                      <p>
                        ${optionWords(option)}
                        ${option.counts_as === null ? nothing : html`<span class="quiet">${option.counts_as}</span>`}
                      </p>
                      ${
                        swap?.option === index
                          ? html`<button @click=${() => ask(null)}>As written</button>`
                          : html`<button @click=${() => ask(index)}>For all</button>`
                      }
                    </div>
                  `,
                )}
              </details>
            `
      }
    </li>
  `;

  function ask(option: number | null): void {
    void live.ask({ ask: "swap", block, movement: place, option }, `swap ${movement.name}`);
  }
}
