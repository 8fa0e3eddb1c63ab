/** The calls that make sense now: two large targets, each in its own place, and the others at hand. */
import { html, nothing, type TemplateResult } from "lit-html";
import { SECOND } from "../shared/clock";
import type { CallsNow, Offer } from "./calls";
import { plannedWords } from "./calls";
import type { Live, Shown } from "./live";
import { blockTitle, callWord, segmentName } from "./words";

/** In the row under the two large ones; the rest stands behind "More". */
const AT_HAND = 3;

export function callsPanel({ live, calls }: Shown): TemplateResult {
  return html`
    <div class="calls">
      ${largeTwo(live, calls)}
      ${
        calls.others.length === 0
          ? nothing
          : html`
              <div class="row">
                ${calls.others.slice(0, AT_HAND).map((offer) => small(live, offer))}
                <button @click=${() => live.lay({ over: "calls" })}><b>More</b><span>all calls</span></button>
              </div>
            `
      }
    </div>
  `;
}

/** Where only one of the two can make sense in the phase, it has the room of both; in a segment neither moves. */
function largeTwo(live: Live, calls: CallsNow): TemplateResult | typeof nothing {
  const { still, onward, others } = calls;
  if (still === null && onward === null) return nothing;
  const alone = others.length === 0;
  return html`
    <div class="two" ?data-alone=${alone}>
      ${alone && still === null ? nothing : large(live, calls, "still")}
      ${alone && onward === null ? nothing : large(live, calls, "onward")}
    </div>
  `;
}

/** A large target. Where its call makes no sense now its place stays, so that the other one does not move. */
function large(live: Live, calls: CallsNow, which: "still" | "onward"): TemplateResult {
  const offer = calls[which];
  if (offer === null) return html`<span class="large blank"></span>`;
  const sending = live.requests.calling.includes(offer.call.call);
  return html`
    <button
      class="large"
      ?data-main=${calls.main === which}
      ?data-sending=${sending}
      @click=${() => live.call(offer.call)}
    >
      <b>${offer.word}</b><span>${offer.detail}</span>
    </button>
  `;
}

function small(live: Live, { call, word, detail }: Offer): TemplateResult {
  return html`<button @click=${() => live.call(call)}><b>${word}</b><span>${detail}</span></button>`;
}

/** Takes back the last call, and says which and for how long still; nothing where none can be taken back. */
export function takeBackButton({ live, view, at }: Shown): TemplateResult | typeof nothing {
  const { take_back: last } = view;
  const left = last?.until == null ? null : last.until - at;
  if (last === null || (left !== null && left <= 0)) return nothing;
  return html`
    <button class="take-back" @click=${() => live.requests.takeBack(last.id)}>
      <span>Take back: <b>${callWord(last)}</b></span>
      <span>${left === null ? "until the bell" : `${Math.ceil(left / SECOND)} s`}</span>
    </button>
  `;
}

/** Every call of the moment with what it leads to, and the segments to jump to. */
export function allCalls(shown: Shown): TemplateResult {
  const { live, state, calls, showing } = shown;
  const here = "index" in showing ? showing.index : null;
  return html`
    <h2>All calls</h2>
    ${takeBackButton(shown)}
    <div class="grid">${calls.others.map((offer) => small(live, offer))}</div>
    <h3>Jump to</h3>
    <ol class="jumps">
      ${state.segments.map((segment, index) => {
        if (segment.dropped) return nothing;
        const own = state.segments.filter(({ block, dropped }) => block === segment.block && !dropped);
        const first = own.length > 1 && own[0] === segment;
        return html`
          ${first ? html`<li class="block">${blockTitle(segment.block, state.session)}</li>` : nothing}
          <li>
            <button
              ?disabled=${!calls.jumps.includes(index)}
              @click=${() => live.call({ call: "jump", to: index })}
            >
              <span>${segmentName(segment, state.session)}</span>
              <span class="quiet">${index === here ? "here" : plannedWords(segment)}</span>
            </button>
          </li>
        `;
      })}
    </ol>
  `;
}
