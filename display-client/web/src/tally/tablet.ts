/**
 * A tally tablet: it follows the class, keeps taps and requests until the house has them, and holds what is open on
 * the screen. What is shown follows from it in `view.ts` and the screens.
 */

import { Requests } from "../counting/requests";
import { isStanding, SECOND, type Showing } from "../shared/clock";
import { deviceNow } from "../shared/device";
import { Face } from "../shared/face";
import { Follower } from "../shared/follow";
import { OFFER_AGAIN_US, type Outbox } from "../shared/outbox";
import { randomId } from "../shared/random";
import type {
  Ask,
  AthleteId,
  ClassId,
  Counted,
  Counts,
  RequestId,
  SegmentIndex,
  TapId,
  ToDevice,
} from "../shared/wire";
import type { Sheet } from "./sheet";
import type { Known, LastWork } from "./view";
import { whyNot } from "./words";

/** Two touches for a round of one athlete within this are one (rule 3.6). */
const TWICE_WITHIN_US = 400_000;
/** How long a notice stands. */
const NOTICE_US = 5 * SECOND;

export class Tablet {
  readonly follower: Follower;
  readonly requests = new Requests("floorbell.tally.requests");
  /** The digits of the class clock. */
  readonly face = new Face();
  /** For whom it counts, as the house told it. */
  lines: readonly Counted[] | null = null;
  /** What lies over the grid. */
  sheet: Sheet | null = null;
  notice: { text: string; until: number } | null = null;
  /** When a round was last counted for each athlete (device time). */
  private readonly hits = new Map<AthleteId, number>();
  private readonly keptSince = new Set<TapId>();
  /** Taps and requests sent on this connection, and when (device time). */
  private readonly sent = new Map<TapId | RequestId, number>();
  private lastWork: LastWork | null = null;
  /** The class that the lines are of. */
  private klass: ClassId | null = null;

  /**
   * @param changed draws anew what is not drawn each frame
   * @param notIn the house did not take the connection: perhaps it does not know this tablet
   */
  constructor(
    addresses: readonly string[],
    private readonly outbox: Outbox,
    readonly changed: () => void,
    notIn: () => void,
  ) {
    this.follower = new Follower({
      addresses,
      waiting: () => this.waiting(),
      settled: () => this.settled(),
      changed,
      onMessage: (message) => this.heard(message),
      lost: (welcomed) => {
        if (!welcomed) notIn();
      },
    });
    setInterval(() => this.offer(), OFFER_AGAIN_US / 1000);
  }

  get connected(): boolean {
    return this.follower.connection === "connected";
  }

  /** Whether taps outlive a reload of this page. */
  get durable(): boolean {
    return this.outbox.durable;
  }

  /** Taps that wait on this tablet, of all classes. */
  waiting(): number {
    return this.outbox.waiting(null).length;
  }

  /** What the screens are worked out from; null before there is a class. */
  known(): Known | null {
    const { state } = this.follower;
    if (state === null) return null;
    return {
      state,
      lines: this.lines ?? [],
      connected: this.connected,
      lastWork: this.lastWork,
      taps: this.outbox.of(state.class),
      undone: this.requests.undone,
      keptSince: this.keptSince,
      asked: this.requests.of(state.class),
    };
  }

  /** Remembers the work that is under way at house time `at`, and when it ended: a tap just after the bell is for it. */
  noticeWork(now: Showing, at: number): void {
    const works = now.phase === "running" && now.segment.kind === "work" && now.resumeIn === 0;
    if (works) {
      if (this.lastWork?.segment !== now.index) this.sheet = null;
      this.lastWork = { segment: now.index, until: null, bell: now.bell };
    } else if (this.lastWork?.until === null) {
      const { segment, bell } = this.lastWork;
      this.lastWork = { segment, until: bell !== null && at >= bell ? bell : at, bell };
    }
    // A sheet for a window that is not shown any more would cover the one that is.
    if (!isStanding(now)) this.sheet = null;
  }

  /** Counts for somebody; tells whether there was a tap in it. */
  tap(athlete: AthleteId, segment: SegmentIndex, counts: Counts): boolean {
    const { state } = this.follower;
    const stamp = this.follower.stamp();
    const now = deviceNow();
    const again = now - (this.hits.get(athlete) ?? Number.NEGATIVE_INFINITY) < TWICE_WITHIN_US;
    if (state === null || (again && counts.kind === "round")) return false;
    if (stamp === null) {
      this.tell("This tablet does not have the class time yet. Touch again in a moment.");
      return false;
    }
    if (counts.kind === "round") this.hits.set(athlete, now);
    this.notice = null;
    const tap = { id: randomId(), athlete, segment, counts, heard: state.clock.revision, ...stamp };
    this.outbox.add(state.class, tap, this.follower.inDoubt()).catch(() => {
      this.tell("This tablet could not store that tap. Keep the page open until it is kept.");
    });
    this.offer();
    navigator.vibrate?.(15);
    this.changed();
    return true;
  }

  undo(athlete: AthleteId, of: TapId): void {
    const { state } = this.follower;
    if (state === null) return;
    this.requests.undo(state.class, athlete, of);
    this.hits.delete(athlete);
    this.sendRequests();
    this.changed();
  }

  ask(ask: Ask): void {
    const { state } = this.follower;
    if (state === null) return;
    this.requests.ask(state.class, ask);
    this.sendRequests();
    this.changed();
  }

  open(sheet: Sheet | null): void {
    this.sheet = sheet;
    this.changed();
  }

  /** A sentence for who holds the tablet, for some seconds. */
  tell(text: string): void {
    this.notice = { text, until: deviceNow() + NOTICE_US };
    this.changed();
  }

  /** Takes the notice away when it has stood long enough. */
  forgetNotice(now: number): void {
    if (this.notice === null || now < this.notice.until) return;
    this.notice = null;
    this.changed();
  }

  /** Taps made just after a sleep get their time from the first exchange since. */
  private settled(): void {
    this.outbox.stampAnew((device) => this.follower.stamp(device)).catch(() => {});
    this.offer();
  }

  /**
   * Sends the taps whose turn it is. The house knows the class of each by its athlete, so those of a class that is
   * over go too.
   */
  private offer(): void {
    if (this.follower.welcome?.role !== "tablet" || !this.follower.welcome.accepted) return;
    this.outbox.offer(null, this.sent, deviceNow(), (tap) => this.follower.send({ type: "tap", tap }));
  }

  /** Sends each request once on a connection; an undo after its tap, for the house is to have what it takes back. */
  private sendRequests(): void {
    const waiting = new Set(this.outbox.waiting(null).map(({ id }) => id));
    for (const message of this.requests.all()) {
      if (this.sent.has(message.id) || (message.type === "undo" && waiting.has(message.of))) continue;
      if (this.follower.send(message)) this.sent.set(message.id, deviceNow());
    }
  }

  private heard(message: ToDevice): void {
    switch (message.type) {
      case "welcome":
        void this.outbox.offerAgain(message.generation);
        this.sent.clear();
        this.offer();
        this.sendRequests();
        return;
      case "state":
        if (message.class !== this.klass) this.lines = null;
        this.klass = message.class;
        return;
      case "tablet":
        this.lines = message.lines;
        this.keptSince.clear();
        this.closeForOthers();
        return;
      case "kept":
        this.kept(message);
        return;
      case "not-kept":
        if (!message.again) {
          this.tell(this.about(message.tap, message.text));
          this.outbox.letGo(message.tap).catch(() => {});
        }
        return;
      case "answer": {
        const { to, type: _, ...outcome } = message;
        const request = this.requests.answered(to, outcome);
        if (request !== null && outcome.outcome === "refused") this.tell(outcome.text);
        return;
      }
      case "error":
        this.tell(message.text);
    }
  }

  /** The sheet of somebody whom this tablet counts for no longer goes. */
  private closeForOthers(): void {
    const { sheet } = this;
    if (sheet !== null && !this.lines?.some(({ athlete }) => athlete === sheet.athlete)) this.sheet = null;
  }

  private kept(message: Extract<ToDevice, { type: "kept" }>): void {
    const generation = this.follower.welcome?.generation;
    if (generation === undefined) return;
    void this.outbox.keptBy(message, generation).catch(() => {});
    if (message.standing === "counted") this.keptSince.add(message.tap);
    const why = message.standing === "not-counted" ? whyNot(message.why) : null;
    if (why !== null) this.tell(this.about(message.tap, why));
    this.sendRequests();
  }

  /** A sentence about a tap, with whose it is; they may have been taken off this tablet. */
  private about(tap: TapId, text: string): string {
    const athlete = this.outbox.get(tap)?.tap.athlete;
    const name = this.lines?.find((line) => line.athlete === athlete)?.name;
    return `${name ?? "A tap"}: ${text}`;
  }
}
