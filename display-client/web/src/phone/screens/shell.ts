/** The frame around every screen of a class: who one is, what is open, the stop notice, and what is read out. */
import { html, nothing, type TemplateResult } from "lit-html";
import { AS_WRITTEN } from "../../counting/plan";
import { stop } from "../../counting/stop";
import type { Choice } from "../../shared/wire";
import type { Phone } from "../phone";
import type { Known, View } from "../view";
import { person } from "../who";
import { spokenWords } from "../words";
import { brief, sessionWords } from "./brief";
import { choiceScreen } from "./choice";
import { counterLine, counterScreen, teamLine } from "./counter";
import { floor } from "./floor";
import { meScreen } from "./me";
import { results } from "./results";

export function shell(phone: Phone, known: Known, view: View): TemplateResult {
  const { state } = known;
  const { panel, notice } = phone;
  return html`
    <div class="page" data-screen=${view.screen} ?inert=${state.clock.stopped}>
      ${bar(phone, known)}
      ${panel === null ? screen(phone, known, view) : panelTemplate(phone, known)}
    </div>
    ${state.clock.stopped ? stop(phone.follower.welcome?.emergency ?? "") : nothing}
    <p class="notice" aria-hidden="true" ?hidden=${notice === null}>${notice?.text ?? ""}</p>
    <p class="read-out" aria-live="polite">${notice?.text ?? (phone.refused || phone.spoken.text)}</p>
  `;
}

/** Who one is, whether the phone is on its own, and the two things at hand. */
function bar(phone: Phone, known: Known): TemplateResult {
  const { own, state, athlete, connected } = known;
  const row = state.rows.find((row) => row.athlete === athlete);
  const waiting = phone.waiting().length;
  return html`<header class="bar">
    <p class="who">
      <b>${own?.name ?? row?.name ?? ""}</b>
      ${row?.at_home ? html`<span class="chip">at home</span>` : nothing}
      ${phone.awake === "off" ? html`<span class="chip warn">screen may go dark</span>` : nothing}
    </p>
    ${
      connected
        ? nothing
        : html`<p class="alone"><b>On its own</b> ${
            waiting === 0 ? "" : waiting === 1 ? "1 tap waits here" : `${waiting} taps wait here`
          }</p>`
    }
    <nav>
      ${handBack(phone, known)}
      ${(["plan", "me"] as const).map(
        (name) => html`<button
          aria-pressed=${phone.panel === name}
          @click=${() => phone.open(phone.panel === name ? null : name)}
        >
          ${phone.panel === name ? "Close" : name === "plan" ? "Plan" : "Me"}
        </button>`,
      )}
    </nav>
  </header>`;
}

/** The count for somebody else goes back to them: far from where counting is done. */
function handBack(phone: Phone, known: Known): TemplateResult | typeof nothing {
  const { athlete, name, me } = person(known);
  if (me) return nothing;
  const back = () => {
    phone.ask({ ask: "let-count", athlete, counter: null });
    phone.turnTo(null);
  };
  return html`<button aria-label=${`Hand the count back to ${name}`} @click=${back}>Hand back</button>`;
}

function screen(phone: Phone, known: Known, view: View): TemplateResult {
  switch (view.screen) {
    case "brief":
      return html`<div class="scroll">
        <h1>${known.state.session.title}</h1>
        <p class="quiet">${sessionWords(known.state.session)}</p>
        <p class="soon">You are in. The coach starts the class; this page follows by itself.</p>
        ${howTemplate(phone, known)} ${counterLine(phone, known)} ${teamLine(known)}
        ${brief(known.state, known.own?.choice)}
      </div>`;
    case "floor":
      return floor(phone, known, view);
    case "results":
      return html`<div class="scroll">${results(phone, known)}</div>`;
  }
}

/** How the athlete does the class, with the way to change it. */
function howTemplate(phone: Phone, { own }: Known): TemplateResult {
  const scaled = own?.choice.scaled ?? false;
  return html`<div class="how">
    <p>You do it <b>${scaled ? "scaled" : "as written"}</b></p>
    <button @click=${() => phone.open("choice")}>Change</button>
  </div>`;
}

function panelTemplate(phone: Phone, known: Known): TemplateResult {
  switch (phone.panel) {
    case "choice": {
      const set = (choice: Choice) => phone.ask({ ask: "choose", athlete: known.athlete, choice });
      return html`<div class="scroll">
        <h1>How you do it</h1>
        ${choiceScreen(known.state.session.blocks, known.own?.choice ?? AS_WRITTEN, set)}
        <div class="actions"><button class="main" @click=${() => phone.open(null)}>Done</button></div>
      </div>`;
    }
    case "counter":
      return html`<div class="scroll">${counterScreen(phone, known)}</div>`;
    case "me":
      return html`<div class="scroll">${meScreen(phone, known)}</div>`;
    default:
      return html`<div class="scroll">
        <h1>${known.state.session.title}</h1>
        ${howTemplate(phone, known)} ${brief(known.state, known.own?.choice)}
      </div>`;
  }
}

/** Tells the one region that is read out how the count stands. */
export function listen(phone: Phone, view: View, now: number): void {
  const foot = view.screen === "floor" ? view.foot : null;
  if (foot?.foot === "count" || foot?.foot === "lent") phone.spoken.count(spokenWords(foot), now);
}
