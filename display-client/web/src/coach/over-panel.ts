/** What lies over a tab: all calls, one person, somebody new, what is to settle, the roll, teams, closing, help. */
import { html, nothing, type TemplateResult } from "lit-html";
import { allCalls } from "./calls-panel";
import { help } from "./help-panel";
import { historyPanel } from "./history-panel";
import type { Over, Shown } from "./live";
import { block, stillWaiting } from "./now-panel";
import { personPanel } from "./person-panel";
import { rollPanel } from "./roll-panel";
import { settlePanel } from "./settle-panel";
import { standsOutPanel } from "./stands-out-panel";
import { tabletPanel } from "./tablet-panel";
import { teamsPanel } from "./teams-panel";

export function overPanel(shown: Shown, over: Over): TemplateResult {
  return html`
    <button class="close" @click=${() => shown.live.lay(null)}>Close</button>
    <div class="over-body">${body(shown, over)}</div>
  `;
}

function body(shown: Shown, over: Over): TemplateResult | typeof nothing {
  switch (over.over) {
    case "calls":
      return allCalls(shown);
    case "person":
      return personPanel(shown, over);
    case "add":
      return addForm(shown, over.problem);
    case "link":
      return personalLink(shown, over.name, over.link);
    case "block":
      return block(shown, over.block, null);
    case "settle":
      return settlePanel(shown);
    case "history":
      return historyPanel(shown, over);
    case "roll":
      return rollPanel(shown);
    case "teams":
      return teamsPanel(shown, over);
    case "tablet":
      return tabletPanel(shown, over);
    case "stands-out":
      return standsOutPanel(shown);
    case "close":
      return closing(shown);
    case "help":
      return help();
  }
}

function addForm({ live }: Shown, problem: string): TemplateResult {
  const add = async (event: SubmitEvent) => {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const fields = new FormData(form);
    const name = String(fields.get("name") ?? "").trim();
    const at_home = fields.get("where") === "home";
    const here = fields.get("where") !== "expected";
    if (name === "") return live.lay({ over: "add", problem: "Type their name first." });
    const outcome = await live.ask(
      { ask: "add-athlete", name, at_home, here: here && !at_home },
      `add ${name}`,
    );
    if (outcome.outcome === "refused") return live.lay({ over: "add", problem: outcome.text });
    form.reset();
    if (outcome.outcome === "done" && outcome.link != null)
      live.lay({ over: "link", name, link: outcome.link });
    else live.lay({ over: "add", problem: "" });
  };
  return html`
    <h2>Add somebody</h2>
    <form class="stack" @submit=${add}>
      <label>Name <input name="name" maxlength="80" autocomplete="off" required /></label>
      <fieldset>
        <legend>Where are they?</legend>
        <label class="choose"><input type="radio" name="where" value="here" checked /> On the floor, without a phone</label>
        <label class="choose"><input type="radio" name="where" value="expected" /> Expected: to be picked on their phone</label>
        <label class="choose"><input type="radio" name="where" value="home" /> At home, by a personal link</label>
      </fieldset>
      ${problem === "" ? nothing : html`<p class="problem" role="alert">${problem}</p>`}
      <button class="yes">Add</button>
    </form>
    <p class="quiet small">Whoever has no phone is counted for from the Floor tab.</p>
  `;
}

/** The link lets its holder in as this person: it is for them alone. */
function personalLink({ state }: Shown, name: string, link: string): TemplateResult {
  const address = new URL(link, state.join?.address ?? location.href).href;
  const token = link.split("#me=")[1] ?? "";
  const select = (event: FocusEvent) => (event.target as HTMLInputElement).select();
  return html`
    <h2>${name}'s personal link</h2>
    <p>It lets whoever opens it count as ${name}. Send it to them alone; it is shown only now.</p>
    <img class="qr" src="/api/qr.svg?me=${encodeURIComponent(token)}" alt="QR code of the personal link" />
    <label class="stack">Address <input readonly .value=${address} @focus=${select} /></label>
  `;
}

/** Closing is asked twice: once by the button that leads here, once here. */
function closing(shown: Shown): TemplateResult {
  const { live, state, view } = shown;
  const here = view.people.filter((person) => person.here).length;
  return html`
    <h2>Close ${state.session.title}?</h2>
    <p>
      The class is over for good: ${here === 1 ? "the 1 person in it keeps their results" : `the ${here} people in it keep their results`}, and the class code ends. A closed
      class cannot be opened again.
    </p>
    ${stillWaiting(shown)}
    <div class="two-up">
      <button @click=${() => live.lay(null)}>Keep it open</button>
      <button
        class="danger"
        @click=${() => {
          void live.ask({ ask: "close" }, "close the class");
          live.lay(null);
        }}
      >
        Close for good
      </button>
    </div>
  `;
}
