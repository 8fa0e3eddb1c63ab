/**
 * The digits, and what hangs on the second: the line that fills towards the bell, and announcements in words. The
 * frame loop calls `frame`, which does a few sums and touches the page only when a digit changes.
 */
import { fraction, type Hand, hand, kindShown, minutes, read, SECOND, type Standing } from "../shared/clock";
import { type Cue, cues, WORDS } from "../shared/cues";
import type { Clock, Segment } from "../shared/wire";
import { element, setText } from "./dom";

/** How long an announcement stands in words. */
const WORDS_US = 6 * SECOND;

export class ClockView {
  /** The digits. */
  readonly root = element("div", "digits");
  /** Along the top of the wall: how much of the segment has run. */
  readonly line = element("div", "line");
  /** Where announcements stand in words. */
  readonly said = element("div", "said");
  private readonly text = document.createTextNode("");
  private readonly run = element("div", "line-fill");
  private filling: Animation | undefined;
  private hand: Hand | null = null;
  private second = -1;
  private over = false;
  private bare = false;
  private words: Cue[] = [];
  private shown: { clock: Clock | null; segments: readonly Segment[] } = { clock: null, segments: [] };

  constructor() {
    this.root.append(this.text);
    this.line.append(this.run);
  }

  /** Whether what is shown must be worked out anew at this house time. */
  isStale(at: number): boolean {
    return this.hand === null || at < this.hand.from || at >= this.hand.until;
  }

  /** Takes up what the clock shows from house time `at` on; a busy board says the same clock many times. */
  show(standing: Standing, clock: Clock, segments: readonly Segment[], at: number): void {
    if (!this.isStale(at) && clock === this.shown.clock && segments === this.shown.segments) return;
    this.shown = { clock, segments };
    this.hand = hand(standing, at);
    this.over = standing.phase === "waiting";
    this.bare = kindShown(standing) === "lead-in";
    this.second = -1;
    const until = Math.min(this.hand.until, at + 3600 * SECOND);
    this.words = cues(clock, segments, at - WORDS_US, until).filter(({ kind }) => kind in WORDS);
    this.fill(standing, at);
    this.frame(at);
  }

  /** Shows nothing: there is no segment. */
  clear(): void {
    this.hand = { zero: 0, goes: "still", stands: 0, from: 0, until: Number.POSITIVE_INFINITY };
    this.shown = { clock: null, segments: [] };
    this.words = [];
    this.filling?.cancel();
    this.run.style.transform = "scaleX(0)";
    this.text.data = "";
    this.say("");
  }

  /** One frame at house time `at`. */
  frame(at: number): void {
    if (this.hand === null || this.isStale(at)) return;
    const second = read(this.hand, at);
    if (second === this.second) return;
    this.second = second;
    this.text.data = this.bare
      ? `${second}`
      : this.over && second > 0
        ? `+${minutes(second)}`
        : minutes(second);
    this.root.dataset.characters = `${this.text.data.length}`;
    const cue = this.words.find(({ at: from }) => at >= from - SECOND / 10 && at < from + WORDS_US);
    this.say(cue === undefined ? "" : (WORDS[cue.kind] ?? ""));
  }

  private say(words: string): void {
    setText(this.said, words);
    this.said.classList.toggle("speaks", words !== "");
  }

  /** The compositor moves the line by itself, so that no frame lays it out. */
  private fill(standing: Standing, at: number): void {
    this.filling?.cancel();
    const from = fraction(standing);
    this.run.style.transform = `scaleX(${from})`;
    if (standing.bell === null || standing.phase !== "running" || standing.resumeIn > 0) return;
    this.filling = this.run.animate([{ transform: `scaleX(${from})` }, { transform: "scaleX(1)" }], {
      duration: Math.max(0, (standing.bell - at) / 1000),
      fill: "forwards",
    });
  }
}
