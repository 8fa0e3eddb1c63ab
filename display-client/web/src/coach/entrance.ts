/** The way in: setting the house up at its first start, and signing in. */
import { html, nothing, type TemplateResult } from "lit-html";
import { get, post } from "../shared/api";
import { EMERGENCY_EXAMPLE, EMERGENCY_MAX } from "./house-form";

/** What anyone may know of the house. */
interface House {
  house: string;
  set_up: boolean;
  secure: boolean;
}

type Stage =
  | { stage: "looking" }
  | { stage: "out-of-reach"; problem: string }
  | { stage: "not-set-up" }
  | { stage: "set-up"; token: string }
  | { stage: "sign-in" };

/** As the house asks; said before it is sent. */
const PASSPHRASE_MIN = 8;

export class Entrance {
  private stage: Stage = { stage: "looking" };
  private house: House | null = null;
  private problem = "";
  private busy = false;

  constructor(
    private readonly signedIn: () => void,
    private readonly changed: () => void,
  ) {}

  /** Finds out where this device stands; the token is that of the one-time link, if the page was opened by it. */
  async look(token: string | null): Promise<void> {
    const house = await get<House>("/api/house");
    if (!house.ok) return this.go({ stage: "out-of-reach", problem: house.problem });
    this.house = house.value;
    if (!house.value.set_up)
      return this.go(token === null ? { stage: "not-set-up" } : { stage: "set-up", token });
    const classes = await get("/api/classes");
    if (classes.ok) this.signedIn();
    else
      this.go(
        classes.status === 401 ? { stage: "sign-in" } : { stage: "out-of-reach", problem: classes.problem },
      );
  }

  draw(): TemplateResult {
    const house = this.house?.house ?? "";
    return html`
      <div class="entrance">
        <h1>${house === "" ? "floorbell" : house}</h1>
        ${this.body()}
      </div>
    `;
  }

  private body(): TemplateResult {
    switch (this.stage.stage) {
      case "looking":
        return html`<p>Looking for the house …</p>`;
      case "out-of-reach":
        return html`
          <p class="problem" role="alert">${this.stage.problem}</p>
          <button class="yes" @click=${() => this.look(null)}>Try again</button>
        `;
      case "not-set-up":
        return html`
          <p>This house has no passphrase yet. Open the link that the program printed when it was started: it ends in
          <code>/coach#set-up=…</code> and works once.</p>
        `;
      case "set-up":
        return this.setUp(this.stage.token);
      case "sign-in":
        return this.signIn();
    }
  }

  private setUp(token: string): TemplateResult {
    const submit = (event: SubmitEvent) => {
      event.preventDefault();
      const form = new FormData(event.target as HTMLFormElement);
      const field = (name: string) => String(form.get(name) ?? "");
      if (field("passphrase") !== field("again"))
        return this.fail("The two passphrases differ. Type them again.");
      const [house, emergency] = [field("house").trim(), field("emergency").trim()];
      void this.send("/api/set-up", { token, passphrase: field("passphrase"), house, emergency });
    };
    return html`
      <form class="stack" @submit=${submit}>
        <p>Welcome. This is asked once.</p>
        ${this.overheard()}
        <label>The house's name <input name="house" maxlength="80" required autocomplete="organization" /></label>
        <label>
          A passphrase for coaches
          <input name="passphrase" type="password" minlength=${PASSPHRASE_MIN} required autocomplete="new-password" />
          <span class="quiet small">At least ${PASSPHRASE_MIN} characters. Four unrelated words are good.</span>
        </label>
        <label>
          The same again
          <input name="again" type="password" minlength=${PASSPHRASE_MIN} required autocomplete="new-password" />
        </label>
        <label>
          What the stop notice says
          <textarea name="emergency" rows="4" maxlength=${EMERGENCY_MAX} required placeholder=${EMERGENCY_EXAMPLE}></textarea>
          <span class="quiet small">
            Every screen shows it when a coach calls stop: the local emergency number, where the first-aid kit and the
            defibrillator are.
          </span>
        </label>
        ${this.ending("Set up")}
      </form>
    `;
  }

  private signIn(): TemplateResult {
    const submit = (event: SubmitEvent) => {
      event.preventDefault();
      const form = new FormData(event.target as HTMLFormElement);
      void this.send("/api/sign-in", { passphrase: String(form.get("passphrase") ?? "") });
    };
    return html`
      <form class="stack" @submit=${submit}>
        ${this.overheard()}
        <label>
          Coaches' passphrase
          <input name="passphrase" type="password" required autocomplete="current-password" />
        </label>
        ${this.ending("Sign in")}
      </form>
    `;
  }

  /** Over plain http anyone on the network can listen: said where the passphrase is typed. */
  private overheard(): TemplateResult | typeof nothing {
    if (this.house === null || this.house.secure) return nothing;
    return html`
      <p class="card warning">
        This connection is not encrypted: whoever shares this network can overhear the passphrase. Use one that you use
        nowhere else.
      </p>
    `;
  }

  private ending(word: string): TemplateResult {
    return html`
      ${this.problem === "" ? nothing : html`<p class="problem" role="alert">${this.problem}</p>`}
      <button class="yes" ?disabled=${this.busy}>${this.busy ? "One moment …" : word}</button>
    `;
  }

  private async send(path: string, body: unknown): Promise<void> {
    [this.busy, this.problem] = [true, ""];
    this.changed();
    const answer = await post(path, body);
    this.busy = false;
    if (answer.ok) this.signedIn();
    else this.fail(answer.problem);
  }

  private fail(problem: string): void {
    this.problem = problem;
    this.changed();
  }

  private go(stage: Stage): void {
    this.stage = stage;
    this.changed();
  }
}
