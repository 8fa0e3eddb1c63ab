/** The house around the class: the code, the screens that follow, the stop notice's text, this device, closing. */
import { html, nothing, type TemplateResult } from "lit-html";
import { theme } from "../shared/theme";
import type { DeviceLine } from "../shared/wire";
import { codeCard } from "./code-panel";
import { byTrouble, deviceName, devicesWords, troubles } from "./devices";
import { houseForm } from "./house-form";
import type { Shown } from "./live";
import type { Settings } from "./settings";
import { agoWords, namesWords } from "./words";

export function housePanel(shown: Shown): TemplateResult {
  const { live, state } = shown;
  return html`
    ${codeCard(shown)} ${deviceList(shown)} ${thisDevice(live.settings)} ${houseForm(live.settings)}
    <div class="two-up">
      <button @click=${() => live.lay({ over: "help" })}>Help</button>
      <button @click=${() => live.settings.signOut()}>Sign out</button>
    </div>
    ${
      state.closed
        ? nothing
        : html`<button class="wide" @click=${() => live.lay({ over: "close" })}>Close the class</button>`
    }
  `;
}

function deviceList({ live, view, at }: Shown): TemplateResult {
  const devices = byTrouble(view.devices, view.people, at);
  const tablet = (line: DeviceLine) => {
    if (line.role !== "tablet" || !line.accepted) return nothing;
    const chosen = line.counts_for ?? [];
    const names = chosen.flatMap((athlete) => view.people.find((it) => it.athlete === athlete)?.name ?? []);
    return html`
      <p class="tablet">
        <span>${names.length === 0 ? "Counts for nobody yet." : `Counts for ${namesWords(names)}.`}</span>
        <button @click=${() => live.lay({ over: "tablet", number: line.number, chosen })}>Assign</button>
      </p>
    `;
  };
  return html`
    <section>
      <h2>Screens and phones</h2>
      <p class="quiet">${devicesWords(devices, at)}</p>
      <ul class="devices">
        ${devices.map((line) => deviceItem(line, deviceName(line, view.people, live.follower.device), at, tablet(line)))}
      </ul>
    </section>
  `;
}

function deviceItem(
  line: DeviceLine,
  name: string,
  at: number,
  more: TemplateResult | typeof nothing,
): TemplateResult {
  const wrong = troubles(line, at);
  return html`
    <li ?data-trouble=${wrong.length > 0}>
      <p><b>${name}</b> <span class="tag ${wrong.length > 0 ? "warn" : "good"}">${wrong.length > 0 ? wrong.join(", ") : "connected"}</span></p>
      <p class="quiet small">
        heard ${agoWords(at - line.heard)} · clock within ${milliseconds(line.bound)} · round trip
        ${milliseconds(line.round_trip)} · ${line.waiting === 0 ? "no" : line.waiting} ${line.waiting === 1 ? "tap waits" : "taps wait"}${refusedWords(line.refused)}
      </p>
      ${more}
    </li>
  `;
}

/** A device whose clock runs backwards, say: its exchanges move nothing, and are counted. */
const refusedWords = (refused: number): string =>
  refused === 0 ? "" : ` · ${refused} ${refused === 1 ? "exchange" : "exchanges"} of time refused`;

const milliseconds = (span: number | null): string => (span === null ? "–" : `${Math.ceil(span / 1000)} ms`);

function thisDevice(settings: Settings): TemplateResult {
  const dark = theme() === "dark-room";
  return html`
    <section>
      <h2>This device</h2>
      <div class="two-up">
        <button class="mark" aria-pressed=${settings.sound} @click=${() => settings.turnSound(!settings.sound)}>
          Sound here
        </button>
        <button class="mark" aria-pressed=${!dark} @click=${() => settings.turnTheme(dark ? "daylight" : "dark-room")}>
          Daylight
        </button>
      </div>
    </section>
  `;
}
