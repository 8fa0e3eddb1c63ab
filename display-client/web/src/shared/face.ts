/**
 * The digits of the class clock on a page. The frame loop calls `frame`, which does a few sums, and writes the one
 * text node only when a digit changes: no frame allocates or lays out more than that. When the clock comes to
 * something else, `isStale` says so, and the page works out anew what it shows.
 */
import { type Hand, hand, read, type Standing, written } from "./clock";

export class Face {
  /** The digits; empty where there is no segment. */
  readonly text = document.createTextNode("");
  private hand: Hand | null = null;
  private second = -1;

  /** Whether what is shown must be worked out anew at this house time. */
  isStale(at: number): boolean {
    return this.hand !== null && (at < this.hand.from || at >= this.hand.until);
  }

  /** Takes up what the clock shows from house time `at` on. */
  show(standing: Standing, at: number): void {
    this.hand = hand(standing, at);
    this.second = -1;
    this.frame(at);
  }

  /** Shows nothing: there is no segment. */
  clear(): void {
    this.hand = null;
    this.text.data = "";
  }

  /** One frame at house time `at`. Returns whether the digits have changed. */
  frame(at: number): boolean {
    if (this.hand === null || this.isStale(at)) return false;
    const second = read(this.hand, at);
    if (second === this.second) return false;
    this.second = second;
    this.text.data = written(this.hand, second);
    return true;
  }

  /** Until when (house time) what is shown is good. */
  get until(): number {
    return this.hand?.until ?? Number.POSITIVE_INFINITY;
  }
}
