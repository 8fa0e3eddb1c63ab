/** The little of a page that the shared modules touch: listeners, visibility, frames, and a WebSocket held by the test. */
import { vi } from "vitest";
import { SUBPROTOCOL } from "../src/shared/socket";
import type { FromDevice, ToDevice } from "../src/shared/wire";

export class FakeSocket {
  static readonly OPEN = 1;
  static all: FakeSocket[] = [];
  static get last(): FakeSocket {
    const last = FakeSocket.all.at(-1);
    if (last === undefined) throw new Error("no socket was opened");
    return last;
  }

  readyState = 0;
  bufferedAmount = 0;
  readonly sent: FromDevice[] = [];
  onopen = (): void => {};
  onmessage = (_: { data: string }): void => {};
  onclose = (_: { reason: string }): void => {};

  constructor(
    readonly address: string,
    readonly protocol: string,
  ) {
    if (protocol !== SUBPROTOCOL) throw new Error(`subprotocol ${protocol}`);
    FakeSocket.all.push(this);
  }

  send(text: string): void {
    this.sent.push(JSON.parse(text));
  }

  close(): void {
    this.readyState = 3;
  }

  /** The server lets it in. */
  opens(): void {
    this.readyState = FakeSocket.OPEN;
    this.onopen();
  }

  /** The server says something. */
  says(message: ToDevice): void {
    this.onmessage({ data: JSON.stringify(message) });
  }

  /** The connection breaks. */
  breaks(reason = ""): void {
    this.readyState = 3;
    this.onclose({ reason });
  }

  types(): string[] {
    return this.sent.map(({ type }) => type);
  }
}

/** Puts the page in place, with a clock that the test drives. Returns what sets it off. */
export function page() {
  FakeSocket.all = [];
  const listeners = new Map<string, Set<() => void>>();
  const listen = (name: string, listener: () => void) => {
    listeners.set(name, (listeners.get(name) ?? new Set()).add(listener));
  };
  const forget = (name: string, listener: () => void) => listeners.get(name)?.delete(listener);
  const marks = new Set<string>();
  const document = {
    visibilityState: "visible",
    addEventListener: listen,
    removeEventListener: forget,
    createTextNode: (data: string) => ({ data }),
    documentElement: {
      toggleAttribute: (name: string, on: boolean) => void (on ? marks.add(name) : marks.delete(name)),
    },
  };
  vi.useFakeTimers({
    toFake: ["setTimeout", "clearTimeout", "setInterval", "clearInterval", "Date", "performance"],
  });
  vi.stubGlobal("WebSocket", FakeSocket);
  vi.stubGlobal("document", document);
  vi.stubGlobal("navigator", { connection: { addEventListener: listen } });
  vi.stubGlobal("requestAnimationFrame", (draw: () => void) => setTimeout(draw, 16));
  vi.stubGlobal("addEventListener", listen);
  vi.stubGlobal("removeEventListener", forget);
  return {
    document,
    /** Attributes of the page's root. */
    marks,
    fire(name: string): void {
      for (const listener of listeners.get(name) ?? []) listener();
    },
  };
}

export function pageIsOver(): void {
  vi.useRealTimers();
  vi.unstubAllGlobals();
}
