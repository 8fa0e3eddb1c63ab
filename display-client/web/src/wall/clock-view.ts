/**
 * The digits, and what hangs on the second: the line that fills towards the bell, and announcements in words. The
 * frame loop calls `frame`, which does a few sums and touches the page only when a digit changes.
 */
import { SECOND, type Standing } from "../shared/clock";
import { type Cue, cues, WORDS } from "../shared/cues";
import { Face } from "../shared/face";
import { Line } from "../shared/line";
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
  private readonly face = new Face();
  private readonly run = element("div", "line-fill");
  private readonly filling = new Line();
  private words: Cue[] = [];
  private shown: { clock: Clock | null; segments: readonly Segment[] } = { clock: null, segments: [] };

  constructor() {
    this.root.append(this.face.text);
    this.line.append(this.run);
  }

  /** Whether what is shown must be worked out anew at this house time. */
  isStale(at: number): boolean {
    return this.face.isStale(at);
  }

  /** Takes up what the clock shows from house time `at` on; a busy board says the same clock many times. */
  show(standing: Standing, clock: Clock, segments: readonly Segment[], at: number): void {
    const same = clock === this.shown.clock && segments === this.shown.segments;
    if (same && !this.isStale(at)) return;
    this.shown = { clock, segments };
    this.face.show(standing, at);
    const until = Math.min(this.face.until, at + 3600 * SECOND);
    this.words = cues(clock, segments, at - WORDS_US, until).filter(({ kind }) => kind in WORDS);
    this.filling.fill(this.run, standing, at);
    this.second(at);
  }

  /** Shows nothing: there is no segment. */
  clear(): void {
    this.face.clear();
    this.shown = { clock: null, segments: [] };
    this.words = [];
    this.filling.fill(this.run, null, 0);
    this.say("");
  }

  /** One frame at house time `at`. */
  frame(at: number): void {
    if (this.face.frame(at)) this.second(at);
  }

  /** What hangs on the digits, once they have changed. */
  private second(at: number): void {
    this.filling.frame(at);
    const characters = `${this.face.text.data.length}`;
    if (this.root.dataset.characters !== characters) this.root.dataset.characters = characters;
    const cue = this.words.find(({ at: from }) => at >= from - SECOND / 10 && at < from + WORDS_US);
    this.say(cue === undefined ? "" : (WORDS[cue.kind] ?? ""));
  }

  private say(words: string): void {
    setText(this.said, words);
    this.said.classList.toggle("speaks", words !== "");
  }
}
