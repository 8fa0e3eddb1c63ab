/** What the athlete sets: their name on the wall, a question to the coach, and how this phone behaves. */
import { html, nothing, type TemplateResult } from "lit-html";
import { setTheme, theme } from "../../shared/theme";
import type { NameShown } from "../../shared/wire";
import { phoneSpeaker } from "../beeper";
import { QUESTION_MAX, questionProblem } from "../name";
import type { Phone } from "../phone";
import { setSettings, settings } from "../settings";
import type { Known } from "../view";
import { SHOWN_WORDS } from "../words";
import { counterLine, teamLine } from "./counter";
import { choices } from "./parts";

const AWAKE_WORDS = {
  "wake-lock": "This screen stays on.",
  video: "This screen should stay on. If it goes dark, set a longer time in the phone's settings.",
  off: "This screen may go dark: set a longer time in the phone's settings.",
};

export function meScreen(phone: Phone, known: Known): TemplateResult {
  const { own, athlete } = known;
  const kept = settings();
  const set = (change: Partial<typeof kept>) => {
    setSettings({ ...kept, ...change });
    phone.changed();
  };
  return html`<div class="me">
    <h1>You and this phone</h1>
    ${counterLine(phone, known)} ${teamLine(known)}
    ${questionForm(phone, own?.questions ?? [])}
    ${
      own === null
        ? nothing
        : choices<NameShown>(
            "shown",
            "The wall shows",
            (["whole", "initial", "nothing"] as const).map((value) => [value, SHOWN_WORDS[value]] as const),
            own.shown,
            (shown) => phone.ask({ ask: "show-name", athlete, shown }),
          )
    }
    <p class="quiet">What you do counts in any case.</p>
    ${choices(
      "theme",
      "Light",
      [
        ["dark-room", "Dark room"],
        ["daylight", "Daylight"],
      ],
      theme(),
      (value) => {
        setTheme(value);
        phone.changed();
      },
    )}
    ${choices(
      "type",
      "Type",
      [
        ["plain", "Plain"],
        ["large", "Large"],
      ],
      kept.type,
      (type) => set({ type }),
    )}
    ${choices(
      "hand",
      "I touch with",
      [
        ["left", "Left hand"],
        ["right", "Right hand"],
      ],
      kept.hand,
      (hand) => set({ hand }),
    )}
    ${choices(
      "sound",
      "Bells on this phone",
      [
        ["off", "Silent"],
        ["on", "Sounding"],
      ],
      kept.sound ? "on" : "off",
      (sound) => {
        if (sound === "on") phoneSpeaker().unlock();
        set({ sound: sound === "on" });
      },
    )}
    <p class="quiet">${AWAKE_WORDS[phone.awake]}</p>
    ${phone.durable ? nothing : html`<p class="quiet">This browser keeps nothing: do not close the page while taps wait.</p>`}
  </div>`;
}

function questionForm(phone: Phone, asked: readonly string[]): TemplateResult {
  const ask = (event: SubmitEvent) => {
    event.preventDefault();
    const field = (event.target as HTMLFormElement).elements.namedItem("question") as HTMLTextAreaElement;
    const problem = questionProblem(field.value);
    if (problem !== null) return phone.tell(problem);
    phone.ask({ ask: "question", text: field.value.trim() });
    field.value = "";
    phone.tell("Your question is on its way to the coach.");
  };
  return html`<form class="question" @submit=${ask}>
    <label for="question">Ask the coach</label>
    <textarea id="question" name="question" rows="3" maxlength=${QUESTION_MAX} placeholder="Only the coach reads it"></textarea>
    <button type="submit">Send</button>
    ${asked.map((question) => html`<p class="quiet">Asked: ${question}</p>`)}
  </form>`;
}
