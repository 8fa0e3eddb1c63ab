/** The list "To settle": why a count is marked, when, and one touch to decide it. */
import { html, nothing, type TemplateResult } from "lit-html";
import { repeat } from "lit-html/directives/repeat.js";
import type { HouseTime, SegmentIndex } from "../shared/wire";
import { openHistory } from "./history-panel";
import type { Shown } from "./live";
import { classTimeAt, type Item, marked } from "./marks";
import { floorOf, rollWindow } from "./roll-panel";
import { tallyIn, windowOf } from "./scoring";
import type { Decision, Settled } from "./settle";
import { parties } from "./teams";
import { segmentName, wallClock } from "./words";

/** What is marked in the class now. */
export function toSettle({ view, state, at }: Shown): Item[] {
  const inWords = (segment: SegmentIndex, made: HouseTime) =>
    classTimeAt(state.clock.phase, segment, made) ?? `${wallClock(made - at, true)} o’clock`;
  return marked(view.people, state.segments, state.session, inWords);
}

/** One touch away when there is time for it, between two stretches of work and after: nothing while work runs. */
export function afterWork(shown: Shown): TemplateResult | typeof nothing {
  if (works(shown)) return nothing;
  const { live, view } = shown;
  const odd = toSettle(shown).length;
  const window = rollWindow(shown);
  const floor = window === null ? null : floorOf(shown, window);
  const without =
    window === null || floor === null
      ? 0
      : parties(view.people, floor.shared).filter(
          ({ members: [first] }) => first && !tallyIn(windowOf(first, window)),
        ).length;
  if (odd + without === 0) return nothing;
  return html`
    <div class="after-work">
      ${
        without === 0 || window === null
          ? nothing
          : html`
              <button @click=${() => live.callRoll(window)}>
                <b>Roll call: ${without}</b> <span class="quiet">without a result</span>
              </button>
            `
      }
      ${
        odd === 0
          ? nothing
          : html`
              <button @click=${() => openSettle(shown)}>
                <b>To settle: ${odd}</b> <span class="quiet">${odd === 1 ? "count that looks odd" : "counts that look odd"}</span>
              </button>
            `
      }
    </div>
  `;
}

/** Whether work runs, when the coach's eye belongs on the floor. */
export const works = ({ showing }: Shown): boolean =>
  showing.phase === "running" && showing.segment.kind === "work" && showing.resumeIn === 0;

export function openSettle({ live }: Shown): void {
  live.settling.open();
  live.lay({ over: "settle" });
}

export function settlePanel(shown: Shown): TemplateResult {
  const list = shown.live.settling.list(toSettle(shown));
  const left = list.filter(({ decision }) => decision === null).length;
  return html`
    <h2>To settle${left === 0 ? nothing : html`: ${left}`}</h2>
    ${
      list.length === 0
        ? html`<p class="empty">Nothing is marked. A count that looks odd comes here with the reason.</p>`
        : html`<p class="quiet small">Whatever you decide is kept in the history, with who and when.</p>`
    }
    <ul class="settle">
      ${repeat(
        list,
        ({ item }) => item.key,
        (settled) => settleItem(shown, settled),
      )}
    </ul>
  `;
}

function settleItem(shown: Shown, { item, decision, onTheWay }: Settled): TemplateResult {
  const segment = shown.state.segments[item.segment];
  const piece = segment === undefined ? "" : segmentName(segment, shown.state.session);
  const [athlete] = item.athletes;
  return html`
    <li ?data-settled=${decision !== null}>
      <p><b class="settle-who">${item.name}</b> <span class="quiet">${piece}</span></p>
      <p>${item.words} ${decision === null ? nothing : html`<b>${onTheWay ? "On the way to the house …" : DECIDED[decision]}</b>`}</p>
      <div class="decide">
        ${item.what.on === "taps" ? tapButtons(shown, item, item.what, decision) : tallyButtons(shown, item, decision)}
        <button
          class="to-history"
          @click=${() => athlete !== undefined && openHistory(shown, athlete, item.segment, item.name)}
        >
          History
        </button>
      </div>
    </li>
  `;
}

const DECIDED: Record<Decision, string> = {
  counts: "Settled: counts.",
  "does-not": "Settled: does not count.",
  stands: "Settled: it stands.",
  elsewhere: "Settled.",
};

function tapButtons(
  { live }: Shown,
  item: Item,
  { taps, count }: Extract<Item["what"], { on: "taps" }>,
  decision: Decision | null,
): TemplateResult {
  const all = taps.length > 1 ? "All count" : "Counts";
  const none = taps.length > 1 ? "None counts" : "Does not count";
  const now = decision === null ? (count ? "counts" : "does-not") : decision;
  return html`
    <button
      aria-pressed=${decision === "counts"}
      @click=${() => live.settling.taps(item, taps, true)}
    >
      ${all}${decision === null && now === "counts" ? html`<span class="as-now">as now</span>` : nothing}
    </button>
    <button
      aria-pressed=${decision === "does-not"}
      @click=${() => live.settling.taps(item, taps, false)}
    >
      ${none}${decision === null && now === "does-not" ? html`<span class="as-now">as now</span>` : nothing}
    </button>
  `;
}

function tallyButtons({ live }: Shown, item: Item, decision: Decision | null): TemplateResult {
  const [athlete] = item.athletes;
  const change = () => {
    if (athlete === undefined) return;
    live.callRoll(item.segment, athlete, () => {
      void live.settling.stands(item);
      live.lay({ over: "settle" });
    });
  };
  return html`
    <button aria-pressed=${decision === "stands"} @click=${() => live.settling.stands(item)}>It stands</button>
    <button @click=${change}>Change it</button>
  `;
}
