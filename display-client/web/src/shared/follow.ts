/**
 * Follows one class: holds the socket, keeps house time, merges what the server says, and tells the page. All
 * pages stand on this; they add their own messages with `send` and hear everything through `onMessage`.
 *
 * Time is kept by a burst of eight exchanges on connecting and on waking, then one every 5 to 8 seconds (rule 2.1), or
 * four of them while the bound is loose, as on a path of much jitter.
 * Waking is: the page is shown again, the network has changed, or the device slept. A page that is shown again, or
 * whose device slept, does not trust what it holds:
 *
 * - **Digits** stay as they were last shown, dimmed, until the first exchange begun since has come back, or half a
 *   second has passed. Then they go on with what there is; a device without a connection is marked as on its own.
 * - **Taps** made after a sleep are kept at once, with a bound as wide as the sleep, and are sent when an exchange
 *   has told house time and they have been stamped by it. None is refused or lost for that.
 * - **Sounds** go on throughout.
 */
import { type Showing, showing } from "./clock";
import { deviceNow, resolution } from "./device";
import { expose } from "./instrument";
import { deviceId } from "./random";
import { type Connection, Socket } from "./socket";
import { merge } from "./state";
import { Sync, type Taken } from "./sync";
import { after } from "./ticker";
import type { FromDevice, State, ToDevice } from "./wire";

export interface FollowOptions {
  addresses: readonly string[];
  /** Taps that wait on this device, for the report to the coach. */
  waiting?: () => number;
  /** House time is certain again after a sleep: what was stamped in doubt can be stamped anew. */
  settled?: () => void;
  /** The state or the connection changed: draw anew what is not drawn each frame. */
  changed: () => void;
  /** Every message but the exchanges, after it was merged. */
  onMessage?: (message: ToDevice) => void;
  /** The connection was lost, or never came about; `welcomed` says whether the house had let this device in. */
  lost?: (welcomed: boolean, reason: string) => void;
}

/** When a tap was made, in whole microseconds of house time, and how far off that may be. */
export interface Stamp {
  made_at: number;
  bound: number;
}

const BURST = 8;
const BURST_GAP_MS = 60;
/**
 * Exchanges after the burst are 5 to 8 s apart, by chance, so that devices do not ask in step. Rule 2.1 would allow
 * 10 s; but from 10 s on a device counts as silent, so a slow network is left the last two.
 */
const STEADY_MS = 5_000;
const STEADY_JITTER_MS = 3_000;
/** Over this, in microseconds, four exchanges are made where otherwise one is: it halves the error on a path of much jitter. */
const LOOSE_FROM_US = 5_000;
const LOOSE_TIMES = 4;
/** Three exchanges unanswered: the connection is dead, whatever the browser thinks. */
const SILENT_MAX_US = 25_000_000;
/** After waking it is found out sooner: many round trips of a poor network. */
const WAKING_SILENT_MAX_MS = 3_000;
/** The wall clock and the device's clock part by more than this only through sleep. */
const SLEPT_FROM_MS = 250;
/** Both clocks are read within this. */
const READ_MAX_MS = 5;
/** Longer than any class: a wall clock that was set, as on a device that has just found the date. */
const SLEPT_MAX_MS = 6 * 3600 * 1000;
/** Digits wait no longer than this for a fresh exchange: what comes later is no better for having kept people waiting. */
const DIGITS_WAIT_MS = 500;

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
  private cancelExchange = (): void => {};
  /** Whether the house let this device in on the present connection. */
  private welcomed = false;
  private stopSeen: number | null = null;
  private burstLeft = 0;
  private heardAt = deviceNow();
  private wallMinusDevice = Date.now() - performance.now();
  /** Device time at which a sleep was last noticed, and whether no exchange has told house time since. */
  private sleptUntil = Number.NEGATIVE_INFINITY;
  private doubts = false;
  /** From when (device time) an exchange must be for digits to go on; null where they do. */
  private freshFrom: number | null = null;
  private cancelWait = (): void => {};
  private lastShown: number | null = null;

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
    document.addEventListener("visibilitychange", () => this.shownAgain());
    addEventListener("pageshow", () => this.shownAgain());
    addEventListener("online", () => this.resynchronise());
    network()?.addEventListener("change", () => this.resynchronise());
  }

  get connection(): Connection {
    return this.socket.connection;
  }

  send(message: FromDevice): boolean {
    return this.socket.send(message);
  }

  /**
   * House time as shown, for a device time such as the frame loop's; null until the first exchange. It stands still
   * while digits wait. A sleep is noticed here first, so no frame shows what was before it.
   */
  houseTime(device: number): number | null {
    this.noticeSleep();
    if (this.freshFrom === null || this.lastShown === null) this.lastShown = this.sync.shown(device);
    return this.lastShown;
  }

  /** House time for sounds at a device time: they go on where digits wait, and where nothing is shown. */
  soundTime(device: number): number | null {
    return this.sync.shown(device);
  }

  /** House time by the best estimate, to stamp a tap with that was made at a device time; null if that is not known. */
  stamp(device?: number): Stamp | null {
    this.noticeSleep();
    const at = device ?? deviceNow();
    const [estimate, bound] = [this.sync.estimate(at), this.sync.bound(at)];
    // Across a sleep nothing is known of a device time.
    if (estimate === null || bound === null || at < this.sleptUntil) return null;
    return { made_at: Math.round(estimate), bound: Math.ceil(bound) };
  }

  /** The present device time where stamps are in doubt, as after a sleep until `settled`; null where they are certain. */
  inDoubt(): number | null {
    return this.doubts ? deviceNow() : null;
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
      this.exchanged(message, now);
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

  /** An answer is back. One that was asked for before a sleep tells nothing: the device's clock stood still within it. */
  private exchanged({ t0, t1, t2 }: Extract<ToDevice, { type: "sync" }>, t3: number): void {
    this.noticeSleep();
    if (t0 < this.sleptUntil) return;
    this.lastTaken = this.sync.take({ t0, t1, t2, t3 });
    if (this.lastTaken === "refused") return;
    if (this.freshFrom !== null && t0 >= this.freshFrom) this.digitsGoOn();
    if (!this.doubts) return;
    this.doubts = false;
    this.options.settled?.();
  }

  private shownAgain(): void {
    if (document.visibilityState === "hidden") return;
    this.noticeSleep();
    this.digitsWait();
    this.resynchronise();
  }

  /** A burst; and a connection that answers nothing of it is begun anew. */
  private resynchronise(): void {
    const since = deviceNow();
    this.burst();
    after(WAKING_SILENT_MAX_MS, () => {
      if (this.connection === "connected" && this.heardAt < since) this.socket.restart();
    });
  }

  private digitsWait(): void {
    this.freshFrom = Math.floor(deviceNow());
    document.documentElement.toggleAttribute("data-digits-wait", true);
    this.cancelWait();
    this.cancelWait = after(DIGITS_WAIT_MS, () => this.digitsGoOn());
  }

  private digitsGoOn(): void {
    this.freshFrom = null;
    this.cancelWait();
    document.documentElement.toggleAttribute("data-digits-wait", false);
    this.options.changed();
  }

  /**
   * A wall clock that ran ahead of the device's own means a sleep, in which many devices' own clock stands still, or
   * a wall clock that was set. The sleep is the likelier, so time moves on by it, with as much doubt until the next
   * exchange.
   */
  private noticeSleep(): void {
    const device = performance.now();
    const wallMinusDevice = Date.now() - device;
    // Held up between the two readings, they tell nothing; the next ones do.
    if (performance.now() - device > READ_MAX_MS) return;
    const slept = wallMinusDevice - this.wallMinusDevice;
    this.wallMinusDevice = wallMinusDevice;
    if (Math.abs(slept) < SLEPT_FROM_MS) return;
    const passed = slept > 0 && slept < SLEPT_MAX_MS ? slept : 0;
    this.sync.woke(passed * 1000, Math.abs(slept) * 1000);
    this.sleptUntil = Math.floor(deviceNow());
    this.doubts = true;
    this.digitsWait();
    this.resynchronise();
  }

  private burst(times = BURST): void {
    this.burstLeft = times;
    this.cancelExchange();
    this.exchange();
  }

  private steady(): void {
    const bound = this.sync.bound(deviceNow());
    this.burst(bound !== null && bound > LOOSE_FROM_US ? LOOSE_TIMES : 1);
  }

  private exchange(): void {
    this.noticeSleep();
    if (this.connection === "connected" && deviceNow() - this.heardAt > SILENT_MAX_US) this.socket.restart();
    this.send({ type: "sync", t0: Math.round(deviceNow()) });
    this.burstLeft -= 1;
    if (this.burstLeft <= 0) this.report();
    this.cancelExchange =
      this.burstLeft > 0
        ? after(BURST_GAP_MS, () => this.exchange())
        : after(STEADY_MS + STEADY_JITTER_MS * Math.random(), () => this.steady());
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

/** What tells that the device has changed its network, where the browser has it. */
const network = (): EventTarget | undefined => (navigator as { connection?: EventTarget }).connection;
