/**
 * The line that fills towards the bell, a step with each change of the digits. (Moved smoothly it would keep the
 * machine drawing all through the class, for what nobody sees on a line of minutes.) A step is a transform, which
 * lays nothing out.
 */
import { fraction, type Standing } from "./clock";

export class Line {
  private element: HTMLElement | null = null;
  /** What had run of the segment at house time `since`, and how much runs in a microsecond. */
  private run = 0;
  private since = 0;
  private pace = 0;

  /** Whether `element` does not show what was last filled, as when the page has made another of it. */
  isStale(element: HTMLElement | null): boolean {
    return element !== this.element;
  }

  /** Fills `element` by what has run of the segment at house time `at`; empties it outside a segment. */
  fill(element: HTMLElement | null, standing: Standing | null, at: number): void {
    this.element = element;
    this.since = at;
    this.run = standing === null ? 0 : fraction(standing);
    const runs = standing?.phase === "running" && standing.resumeIn === 0;
    this.pace = runs && standing.length !== null && standing.length > 0 ? 1 / standing.length : 0;
    this.frame(at);
  }

  /** One step, at house time `at`. */
  frame(at: number): void {
    if (this.element === null) return;
    const run = Math.min(1, this.run + Math.max(0, at - this.since) * this.pace);
    this.element.style.transform = `scaleX(${run})`;
  }
}
