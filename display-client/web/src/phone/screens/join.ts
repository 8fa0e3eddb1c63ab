/** Coming in: the class code, who one is, and how one does the class. */
import { html, nothing, type TemplateResult } from "lit-html";
import type { Join, Look } from "../join";
import { NAME_MAX } from "../name";
import { brief } from "./brief";
import { choiceScreen } from "./choice";

export function joinScreen(join: Join, house: string): TemplateResult {
  const { stage, problem } = join;
  return html`<div class="page" data-screen="join">
    <div class="scroll">
      <p class="house">${house}</p>
      ${problem === null || stage.stage === "who" ? nothing : problemTemplate(problem)}
      ${
        stage.stage === "asking"
          ? html`<p class="soon">Asking the house …</p>`
          : stage.stage === "code"
            ? codeForm(join)
            : whoForm(join, stage.look)
      }
    </div>
  </div>`;
}

const problemTemplate = (problem: string): TemplateResult =>
  html`<p class="problem" role="alert">${problem}</p>`;

function codeForm(join: Join): TemplateResult {
  const submit = (event: Event) => {
    event.preventDefault();
    const code = join.code.trim();
    if (code === "") return join.set(join.stage, "Type the class code that the wall shows.");
    void join.look(code, null);
  };
  return html`<form class="code" @submit=${submit}>
    <h1>Come in</h1>
    <p>Scan the code on the wall with this phone's camera, or type it here.</p>
    <label for="code">Class code</label>
    <input
      id="code"
      autocomplete="off"
      autocapitalize="characters"
      spellcheck="false"
      maxlength="32"
      .value=${join.code}
      @input=${(event: InputEvent) => {
        join.code = (event.target as HTMLInputElement).value;
      }}
    />
    <button type="submit" class="main">Look</button>
  </form>`;
}

function whoForm(join: Join, look: Look): TemplateResult {
  const submit = (event: Event) => {
    event.preventDefault();
    void join.comeIn();
  };
  return html`<form class="come-in" @submit=${submit}>
    <h1>${look.title}</h1>
    <section>
      <h2>Who are you?</h2>
      ${look.expected.length === 0 ? nothing : expected(join, look)}
      <label for="name">${look.expected.length === 0 ? "Your name" : "Not in the list? Your name"}</label>
      <input
        id="name"
        name="name"
        autocomplete="given-name"
        autocapitalize="words"
        enterkeyhint="done"
        maxlength=${NAME_MAX * 4}
        .value=${join.name}
        @input=${(event: InputEvent) => {
          join.name = (event.target as HTMLInputElement).value;
          join.expected = null;
          join.changed();
        }}
      />
      <p class="quiet">Up to ${NAME_MAX} characters. You can keep it off the wall later.</p>
    </section>
    <details>
      <summary>How you do it: <b>${join.choice.scaled ? "scaled" : "as written"}</b></summary>
      ${choiceScreen(look.blocks, join.choice, (choice) => {
        join.choice = choice;
        join.changed();
      })}
    </details>
    <details>
      <summary>What is planned</summary>
      ${brief({ session: { title: look.title, date: null, slot: null, people: null, notes: [], whole_class: "places", blocks: look.blocks }, swaps: [] }, join.choice)}
    </details>
    ${join.problem === null ? nothing : problemTemplate(join.problem)}
    <div class="actions"><button type="submit" class="main" ?disabled=${join.busy}>Come in</button></div>
  </form>`;
}

const expected = (
  join: Join,
  look: Look,
): TemplateResult => html`<div class="people" role="radiogroup" aria-label="People who said they come">
  ${look.expected.map(
    ({ athlete, name }) => html`<button
      type="button"
      role="radio"
      aria-checked=${join.expected === athlete}
      @click=${() => {
        join.expected = join.expected === athlete ? null : athlete;
        join.name = "";
        join.changed();
      }}
    >
      ${name}
    </button>`,
  )}
</div>`;
