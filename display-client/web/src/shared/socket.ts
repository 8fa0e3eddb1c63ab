/**
 * The one file that knows WebSocket. A socket that is always there: it connects, and when it is lost tries again
 * with growing, jittered pauses, at once when the network or the page comes back.
 */
import type { FromDevice, Role, ToDevice } from "./wire";

export const SUBPROTOCOL = "floorbell.v1";

/** Connected, or the device goes on by itself. */
export type Connection = "connected" | "on-its-own";

export interface SocketEvents {
  connected(): void;
  message(message: ToDevice): void;
  /** `reason` is the server's, where it closed with one. */
  lost(reason: string): void;
}

/** First pause; each further one is twice as long. */
const PAUSE_FIRST_MS = 250;
/** A class is short: nobody should wait longer than this for a screen to come back. */
const PAUSE_MAX_MS = 5_000;
/** A connection attempt that has said nothing for so long is given up. */
const CONNECT_MAX_MS = 5_000;
/** More than this waiting to be sent means a dead network: newer state is worth more than a backlog. */
const BUFFERED_MAX_BYTES = 256 * 1024;

export class Socket {
  private socket: WebSocket | null = null;
  private attempts = 0;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private closed = false;

  /**
   * @param addresses of the server's socket, tried in turn; at least one
   */
  constructor(
    private readonly addresses: readonly string[],
    private readonly events: SocketEvents,
  ) {
    addEventListener("online", this.again);
    document.addEventListener("visibilitychange", this.again);
    this.connect();
  }

  get connection(): Connection {
    return this.socket?.readyState === WebSocket.OPEN ? "connected" : "on-its-own";
  }

  /** Whether the message was handed to the network; it may still be lost with it. */
  send(message: FromDevice): boolean {
    const { socket } = this;
    if (socket?.readyState !== WebSocket.OPEN || socket.bufferedAmount > BUFFERED_MAX_BYTES) return false;
    socket.send(JSON.stringify(message));
    return true;
  }

  /** Drops a connection that answers nothing any more, and connects anew. */
  restart(): void {
    this.socket?.close();
    this.lost(this.socket, "no answer");
  }

  close(): void {
    this.closed = true;
    clearTimeout(this.timer);
    removeEventListener("online", this.again);
    document.removeEventListener("visibilitychange", this.again);
    this.socket?.close();
  }

  private readonly again = (): void => {
    if (this.closed || this.socket !== null || document.visibilityState === "hidden") return;
    this.attempts = 0;
    this.connect();
  };

  private connect(): void {
    clearTimeout(this.timer);
    const address = this.addresses[this.attempts % this.addresses.length] ?? "";
    const socket = new WebSocket(address, SUBPROTOCOL);
    this.socket = socket;
    this.timer = setTimeout(() => {
      socket.close();
      this.lost(socket, "no answer");
    }, CONNECT_MAX_MS);
    socket.onopen = () => {
      clearTimeout(this.timer);
      this.attempts = 0;
      this.events.connected();
    };
    socket.onmessage = ({ data }) => {
      if (socket === this.socket) this.events.message(JSON.parse(data) as ToDevice);
    };
    socket.onclose = ({ reason }) => this.lost(socket, reason);
  }

  private lost(socket: WebSocket | null, reason: string): void {
    if (socket === null || socket !== this.socket) return;
    this.socket = null;
    this.events.lost(reason);
    if (this.closed) return;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.connect(), pause(this.attempts, Math.random()));
    this.attempts += 1;
  }
}

/** Milliseconds before attempt `attempts`, of which half is chance, so that a floor of devices does not come at once. */
export function pause(attempts: number, chance: number): number {
  const whole = Math.min(PAUSE_MAX_MS, PAUSE_FIRST_MS * 2 ** Math.min(attempts, 10));
  return whole / 2 + (whole / 2) * chance;
}

/** The socket's address on the server that this page came from, for a device of that role. */
export function socketAddress({ protocol, host }: Location, role: Role["role"]): string {
  return `${protocol === "https:" ? "wss" : "ws"}://${host}/api/follow?as=${role}`;
}
