/** The plan: when the class will end, what could give, and every segment with what can be changed about it. */
import { html, nothing, type TemplateResult } from "lit-html";
import type { Showing } from "../shared/clock";
import type { BlockIndex, HouseTime, Segment, SegmentIndex, State, Trim } from "../shared/wire";
import { titleOf } from "../shared/words";
import { plannedWords } from "./calls";
import type { Shown } from "./live";
import { isTrimmed, projectedEnd, type Saving, savings, spare, spareWords, winsWords } from "./plan";
import { segmentName, wallClock } from "./words";

/** `ends 18:57 · 3 min to spare`, by this device's wall clock. */
export function fitLine(state: State, showing: Showing, at: HouseTime): TemplateResult {
  if (showing.phase === "done") return html`<span>the class is done</span>`;
  const end = projectedEnd(showing, state.segments, at);
  const left = spare(end, state.started, at, state.session);
  return html`
    <span>${showing.phase === "gathering" ? "started now, ends" : "ends"} <b>${wallClock(end - at)}</b></span>
    ${left === null ? nothing : html`<span class=${left < 0 ? "over-time" : "quiet"}>${spareWords(left)}</span>`}
  `;
}

export function planPanel(shown: Shown): TemplateResult {
  const { state, showing, at } = shown;
  const offers = savings(showing, state.segments, state.session);
  const left = spare(projectedEnd(showing, state.segments, at), state.started, at, state.session);
  const over = left !== null && left < 0;
  return html`
    <p class="fit-line">${fitLine(state, showing, at)}</p>
    ${
      offers.length === 0
        ? nothing
        : html`
            <details class="could-give" ?open=${over}>
              <summary>What could give</summary>
              ${offers.map((offer) => savingButton(shown, offer))}
            </details>
          `
    }
    <ol class="plan">
      ${state.session.blocks.map((block, index) => {
        const own = state.segments.flatMap((segment, at) =>
          segment.block === index ? [{ segment, at }] : [],
        );
        return html`
          <li>
            ${own.length === 1 ? nothing : html`<h3><button @click=${() => look(shown, index)}>${titleOf(block)}</button></h3>`}
            <ol>
              ${own.map(({ segment, at }) => segmentLine(shown, segment, at))}
            </ol>
          </li>
        `;
      })}
    </ol>
  `;
}

function savingButton(shown: Shown, offer: Saving): TemplateResult {
  return html`
    <button class="saving" @click=${() => trim(shown, offer.segment, offer.trim)}>
      <span>${offer.words}</span><b>${winsWords(offer)}</b>
    </button>
  `;
}

function segmentLine(shown: Shown, segment: Segment, at: SegmentIndex): TemplateResult {
  const { state, showing } = shown;
  const here = "index" in showing ? showing.index : showing.phase === "done" ? state.segments.length : -1;
  const when = at < here ? "past" : at === here ? "here" : "later";
  return html`
    <li class="segment" data-when=${when} data-phase=${segment.kind} ?data-dropped=${segment.dropped}>
      <span class="phase-shape"></span>
      <button class="name" @click=${() => look(shown, segment.block)}>${segmentName(segment, state.session)}</button>
      <span class="planned">${segment.dropped ? "left out" : plannedWords(segment)}</span>
      ${when === "later" ? trims(shown, segment, at) : nothing}
    </li>
  `;
}

/** Opens a block: what is done in it, and what could be swapped for all. */
const look = ({ live }: Shown, block: BlockIndex) => live.lay({ over: "block", block });

function trims(shown: Shown, segment: Segment, at: SegmentIndex): TemplateResult | typeof nothing {
  if (segment.kind === "lead-in") return nothing;
  return isTrimmed(segment, shown.state.session)
    ? html`<button @click=${() => trim(shown, at, { trim: "restore" })}>Restore</button>`
    : html`<button @click=${() => trim(shown, at, { trim: "drop" })}>Leave out</button>`;
}

function trim({ live, state }: Shown, segment: SegmentIndex, how: Trim): void {
  const trimmed = state.segments[segment];
  const name = trimmed === undefined ? "a segment" : segmentName(trimmed, state.session);
  void live.ask({ ask: "trim", segment, ...how }, `${how.trim === "restore" ? "restore" : "trim"} ${name}`);
}
