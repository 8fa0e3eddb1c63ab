/**
 * The frame loop of a screen. Digits are to change on the frame nearest to the true instant (rule 2.4): so each
 * frame shows what is true half a frame after its own beginning. The frame's timestamp is taken as its instant;
 * the delay of the screen behind it is not known to a page.
 */

/** Until two frames have been seen, those of a 60 Hz screen. */
const INTERVAL_FIRST_US = 16_667;
/** What takes longer than this is a page that was hidden, not a frame. */
const INTERVAL_MAX_US = 50_000;

/** Calls `draw` each frame with the device time (microseconds) at which it is to be true. Returns what ends it. */
export function everyFrame(draw: (aim: number) => void): () => void {
  let interval = INTERVAL_FIRST_US;
  let last = 0;
  let handle = requestAnimationFrame(function frame(timestamp) {
    const begin = timestamp * 1000;
    const passed = begin - last;
    if (passed > 0 && passed < INTERVAL_MAX_US) interval += (passed - interval) / 16;
    last = begin;
    handle = requestAnimationFrame(frame);
    draw(begin + interval / 2);
  });
  return () => cancelAnimationFrame(handle);
}
