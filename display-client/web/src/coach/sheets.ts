/** Opening a class from a sheet: the sheets of the house, one of them as plain text with what is wrong with it. */
import { html, nothing, type TemplateResult } from "lit-html";
import { get, post } from "../shared/api";
import type { Problem } from "../shared/wire";
import { houseForm } from "./house-form";
import type { Live } from "./live";
import type { Settings } from "./settings";
import { getSheet, postSheet, putSheet } from "./sheets-api";

interface Listed {
  name: string;
  title: string;
  problems: number;
}

interface PastClass {
  class: string;
  title: string;
  /** Wall clock, milliseconds since 1970. */
  opened: number;
}

/** The sheet that is open in the text area. */
interface Open {
  name: string;
  /** Whether the house has it under this name. */
  kept: boolean;
  text: string;
  saved: string;
  problems: readonly Problem[];
  report: string;
  /** Whether the coach has asked to leave it as it is, unsaved; asked twice, for a text is soon lost. */
  leaving: boolean;
}

/** After the last key, so that not every letter asks the house. */
const CHECK_AFTER_MS = 500;
const PAST_SHOWN = 5;

export class Sheets {
  private list: readonly Listed[] = [];
  private past: readonly PastClass[] = [];
  private open: Open | null = null;
  private said = "";
  private timer: ReturnType<typeof setTimeout> | undefined;

  constructor(
    private readonly settings: Settings,
    private readonly changed: () => void,
  ) {}

  /** Fetches the lists anew. */
  async fetch(): Promise<void> {
    const [sheets, classes] = await Promise.all([
      get<Listed[]>("/api/sheets"),
      get<{ past: PastClass[] }>("/api/classes"),
    ]);
    if (sheets.ok) this.list = sheets.value;
    else this.said = sheets.problem;
    if (classes.ok) this.past = classes.value.past;
    this.changed();
  }

  /** @param closed the class that was closed last, as long as the house still shows it */
  draw(house: string, closed: Live | null): TemplateResult {
    const title = closed?.follower.state?.session.title ?? "";
    return html`
      <div class="sheets">
        <header class="top">
          <h1>${house}</h1>
          ${
            closed === null
              ? html`<p class="quiet">No class is open</p>`
              : html`<button @click=${() => closed.turnBack(true)}>Results of ${title}</button>`
          }
        </header>
        ${this.open === null ? this.drawList() : this.drawOpen(this.open)}
      </div>
    `;
  }

  private drawList(): TemplateResult {
    const { settings } = this;
    return html`
      <section class="sheet-list">
        <h2>Open a class from a sheet</h2>
        ${this.problem()}
        <ul>
          ${this.list.map(
            ({ name, title, problems }) => html`
              <li>
                <button @click=${() => this.load(name)}>
                  <b>${title}</b>
                  <span class="quiet">${name}${problems === 0 ? "" : ` · ${problems} to look at`}</span>
                </button>
              </li>
            `,
          )}
        </ul>
        <button class="wide" @click=${() => this.show({ name: "", kept: false, text: "" })}>Paste or write a sheet</button>
        ${
          this.past.length === 0
            ? nothing
            : html`
                <h3>Before</h3>
                <ul class="past">
                  ${this.past
                    .slice(0, PAST_SHOWN)
                    .map(
                      ({ title, opened }) =>
                        html`<li>${title} <span class="quiet">${new Date(opened).toLocaleString()}</span></li>`,
                    )}
                </ul>
              `
        }
        ${houseForm(settings)}
        <button class="wide" @click=${() => settings.signOut()}>Sign out</button>
      </section>
    `;
  }

  private drawOpen(open: Open): TemplateResult {
    const lines = open.problems.flatMap(({ severity, line }) => (severity === "error" ? [line] : []));
    const errors = new Set(lines).size;
    const changed = open.text !== open.saved || !open.kept;
    return html`
      <section class="sheet-edit">
        <div class="sheet-head">
          <button @click=${() => (changed && open.text !== "" && !open.leaving ? this.askToLeave() : this.leave())}>
            ${open.leaving ? "Leave without saving" : "All sheets"}
          </button>
          ${
            open.kept
              ? html`<h2>${open.name}</h2>`
              : html`<label class="sheet-name">Name <input
                  placeholder="tuesday-tides"
                  maxlength="60"
                  .value=${open.name}
                  @input=${(event: InputEvent) => this.rename((event.target as HTMLInputElement).value)}
                /></label>`
          }
        </div>
        <textarea
          class="sheet-text"
          aria-label="The sheet"
          spellcheck="false"
          autocapitalize="off"
          .value=${open.text}
          @input=${(event: InputEvent) => this.typed((event.target as HTMLTextAreaElement).value)}
        ></textarea>
        <div class="sheet-about">
          ${this.problem()}
          ${
            open.problems.length === 0
              ? nothing
              : html`
                  <ol class="problems">
                    ${open.problems.map((problem) => this.drawProblem(problem))}
                  </ol>
                `
          }
          ${open.report === "" ? nothing : html`<pre class="report" tabindex="0">${open.report}</pre>`}
        </div>
        <div class="sheet-calls">
          <button ?disabled=${!changed} @click=${() => this.save()}>${changed ? "Save" : "Saved"}</button>
          <button class="yes" ?disabled=${errors > 0} @click=${() => this.openClass()}>
            ${errors > 0 ? `Mend ${errors === 1 ? "1 line" : `${errors} lines`} first` : "Open the class"}
          </button>
        </div>
      </section>
    `;
  }

  private drawProblem({ severity, line, column, message, example }: Problem): TemplateResult {
    return html`
      <li data-severity=${severity}>
        <button @click=${() => pointAt(line, column)}>
          <b>Line ${line}, column ${column}</b> ${message}
          ${example === "" ? nothing : html`<span class="quiet">Works: <code>${example}</code></span>`}
        </button>
      </li>
    `;
  }

  private problem(): TemplateResult | typeof nothing {
    return this.said === "" ? nothing : html`<p class="problem" role="alert">${this.said}</p>`;
  }

  private async load(name: string): Promise<void> {
    const sheet = await getSheet(`/api/sheets/${encodeURIComponent(name)}`);
    if (sheet.ok) this.show({ name, kept: true, text: sheet.value });
    else this.say(sheet.problem);
  }

  private show({ name, kept, text }: Pick<Open, "name" | "kept" | "text">): void {
    this.open = { name, kept, text, saved: text, problems: [], report: "", leaving: false };
    this.said = "";
    this.changed();
    if (text !== "") void this.check();
  }

  private askToLeave(): void {
    if (this.open !== null) this.open = { ...this.open, leaving: true };
    this.say("This sheet is not saved. Save it, or touch again to leave it without.");
  }

  private leave(): void {
    clearTimeout(this.timer);
    [this.open, this.said] = [null, ""];
    void this.fetch();
    this.changed();
  }

  private rename(name: string): void {
    if (this.open !== null) this.open = { ...this.open, name };
    this.changed();
  }

  private typed(text: string): void {
    if (this.open !== null) this.open = { ...this.open, text, leaving: false };
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.check(), CHECK_AFTER_MS);
    this.changed();
  }

  /** Asks what is wrong with the text as it stands; an answer about an older text is let go. */
  private async check(): Promise<void> {
    const asked = this.open?.text;
    if (asked === undefined) return;
    const answer = await postSheet<{ problems: Problem[]; report: string }>("/api/check", asked);
    if (this.open === null || this.open.text !== asked) return;
    if (answer.ok) this.open = { ...this.open, ...answer.value };
    this.say(answer.ok ? "" : answer.problem);
  }

  private async save(): Promise<boolean> {
    const { open } = this;
    if (open === null) return false;
    const name = open.name.trim();
    if (name === "") return this.say("Give the sheet a name first, such as tuesday-tides.");
    const answer = await putSheet<{ problems: Problem[] }>(
      `/api/sheets/${encodeURIComponent(name)}`,
      open.text,
    );
    if (!answer.ok) return this.say(answer.problem);
    if (this.open !== null) this.open = { ...this.open, name, kept: true, saved: open.text, leaving: false };
    this.say("");
    return true;
  }

  private async openClass(): Promise<void> {
    const { open } = this;
    if (open === null) return;
    if ((open.text !== open.saved || !open.kept) && !(await this.save())) return;
    const answer = await post("/api/classes", { sheet: this.open?.name ?? open.name });
    if (answer.ok) [this.open, this.said] = [null, ""];
    else this.said = answer.problem;
    this.changed();
  }

  private say(text: string): false {
    this.said = text;
    this.changed();
    return false;
  }
}

/** Puts the cursor where a problem lies. Both count from 1. */
function pointAt(line: number, column: number): void {
  const area = document.querySelector<HTMLTextAreaElement>(".sheet-text");
  if (area === null) return;
  const lines = area.value.split("\n");
  const before = lines.slice(0, line - 1).reduce((sum, text) => sum + text.length + 1, 0);
  const start = before + [...(lines[line - 1] ?? "")].slice(0, column - 1).join("").length;
  area.focus();
  area.setSelectionRange(start, before + (lines[line - 1] ?? "").length);
  area.scrollTop = (area.scrollHeight * before) / Math.max(1, area.value.length) - area.clientHeight / 3;
}
