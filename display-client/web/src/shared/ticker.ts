/**
 * Timers that keep going in the background. Of a hidden page, browsers let timers through once a second and, after
 * some minutes, once a minute; then exchanges would stop, and sounds be missed. A dedicated worker's timers are not
 * held back so, and its messages come through. Where no worker can be made, the page's own timers have to do.
 */
const waiting = new Map<number, () => void>();
let lastId = 0;
/** Null where there is none, undefined until one was asked for. */
let worker: Worker | null | undefined;

/** Calls `run` once, after so many milliseconds. Returns what cancels it. */
export function after(milliseconds: number, run: () => void): () => void {
  lastId += 1;
  const id = lastId;
  waiting.set(id, run);
  worker = worker === undefined ? start() : worker;
  if (worker === null) setTimeout(() => ring(id), milliseconds);
  else worker.postMessage([id, milliseconds]);
  return () => waiting.delete(id);
}

/** Calls `run` again and again, so many milliseconds apart. Returns what ends it. */
export function every(milliseconds: number, run: () => void): () => void {
  let cancel = after(milliseconds, function again() {
    cancel = after(milliseconds, again);
    run();
  });
  return () => cancel();
}

function ring(id: number): void {
  const run = waiting.get(id);
  waiting.delete(id);
  run?.();
}

function start(): Worker | null {
  try {
    const made = new Worker(new URL("./ticker.worker.ts", import.meta.url));
    made.onmessage = ({ data }: MessageEvent<number>) => ring(data);
    made.onerror = () => fail(made);
    return made;
  } catch {
    return null;
  }
}

/** A worker that could not be loaded says so later: what waits on it is late, but not lost. */
function fail(broken: Worker): void {
  if (broken !== worker) return;
  worker = null;
  broken.terminate();
  for (const id of waiting.keys()) setTimeout(() => ring(id), 0);
}
