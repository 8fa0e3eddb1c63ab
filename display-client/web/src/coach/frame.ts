/** The frame of the class page: the clock, the calls, the tabs, and STOP, always in the same place. */
import { html, nothing, type TemplateResult } from "lit-html";
import { minutes, type Showing, type Standing, secondsLeft } from "../shared/clock";
import { KIND_WORDS } from "../shared/words";
import { callsPanel, takeBackButton } from "./calls-panel";
import { floorPanel } from "./floor-panel";
import { housePanel } from "./house-panel";
import type { Shown, Tab } from "./live";
import { nowPanel } from "./now-panel";
import { overPanel } from "./over-panel";
import { fitLine, planPanel } from "./plan-panel";
import { toSettle, works } from "./settle-panel";
import { stopNotice } from "./stop-panel";
import { blockTitle, segmentName } from "./words";

const TABS: readonly (readonly [Tab, string])[] = [
  ["now", "Now"],
  ["floor", "Floor"],
  ["plan", "Plan"],
  ["house", "House"],
];

const PANELS: Record<Tab, (shown: Shown) => TemplateResult> = {
  now: nowPanel,
  floor: floorPanel,
  plan: planPanel,
  house: housePanel,
};

export function frame(shown: Shown): TemplateResult {
  const { live, state } = shown;
  const over = live.over === null ? null : overPanel(shown, live.over);
  return html`
    <div class="coach" data-tab=${live.tab} ?data-over=${over !== null} data-phase=${state.closed ? "open" : phaseOf(shown.showing)}>
      ${topLine(shown)} ${clockPanel(shown)}
      <section class="content" tabindex="0" aria-label=${TABS.find(([tab]) => tab === live.tab)?.[1] ?? ""}>
        ${PANELS[live.tab](shown)}
      </section>
      ${notices(shown)}
      <section class="dock">${callsPanel(shown)}</section>
      ${over === null ? nothing : html`<section class="over">${over}</section>`}
      ${live.stopped && !live.stopAside ? stopNotice(shown) : nothing} ${bar(shown)}
    </div>
  `;
}

/** By which colour and shape the clock's phase is told. */
function phaseOf(showing: Showing): string {
  if (showing.phase === "gathering" || showing.phase === "done") return "open";
  if (showing.phase === "held") return "held";
  return showing.resumeIn > 0 ? "lead-in" : showing.segment.kind;
}

function topLine(shown: Shown): TemplateResult {
  return html`<header class="top"><h1>${shown.state.session.title}</h1>${topRight(shown)}</header>`;
}

/** What matters most: a stop that was put aside, a lost connection, else when the class will end. */
function topRight({ live, state, showing, at }: Shown): TemplateResult {
  if (state.closed) {
    return html`<button class="aside" @click=${() => live.turnBack(false)}>Closed. To the sheets</button>`;
  }
  if (live.stopped) {
    return html`<button class="aside" @click=${() => live.putStopAside(false)}>The stop notice stands. Show it</button>`;
  }
  if (live.follower.connection !== "connected") {
    return html`<p class="alone" role="status">On its own: no connection to the house</p>`;
  }
  return html`<button class="fit" @click=${() => live.show("plan")}>${fitLine(state, showing, at)}</button>`;
}

function clockPanel(shown: Shown): TemplateResult {
  const { live, state, showing, view } = shown;
  if (showing.phase === "gathering" && !state.closed) {
    const here = view.people.filter((person) => person.here).length;
    const expected = view.people.length - here;
    return html`
      <section class="clock idle">
        <p class="phase"><span class="phase-shape"></span><b>Gathering</b></p>
        <p class="gathered"><b>${here}</b> in${expected > 0 ? `, ${expected} expected` : ""}</p>
      </section>
    `;
  }
  if (showing.phase === "done" || showing.phase === "gathering" || state.closed) {
    return html`
      <section class="clock idle">
        <p class="phase"><span class="phase-shape"></span><b>${state.closed ? "Closed" : "Done"}</b></p>
        <p class="gathered">${state.closed ? "Results can still be set." : "The last segment is over."}</p>
      </section>
    `;
  }
  const next = showing.next === null ? undefined : state.segments[showing.next];
  return html`
    <section class="clock">
      <p class="phase">
        <span class="phase-shape"></span><b>${phaseWord(showing)}</b>
        <span class="where">${whereWords(showing, shown)}</span>
      </p>
      <p class="digits" role="timer">${live.face.text}</p>
      <p class="next">
        ${showing.resumeIn > 0 && showing.remaining !== null ? `then ${minutes(secondsLeft(showing.remaining))} to go. ` : ""}Next:
        ${next === undefined ? "the end of the class" : segmentName(next, state.session)}
        ${next?.length == null ? "" : minutes(secondsLeft(next.length))}
      </p>
    </section>
  `;
}

function phaseWord(showing: Showing & Standing): string {
  if (showing.phase === "held") return "Held";
  if (showing.resumeIn > 0) return "Goes on in";
  return showing.phase === "waiting" ? "Bell has gone" : KIND_WORDS[showing.segment.kind];
}

/** Window and block; what a word of the phase does not already say. */
function whereWords(showing: Showing & Standing, { state }: Shown): string {
  const { segment } = showing;
  const block = blockTitle(segment.block, state.session);
  const window = segment.window;
  const ofMany = window !== null && window.of > 1 ? `${window.number} of ${window.of}` : "";
  const plain = showing.phase === "running" && showing.resumeIn === 0;
  const kind = plain || segment.kind === "open" ? "" : KIND_WORDS[segment.kind];
  return [kind === "" ? ofMany : `${kind} ${ofMany}`.trim(), block].filter((part) => part !== "").join(" · ");
}

/** What went wrong, and take back: over the content, so that nothing below a thumb moves. */
function notices(shown: Shown): TemplateResult {
  const { requests, justCalled } = shown.live;
  return html`
    <div class="notices">
      ${requests.told.map(
        ({ id, tone, text, of }) => html`
          <div class="notice" data-tone=${tone} role="alert">
            <p>${text}</p>
            ${
              of === null
                ? html`<button @click=${() => requests.dismiss(id)}>OK</button>`
                : html`<button @click=${() => requests.giveUp(of)}>Give up</button>`
            }
          </div>
        `,
      )}
      ${justCalled ? takeBackButton(shown) : nothing}
    </div>
  `;
}

function bar(shown: Shown): TemplateResult {
  const { live, view } = shown;
  const waiting = view.walls_waiting.length + view.tablets_waiting.length;
  const asks: Partial<Record<Tab, number>> = {
    now: view.questions.length + waiting + view.warnings.length,
    floor: toSettle(shown).length,
  };
  // What is to settle can wait while work runs: the number is there, and does not call.
  const quiet = (tab: Tab) => tab === "floor" && works(shown);
  return html`
    <nav class="bar">
      ${TABS.map(
        ([tab, word]) => html`
          <button
            class="tab"
            aria-current=${tab === live.tab ? "page" : "false"}
            @click=${() => live.show(tab)}
          >
            ${word}${asks[tab] ? html`<span class="badge" ?data-quiet=${quiet(tab)}>${asks[tab]}</span>` : nothing}
          </button>
        `,
      )}
      <button class="stop" @click=${() => live.call({ call: "stop" })}>STOP</button>
    </nav>
  `;
}
