// What a page under measurement notes, without the product's knowledge: each frame, what the digits show after it and
// what time the page computes in it. Runs in the page before its own scripts.

/** What a page is told: its own rate error, how its frames lie, and how often its person touches the round area (0: never). */
export const script = (told) => `(${inPage})(${JSON.stringify(told)})`;

/**
 * Noted for each frame: its timestamp and the time at which its first callback began, in milliseconds of the page's real
 * clock; house time by the page minus that clock, as shown and as estimated, each with its bound, in microseconds. The
 * page itself is given a clock that runs wrong by `ratePpm`, as the crystals of ten devices do: here all would share the
 * machine's own.
 *
 * All pages of a headless browser have their frames at the same instants, unlike ten devices. With `phasesMs` the page's
 * frames come so much later, timestamp and callback, as from a screen of another phase: each for 20 s by turns, for one
 * draw for all of a run would make its figures a matter of luck.
 */
function inPage({ ratePpm, phasesMs, tapEveryMs }) {
  const PHASE_STANDS_MS = 20_000;
  /** An hour at 60 Hz. */
  const FRAMES_MAX = 216_000;
  const PER_FRAME = 6;
  const rate = 1 + ratePpm * 1e-6;
  const realNow = performance.now.bind(performance);
  const realFrame = requestAnimationFrame.bind(globalThis);
  performance.now = () => realNow() * rate;

  const frames = new Float64Array(FRAMES_MAX * PER_FRAME);
  let count = 0;
  const changes = [];
  let shown = "";
  let notice = false;

  globalThis.requestAnimationFrame = (callback) =>
    realFrame((begin) => {
      const phaseMs = phasesMs[Math.floor(begin / PHASE_STANDS_MS) % phasesMs.length];
      const timestamp = begin + phaseMs;
      const run = () => {
        const now = realNow();
        callback(timestamp * rate);
        look(timestamp, now);
      };
      if (phaseMs === 0) run();
      else setTimeout(run, Math.ceil(timestamp - realNow()));
    });

  // The browser keeps these up to date by itself, so that looking costs next to nothing.
  const digits = document.getElementsByClassName("digits");
  const stops = [document.getElementsByClassName("stop"), document.getElementsByClassName("stop-notice")];

  // After each callback: what stands then is what this frame shows.
  function look(timestamp, now) {
    const text = digits[0]?.textContent ?? "";
    if (text !== shown) {
      shown = text;
      changes.push([timestamp, now, text]);
    }
    // The coach's own button is called stop too.
    const stop = stops.some((found) =>
      Array.prototype.some.call(found, (cover) => !cover.hidden && cover.tagName !== "BUTTON"),
    );
    if (stop !== notice) {
      notice = stop;
      changes.push([timestamp, now, stop ? "STOP" : "stop over"]);
    }
    if (count > 0 && frames[(count - 1) * PER_FRAME] === timestamp) return;
    if (count === FRAMES_MAX) return;
    const real = realNow();
    const time = globalThis.floorbell?.time(real * rate * 1000) ?? null;
    const ahead = (house) => house - real * 1000;
    const noted =
      time === null
        ? [Number.NaN, Number.NaN, Number.NaN, Number.NaN]
        : [ahead(time.shown), time.shownBound, ahead(time.estimate), time.bound];
    frames.set([timestamp, now, ...noted], count * PER_FRAME);
    count += 1;
  }

  if (tapEveryMs > 0) {
    setInterval(() => document.querySelector("#touch[aria-disabled=false]")?.click(), tapEveryMs);
  }

  globalThis.noted = {
    /** Everything up to now, as text of numbers, and then forgotten. */
    take() {
      const taken = {
        frames: Array.from(frames.subarray(0, count * PER_FRAME)),
        perFrame: PER_FRAME,
        changes: changes.splice(0),
      };
      count = 0;
      return taken;
    },
    real: realNow,
    /** Whether the stop notice stands. */
    stopped: () => notice,
  };
}
