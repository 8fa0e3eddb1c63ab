/** A self-paced block: every movement, and the athlete's own timer where one is of use (rule 1.9). */
import { html, nothing, type TemplateResult } from "lit-html";
import { movement } from "../../counting/movement";
import { deviceNow } from "../../shared/device";
import { startBeeps, stopBeeps } from "../beeper";
import type { Phone } from "../phone";
import { type Plan, planOf } from "../timer";
import type { List } from "../view";
import { details } from "./parts";

export function timers(phone: Phone, list: List): TemplateResult {
  return html`<section class="list own-pace">
    ${list.notes.map((note) => html`<p>${note}</p>`)}
    <h2>At your own pace</h2>
    <ul class="movements">
      ${list.doing.map((each) => {
        const plan = planOf(each.movement);
        const runs = phone.timer?.block === list.block && phone.timer.movement === each.index;
        return html`<li>
          ${movement(each)}${details(each)}
          ${plan === null ? nothing : runs ? running(phone) : start(phone, list.block, each.index, plan)}
        </li>`;
      })}
    </ul>
  </section>`;
}

function start(phone: Phone, block: number, movement: number, plan: Plan): TemplateResult {
  const begin = () => {
    const start = deviceNow();
    phone.timer = { block, movement, plan, start };
    startBeeps(plan, start);
    phone.changed();
  };
  return html`<button class="timer" @click=${begin}>
    ${plan.kind === "held" ? "Time it" : "Beat the tempo"}
  </button>`;
}

/** The frame loop writes what the timer reads. */
function running(phone: Phone): TemplateResult {
  return html`<button class="timer runs" @click=${() => stopTimer(phone)}>
    <span id="beat" role="timer"></span><small>touch to end</small>
  </button>`;
}

export function stopTimer(phone: Phone): void {
  phone.timer = null;
  stopBeeps();
  phone.changed();
}
