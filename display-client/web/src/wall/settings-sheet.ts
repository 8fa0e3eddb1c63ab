/**
 * What is set on this wall: volume, trim and light, on a sheet over the class that goes on behind it. It is made for
 * what a wall has at hand: a keyboard, a remote with arrows and OK, a touch or a mouse.
 */
import type { Speaker } from "../shared/speaker";
import { setTheme, theme } from "../shared/theme";
import { Beat } from "./beat";
import { element, setText } from "./dom";
import { keepWallSettings, STEP, TRIM_MAX, trimWords, wallSettings } from "./settings";
import { APART_MS, type Found, TAPS, trimFrom } from "./trim";

/** A sheet that was left open gives the wall back. */
const LEFT_OPEN_MS = 2 * 60_000;
/** What a press plays, so that the new volume is heard: the count-in's tone. */
const SAMPLE = [[622, 0, 0.11]] as const;

/** One thing to set: what it says, and what left, right and OK do to it. */
interface Line {
  root: HTMLElement;
  show: () => void;
  change: ((by: -1 | 1) => void) | null;
}

export class SettingsSheet {
  readonly root = element("div", "sheet");
  /** A small mark in the corner, for those who have no keyboard. */
  readonly mark = element("button", "corner-mark", element("span", "corner-shape"));
  private readonly title = element("h1");
  private readonly about = element("p", "sheet-about");
  private readonly list = element("div", "sheet-list");
  private readonly pad = element("div", "pad");
  private readonly dots = element("div", "dots");
  private readonly keys = element("p", "sheet-keys");
  private readonly beat: Beat;
  private kept = wallSettings();
  private lines: Line[] = [];
  private leftOpen: ReturnType<typeof setTimeout> | undefined;
  /** Takes a tap, made at an event's time; null where none is asked for. */
  private tapped: ((timestamp: number) => void) | null = null;
  /** What Esc does. */
  private back = (): void => this.close();

  constructor(private readonly speaker: Speaker) {
    this.beat = new Beat(speaker);
    this.use();
    this.root.setAttribute("role", "dialog");
    this.root.setAttribute("aria-label", "Settings of this wall");
    this.mark.setAttribute("aria-label", "Settings of this wall");
    this.mark.type = "button";
    this.pad.append(this.beat.root, this.dots);
    this.root.append(this.title, this.about, this.pad, this.list, this.keys);
    this.root.hidden = true;
    this.mark.addEventListener("click", () => this.toggle());
    this.pad.addEventListener("pointerdown", ({ timeStamp }) => this.tapped?.(timeStamp));
    this.root.addEventListener("pointerdown", () => this.stayOpen());
  }

  get open(): boolean {
    return !this.root.hidden;
  }

  toggle(): void {
    if (this.open) this.close();
    else this.showAll(0);
  }

  close(): void {
    if (!this.open) return;
    clearTimeout(this.leftOpen);
    this.beat.stop();
    this.tapped = null;
    this.root.hidden = true;
    this.mark.blur();
  }

  /** One frame, that is to be true at device time `aim`. */
  frame(aim: number): void {
    if (this.open) this.beat.frame(aim);
  }

  /** Takes a key while the sheet is open. Returns whether it was one of its own. */
  key(event: KeyboardEvent): boolean {
    this.stayOpen();
    const { key } = event;
    if (key === "Escape" || key === "GoBack" || key === "BrowserBack") this.back();
    else if (this.tapped !== null && this.focused < 0 && (key === "Enter" || key === " ")) {
      if (!event.repeat) this.tapped(event.timeStamp);
    } else if (key === "ArrowUp" || key === "ArrowDown") this.move(key === "ArrowUp" ? -1 : 1);
    else if (key === "ArrowLeft" || key === "ArrowRight") this.change(key === "ArrowLeft" ? -1 : 1);
    else return false;
    return true;
  }

  private stayOpen(): void {
    clearTimeout(this.leftOpen);
    this.leftOpen = setTimeout(() => this.close(), LEFT_OPEN_MS);
  }

  /** Fills the sheet. The line `at` has the focus. */
  private page(title: string, about: string, lines: Line[], at: number, back: () => void): void {
    this.root.hidden = false;
    this.stayOpen();
    this.back = back;
    this.tapped = null;
    this.beat.stop();
    this.dots.replaceChildren();
    setText(this.title, title);
    setText(this.about, about);
    setText(this.keys, "Arrows move and change · OK or Enter chooses · Esc goes back");
    this.lines = lines;
    for (const { show } of lines) show();
    this.list.replaceChildren(...lines.map(({ root }) => root));
    this.focus(at);
  }

  private showAll(at: number): void {
    const lines = [
      this.setting(
        "Volume",
        () => `${this.kept.volume} %`,
        (by) => this.turnVolume(by),
      ),
      this.setting(
        "Trim of the sound",
        () => trimWords(this.kept.trim),
        (by) => this.turnTrim(by),
      ),
      this.action("Find the trim by ear", () => this.byEar(2)),
      this.action("Find the trim by tapping", () => this.listen(3)),
      this.turned(
        "Light",
        () => (theme() === "daylight" ? "Daylight" : "Dark room"),
        () => setTheme(theme() === "daylight" ? "dark-room" : "daylight"),
      ),
      this.action("Close", () => this.close()),
    ];
    const about =
      "A television or a wireless speaker may sound late. With a trim, every sound is played so much earlier, and bell and digits meet.";
    this.page("This wall", about, lines, at, () => this.close());
  }

  private byEar(from: number): void {
    const before = this.kept.trim;
    const lines = [
      this.setting(
        "Trim of the sound",
        () => trimWords(this.kept.trim),
        (by) => this.turnTrim(by),
      ),
      this.action("Keep it", () => this.showAll(from)),
      this.action("Leave it as it was", () => this.setTrim(before, from)),
    ];
    const about = `Change it until each tick comes just when the disc is full. Too late: right. Too early: left.${this.silent()}`;
    this.page("The trim by ear", about, lines, 0, () => this.setTrim(before, from));
    this.beat.begin({ sounds: true, shows: true });
  }

  private listen(from: number): void {
    const about = `Close your eyes if you like. Press OK, or touch here, on each tick that you hear.${this.silent()}`;
    this.ask("1 of 2: listen", about, { sounds: true, shows: false }, from, (heard) =>
      this.look(from, heard),
    );
  }

  private look(from: number, heard: readonly number[]): void {
    const about = "Now without sound. Press OK, or touch here, each time the disc is full.";
    this.ask("2 of 2: look", about, { sounds: false, shows: true }, from, (seen) =>
      this.tell(from, heard, seen),
    );
  }

  /** Asks for taps, and gives their times on. */
  private ask(
    title: string,
    about: string,
    what: { sounds: boolean; shows: boolean },
    from: number,
    done: (taps: readonly number[]) => void,
  ): void {
    this.page(title, about, [this.action("Stop", () => this.showAll(from))], -1, () => this.showAll(from));
    const dots = Array.from({ length: TAPS }, () => element("span", "dot"));
    this.dots.replaceChildren(...dots);
    const taps: number[] = [];
    this.tapped = (timestamp) => {
      const tap = this.beat.since(timestamp);
      if (tap - (taps.at(-1) ?? Number.NEGATIVE_INFINITY) < APART_MS) return;
      taps.push(tap);
      dots[taps.length - 1]?.classList.add("made");
      if (taps.length === TAPS) done(taps);
    };
    this.beat.begin(what);
  }

  private tell(from: number, heard: readonly number[], seen: readonly number[]): void {
    const found = trimFrom(heard, seen);
    const lines = [
      this.action("Tap again", () => this.listen(from)),
      this.action("By ear", () => this.byEar(from)),
      this.action("Leave it as it was", () => this.showAll(from)),
    ];
    const trim = this.kept.trim + (found.found === "trim" ? found.trim : 0);
    let title = "That did not come out";
    let about = told(found);
    if (found.found === "trim" && Math.abs(trim) > TRIM_MAX) {
      about +=
        " A trim cannot take up so much. Look for a delay in the settings of the television or the speaker.";
    } else if (found.found === "trim") {
      title = "Found";
      const rounded = Math.round(trim / STEP) * STEP;
      lines.unshift(this.action(`Set ${trimWords(rounded)}`, () => this.setTrim(rounded, 1)));
    }
    this.page(title, about, lines, 0, () => this.showAll(from));
  }

  private turnVolume(by: -1 | 1): void {
    this.kept = keepWallSettings({ ...this.kept, volume: this.kept.volume + by * STEP });
    this.use();
    this.speaker.play(SAMPLE, this.speaker.now, 1);
  }

  private turnTrim(by: -1 | 1): void {
    this.kept = keepWallSettings({ ...this.kept, trim: this.kept.trim + by * STEP });
    this.use();
    this.beat.look();
  }

  private setTrim(trim: number, at: number): void {
    this.kept = keepWallSettings({ ...this.kept, trim });
    this.use();
    this.showAll(at);
  }

  /** Makes the speaker be as set. */
  private use(): void {
    this.speaker.volume = this.kept.volume / 100;
    this.speaker.trim = this.kept.trim * 1000;
  }

  private silent(): string {
    return this.kept.volume === 0 ? " The volume is 0: turn it up first." : "";
  }

  /** A line with a value, changed by left and right, or by touching the arrows beside it. */
  private setting(name: string, value: () => string, change: (by: -1 | 1) => void): Line {
    const shown = element("span", "line-value");
    const arrow = (by: -1 | 1) => {
      const made = element("button", `arrow ${by < 0 ? "less" : "more"}`);
      made.type = "button";
      made.tabIndex = -1;
      made.setAttribute("aria-label", `${name}: ${by < 0 ? "less" : "more"}`);
      made.addEventListener("click", () => {
        change(by);
        line.show();
      });
      return made;
    };
    const root = element(
      "div",
      "sheet-line setting",
      element("span", "line-name", name),
      arrow(-1),
      shown,
      arrow(1),
    );
    root.tabIndex = 0;
    root.setAttribute("role", "group");
    const line: Line = { root, show: () => setText(shown, value()), change };
    return line;
  }

  /** A line that does something on OK. */
  private action(name: string, run: () => void): Line {
    const root = element("button", "sheet-line", name);
    root.type = "button";
    root.addEventListener("click", run);
    return { root, show: () => {}, change: null };
  }

  /** A line with two values, turned over by OK, left or right. */
  private turned(name: string, value: () => string, turn: () => void): Line {
    const shown = element("span", "line-value");
    const line = this.action(name, () => {
      turn();
      line.show();
    });
    line.root.append(shown);
    line.root.classList.add("turned");
    line.show = () => setText(shown, value());
    line.change = turn;
    line.show();
    return line;
  }

  private get focused(): number {
    return this.lines.findIndex(({ root }) => root === document.activeElement);
  }

  private move(by: -1 | 1): void {
    const count = this.lines.length;
    this.focus((Math.max(0, this.focused) + by + count) % count);
  }

  private focus(at: number): void {
    if (at < 0) (document.activeElement as HTMLElement | null)?.blur();
    else this.lines[at]?.root.focus();
  }

  private change(by: -1 | 1): void {
    const line = this.lines[this.focused];
    line?.change?.(by);
    line?.show();
  }
}

/** What came of the taps, in a sentence or two. */
function told(found: Found): string {
  if (found.found === "uneven") {
    return `The taps were too uneven to tell: they spread over ${Math.round(found.spread)} ms. Tap again with the beat, in a quiet moment; or find the trim by ear.`;
  }
  const late = Math.round(Math.abs(found.trim) / STEP) * STEP;
  if (late === 0) return "Sound and picture come together.";
  return `The sound comes ${late} ms ${found.trim > 0 ? "after" : "before"} the picture. By ear this can be made finer.`;
}
