/**
 * The line that fills towards the bell. The compositor moves it by itself, so that no frame lays it out; it is begun
 * anew when the clock has changed, when the page has made another element of it, and when time has stepped.
 */
import { fraction, SECOND, type Standing } from "./clock";
import { deviceNow } from "./device";

/** A line that is off by more than this is filled anew, as after a sleep. */
const STEP_SEEN_US = SECOND / 4;

export class Line {
  private element: HTMLElement | null = null;
  private filling: Animation | undefined;
  /** House time less the device's, as the line was filled by it. */
  private filledBy = 0;

  /** Whether `element` does not show what was last filled, or no longer rightly so at house time `at`. */
  isStale(element: HTMLElement | null, at: number): boolean {
    return element !== this.element || Math.abs(at - deviceNow() - this.filledBy) > STEP_SEEN_US;
  }

  /** Fills `element` by what has run of the segment at house time `at`; empties it outside a segment. */
  fill(element: HTMLElement | null, standing: Standing | null, at: number): void {
    this.filling?.cancel();
    this.element = element;
    this.filledBy = at - deviceNow();
    if (element === null) return;
    const from = standing === null ? 0 : fraction(standing);
    element.style.transform = `scaleX(${from})`;
    if (standing === null || standing.bell === null || standing.phase !== "running" || standing.resumeIn > 0)
      return;
    this.filling = element.animate([{ transform: `scaleX(${from})` }, { transform: "scaleX(1)" }], {
      duration: Math.max(0, (standing.bell - at) / 1000),
      fill: "forwards",
    });
  }
}
