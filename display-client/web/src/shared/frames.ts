/**
 * The frame loop of a screen. Digits are to change on the frame nearest to the true instant (rule 2.4): so each
 * frame shows what is true half a frame after its own beginning. The frame's timestamp is taken as its instant;
 * the delay of the screen behind it is not known to a page.
 *
 * How long a frame is, is the median of the last fifteen gaps between them: it is right for any screen (60, 75, 120
 * or 144 Hz) from the eighth frame on, and neither a dropped frame nor a page that was hidden bends it. Nothing in
 * the loop allocates.
 */

/** Until frames have been seen, those of a 60 Hz screen. */
const INTERVAL_FIRST_US = 16_667;
/** What takes longer than this is a page that was hidden, not a frame. */
const INTERVAL_MAX_US = 50_000;
/** Odd, so that there is a middle one. A quarter of a second at 60 Hz: a screen that changes its rate is followed. */
const KEPT = 15;

/** The pace of a screen's frames. */
export class Pace {
  private readonly gaps = new Float64Array(KEPT).fill(INTERVAL_FIRST_US);
  private readonly sorted = new Float64Array(KEPT);
  private oldest = 0;
  private last = Number.NEGATIVE_INFINITY;

  /** Takes in a frame that begins at `begin` (microseconds), and gives the time at which it is to be true. */
  aim(begin: number): number {
    const gap = begin - this.last;
    if (gap > 0 && gap < INTERVAL_MAX_US) {
      this.gaps[this.oldest] = gap;
      this.oldest = (this.oldest + 1) % KEPT;
    }
    this.last = begin;
    return begin + this.interval / 2;
  }

  /** How long a frame is, in microseconds. */
  get interval(): number {
    this.sorted.set(this.gaps);
    return this.sorted.sort()[KEPT >> 1] ?? INTERVAL_FIRST_US;
  }
}

/** Calls `draw` each frame with the device time (microseconds) at which it is to be true. Returns what ends it. */
export function everyFrame(draw: (aim: number) => void): () => void {
  const pace = new Pace();
  let handle = requestAnimationFrame(function frame(timestamp) {
    handle = requestAnimationFrame(frame);
    draw(pace.aim(timestamp * 1000));
  });
  return () => cancelAnimationFrame(handle);
}
