import { afterEach, beforeEach, expect, it, vi } from "vitest";

/** A worker whose timers the test drives, apart from the page's own. */
class FakeWorker {
  static last: FakeWorker | undefined;
  asked: (readonly [number, number])[] = [];
  terminated = false;
  onmessage = (_: { data: number }): void => {};
  onerror = (): void => {};
  constructor(readonly address: URL) {
    FakeWorker.last = this;
  }
  postMessage(message: readonly [number, number]): void {
    this.asked.push(message);
  }
  terminate(): void {
    this.terminated = true;
  }
  /** The timer that was asked for last is due. */
  rings(): void {
    this.onmessage({ data: this.asked.at(-1)?.[0] ?? 0 });
  }
}

/** The module keeps one worker for the page, so each test loads it anew. */
const ticker = () => import("../src/shared/ticker");
const worker = () => FakeWorker.last as FakeWorker;

beforeEach(() => {
  FakeWorker.last = undefined;
  vi.resetModules();
  vi.useFakeTimers();
  vi.stubGlobal("Worker", FakeWorker);
});
afterEach(() => {
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

it("waits on a worker, not on the page's own timers", async () => {
  const { after } = await ticker();
  const run = vi.fn();
  after(250, run);
  expect(`${worker().address}`).toMatch(/ticker\.worker/);
  expect(worker().asked.map(([, milliseconds]) => milliseconds)).toEqual([250]);
  vi.advanceTimersByTime(60_000);
  expect(run).not.toHaveBeenCalled();
  worker().rings();
  worker().rings();
  expect(run).toHaveBeenCalledTimes(1);
});

it("does not call what was cancelled", async () => {
  const { after } = await ticker();
  const run = vi.fn();
  after(250, run)();
  worker().rings();
  expect(run).not.toHaveBeenCalled();
});

it("calls again and again until it is ended, also by what it calls", async () => {
  const { every } = await ticker();
  const end: () => void = every(100, () => run());
  const run = vi.fn(() => {
    if (run.mock.calls.length === 3) end();
  });
  for (let times = 0; times < 5; times += 1) worker().rings();
  expect(run).toHaveBeenCalledTimes(3);
});

it("makes do with the page's timers where a worker cannot be made", async () => {
  vi.stubGlobal("Worker", function Worker() {
    throw new DOMException("no workers here");
  });
  const { after } = await ticker();
  const run = vi.fn();
  after(250, run);
  vi.advanceTimersByTime(250);
  expect(run).toHaveBeenCalledTimes(1);
});

it("loses nothing when the worker turns out not to load", async () => {
  const { after } = await ticker();
  const [first, second] = [vi.fn(), vi.fn()];
  after(250, first);
  worker().onerror();
  expect(worker().terminated).toBe(true);
  after(100, second);
  vi.advanceTimersByTime(100);
  expect(first).toHaveBeenCalledTimes(1);
  expect(second).toHaveBeenCalledTimes(1);
});
