/**
 * Follows one class: holds the socket, keeps house time, merges what the server says, and tells the page. All three
 * pages stand on this; they add their own messages with `send` and hear everything through `onMessage`.
 *
 * Time is kept by a burst of eight exchanges on connecting and on waking, then one every 5 to 10 seconds (rule 2.1).
 */
import { type Showing, showing } from "./clock";
import { deviceNow, resolution } from "./device";
import { expose } from "./instrument";
import { deviceId } from "./random";
import { type Connection, Socket } from "./socket";
import { merge } from "./state";
import { Sync, type Taken } from "./sync";
import type { FromDevice, State, ToDevice } from "./wire";

export interface FollowOptions {
  addresses: readonly string[];
  /** Taps that wait on this device, for the report to the coach. */
  waiting?: () => number;
  /** The state or the connection changed: draw anew what is not drawn each frame. */
  changed: () => void;
  /** Every message but the exchanges, after it was merged. */
  onMessage?: (message: ToDevice) => void;
  /** The connection was lost, or never came about; `welcomed` says whether the house had let this device in. */
  lost?: (welcomed: boolean, reason: string) => void;
}

const BURST = 8;
const BURST_GAP_MS = 60;
const STEADY_MS = 5_000;
const STEADY_JITTER_MS = 5_000;
/** With no answer for this long the connection is dead, whatever the browser thinks. */
const SILENT_MAX_US = 25_000_000;
/** The wall clock and the device's clock part by more than this only through sleep. */
const SLEPT_FROM_MS = 1_000;

export class Follower {
  state: State | null = null;
  /** What the house said last to this device: who it is here, and what the stop notice says. */
  welcome: Extract<ToDevice, { type: "welcome" }> | null = null;
  /** Why there is no class for this device, as a sentence; null where there is one, or nothing was said yet. */
  noClass: string | null = null;
  readonly sync = new Sync(resolution());
  /** What the last exchange did to the shown time. */
  lastTaken: Taken = "refused";
  /** This device's own id. */
  readonly device = deviceId();
  private readonly socket: Socket;
  private timer: ReturnType<typeof setTimeout> | undefined;
  /** Whether the house let this device in on the present connection. */
  private welcomed = false;
  private stopSeen: number | null = null;
  private burstLeft = 0;
  private heardAt = deviceNow();
  private wallMinusDevice = Date.now() - performance.now();

  constructor(private readonly options: FollowOptions) {
    expose(this.sync);
    this.socket = new Socket(options.addresses, {
      connected: () => this.connected(),
      message: (message) => this.heard(message),
      lost: (reason) => {
        options.lost?.(this.welcomed, reason);
        this.welcomed = false;
        options.changed();
      },
    });
    document.addEventListener("visibilitychange", () => this.woke());
    addEventListener("pageshow", () => this.woke());
  }

  get connection(): Connection {
    return this.socket.connection;
  }

  send(message: FromDevice): boolean {
    return this.socket.send(message);
  }

  /** House time as shown, for a device time such as the frame loop's; null until the first exchange. */
  houseTime(device: number): number | null {
    return this.sync.shown(device);
  }

  /** House time by the best estimate and its bound, to stamp a tap with, in whole microseconds. */
  stamp(): { made_at: number; bound: number } | null {
    const now = deviceNow();
    const [estimate, bound] = [this.sync.estimate(now), this.sync.bound(now)];
    return estimate === null || bound === null
      ? null
      : { made_at: Math.round(estimate), bound: Math.ceil(bound) };
  }

  /** What the class clock shows at a device time; null until there is a state and a time. */
  showing(device: number): Showing | null {
    const at = this.houseTime(device);
    return this.state === null || at === null ? null : showing(this.state.clock, this.state.segments, at);
  }

  private connected(): void {
    this.heardAt = deviceNow();
    this.stopSeen = null;
    this.send({ type: "hello", device: this.device });
    this.burst();
    this.options.changed();
  }

  private heard(message: ToDevice): void {
    const now = deviceNow();
    this.heardAt = now;
    if (message.type === "sync") {
      this.lastTaken = this.sync.take({ t0: message.t0, t1: message.t1, t2: message.t2, t3: now });
      return;
    }
    this.state = merge(this.state, message);
    if (message.type === "welcome") {
      this.welcome = message;
      this.welcomed = true;
    }
    if (message.type === "no-class") this.noClass = message.text;
    if (message.type === "state") this.noClass = null;
    this.options.onMessage?.(message);
    this.options.changed();
    this.confirmStop();
  }

  /** Tells the house once that the stop notice stands here; in the next frame, for a hidden page shows nothing. */
  private confirmStop(): void {
    const clock = this.state?.clock;
    if (clock === undefined || !clock.stopped || clock.revision === this.stopSeen) return;
    const { revision } = clock;
    this.stopSeen = revision;
    requestAnimationFrame(() => this.send({ type: "stop-seen", revision }));
  }

  private woke(): void {
    if (document.visibilityState === "hidden") return;
    this.noticeSleep();
    this.burst();
  }

  /**
   * A wall clock that ran ahead of the device's own means a sleep, or a wall clock that was set. With a connection
   * the next exchange tells; without one the sleep is the likelier, so time moves on by it, with as much doubt.
   */
  private noticeSleep(): void {
    const wallMinusDevice = Date.now() - performance.now();
    const slept = wallMinusDevice - this.wallMinusDevice;
    this.wallMinusDevice = wallMinusDevice;
    if (Math.abs(slept) < SLEPT_FROM_MS) return;
    const passed = this.connection === "connected" ? 0 : Math.max(0, slept);
    this.sync.woke(passed * 1000, Math.abs(slept) * 1000);
  }

  private burst(): void {
    this.burstLeft = BURST;
    clearTimeout(this.timer);
    this.exchange();
  }

  private exchange(): void {
    this.noticeSleep();
    if (this.connection === "connected" && deviceNow() - this.heardAt > SILENT_MAX_US) this.socket.restart();
    this.send({ type: "sync", t0: Math.round(deviceNow()) });
    this.burstLeft -= 1;
    if (this.burstLeft <= 0) this.report();
    const gap = this.burstLeft > 0 ? BURST_GAP_MS : STEADY_MS + STEADY_JITTER_MS * Math.random();
    this.timer = setTimeout(() => this.exchange(), gap);
  }

  /** Tells the coach how this device is doing: after exchanges, and when taps begin or cease to wait. */
  report(): void {
    const now = deviceNow();
    const [bound, roundTrip] = [this.sync.shownBound(now), this.sync.roundTrip];
    if (bound === null || roundTrip === null) return;
    this.send({
      type: "report",
      bound: Math.ceil(bound),
      round_trip: Math.round(roundTrip),
      waiting: this.options.waiting?.() ?? 0,
      refused: this.sync.refused,
    });
  }
}
