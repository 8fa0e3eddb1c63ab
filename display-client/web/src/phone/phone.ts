/**
 * One athlete's phone in a class: it follows the clock, keeps taps and requests until the house has them, and holds
 * what is open on the screen. What is shown follows from it in `view.ts` and the screens.
 */

import { Requests } from "../counting/requests";
import type { Awake } from "../shared/awake";
import { kindShown, SECOND, type Showing } from "../shared/clock";
import { deviceNow } from "../shared/device";
import { Face } from "../shared/face";
import { Follower } from "../shared/follow";
import { type Entry, OFFER_AGAIN_US, type Outbox } from "../shared/outbox";
import { randomId } from "../shared/random";
import type {
  Ask,
  AthleteId,
  Counts,
  FromDevice,
  OwnView,
  RequestId,
  SegmentIndex,
  TapId,
  ToDevice,
  WhyNot,
} from "../shared/wire";
import type { Field } from "./field";
import type { Result } from "./result";
import { me, setMe, setWhom, whom } from "./settings";
import { Spoken } from "./spoken";
import { teamWords } from "./team";
import type { Timer } from "./timer";
import type { Known } from "./view";
import { nameOf, withAsked } from "./who";
import { whyNot } from "./words";

/** Two touches for a round within this are one (rule 3.6); nothing has so much time to be meant for somebody else. */
const TWICE_WITHIN_US = 400_000;
/** So many connections in a row that come to nothing are not chance. */
const REFUSALS = 2;
/** How long a notice stands. */
const NOTICE_US = 6 * SECOND;

/** What is open over the class. */
export type Panel = "plan" | "me" | "choice" | "counter" | null;

export class Phone {
  readonly follower: Follower;
  readonly requests = new Requests();
  /** The digits of the class clock. */
  readonly face = new Face();
  own: OwnView | null = null;
  panel: Panel = null;
  draft: Result | null = null;
  /** The load of the next attempt, once it was touched. */
  lift: Field | null = null;
  /** For whom touches count now; null: the own athlete. */
  whom = whom();
  readonly spoken = new Spoken();
  /** Windows whose entry was put off: it does not open by itself again. */
  readonly notNow = new Set<SegmentIndex>();
  timer: Timer | null = null;
  notice: { text: string; until: number } | null = null;
  /** How the screen is kept awake. */
  awake: Awake = "off";
  /** What a refused touch was told, to be read out. */
  refused = "";
  /** When a touch was last taken, and when touches went over to somebody else (device time). */
  private hit = Number.NEGATIVE_INFINITY;
  private turned = Number.NEGATIVE_INFINITY;
  private readonly keptSince = new Set<TapId>();
  /** Requests that the house has carried out since it last told the own view: they stand until it tells again. */
  private doneSince: FromDevice[] = [];
  /** Taps and requests sent on this connection, and when (device time). */
  private readonly sent = new Map<TapId | RequestId, number>();
  /** Connections that were lost before the house let this phone in, one after the other. */
  private refusals = 0;
  private lastWork: { segment: SegmentIndex; until: number; bell: number | null } | null = null;
  private works = false;

  /**
   * @param changed draws anew what is not drawn each frame
   * @param turnedAway the house does not know this phone: it has to come in anew
   */
  constructor(
    addresses: readonly string[],
    private readonly outbox: Outbox,
    readonly changed: () => void,
    turnedAway: () => void,
  ) {
    this.follower = new Follower({
      addresses,
      waiting: () => this.waiting().length,
      settled: () => this.settled(),
      changed,
      onMessage: (message) => this.heard(message),
      lost: (welcomed) => {
        this.refusals = welcomed ? 0 : this.refusals + 1;
        if (this.refusals >= REFUSALS && this.follower.welcome === null) turnedAway();
      },
    });
    setInterval(() => this.offer(), OFFER_AGAIN_US / 1000);
  }

  get athlete(): AthleteId | null {
    const { welcome } = this.follower;
    return welcome?.role === "athlete" ? welcome.athlete : (me()?.athlete ?? null);
  }

  get connected(): boolean {
    return this.follower.connection === "connected";
  }

  /** Whether taps outlive a reload of this page. */
  get durable(): boolean {
    return this.outbox.durable;
  }

  /** Taps of this class that wait on this phone. */
  waiting(): Entry[] {
    const { state } = this.follower;
    return state === null ? [] : this.outbox.waiting(state.class);
  }

  /** What was asked that the own view may not tell yet, oldest first. */
  asked(): FromDevice[] {
    const { state } = this.follower;
    return state === null ? [] : [...this.doneSince, ...this.requests.of(state.class)];
  }

  /** The athlete's own view, with what they chose since and what still waits for its answer. */
  private ownNow(): OwnView | null {
    const { state } = this.follower;
    if (this.own === null || state === null) return this.own;
    let own = this.own;
    let { choice, shown } = own;
    const questions = new Set(own.questions);
    for (const message of this.asked()) {
      if (message.type !== "ask") continue;
      if (message.ask === "choose") choice = message.choice;
      if (message.ask === "show-name") shown = message.shown;
      if (message.ask === "question") questions.add(message.text);
      own = withAsked(own, message, (athlete) => nameOf({ state, own }, athlete));
    }
    return { ...own, choice, shown, questions: [...questions] };
  }

  /** What the screens are worked out from; null before there is a class. */
  known(): Known | null {
    const { state } = this.follower;
    const { athlete } = this;
    if (state === null || athlete === null) return null;
    return {
      state,
      own: this.ownNow(),
      athlete,
      whom: this.whom,
      connected: this.connected,
      places: this.follower.welcome?.places ?? true,
      lastWork: this.lastWork,
      taps: this.outbox.of(state.class),
      undone: this.requests.undone,
      keptSince: this.keptSince,
    };
  }

  /** Remembers the work that is under way, and when it ended: a tap just after the bell still belongs to it. */
  noticeWork(now: Showing, at: number): void {
    this.works = now.phase === "running" && now.segment.kind === "work" && now.resumeIn === 0;
    if (this.works && now.phase === "running") {
      this.lastWork = { segment: now.index, until: at, bell: now.bell };
    } else if (this.lastWork !== null && this.lastWork.bell !== null) {
      const { segment, until, bell } = this.lastWork;
      this.lastWork = { segment, until: at >= bell ? bell : until, bell: null };
    }
  }

  /** One frame at house time `at`, in which the clock did not change. */
  frame(at: number): void {
    if (this.works && this.lastWork !== null) this.lastWork.until = at;
  }

  /** House time from which the last work is no longer just over; never while it is under way. */
  overUntil(within: number): number {
    return this.works || this.lastWork === null ? Number.POSITIVE_INFINITY : this.lastWork.until + within;
  }

  /** Whether the last work ended less than `within` ago. */
  justOver(at: number, within: number): boolean {
    return this.lastWork !== null && at - this.lastWork.until < within;
  }

  /** The clock has come to something else: near work, nothing lies over the touch area. */
  clockMoved(now: Showing): void {
    if (now.phase === "gathering" || now.phase === "done") return;
    if (now.segment.kind !== "work" && kindShown(now) !== "lead-in") return;
    this.panel = null;
    this.draft = null;
  }

  /** Counts for somebody in a window; tells whether there was a tap in it. */
  tap(segment: SegmentIndex, counts: Counts, athlete = this.athlete): boolean {
    const { state } = this.follower;
    const stamp = this.follower.stamp();
    const now = deviceNow();
    const twice = counts.kind !== "amount" && now - this.hit < TWICE_WITHIN_US;
    if (state === null || athlete === null || twice || now - this.turned < TWICE_WITHIN_US) return false;
    if (stamp === null) {
      this.tell("This phone does not have the class time yet. Touch again in a moment.");
      return false;
    }
    this.hit = now;
    this.refused = "";
    const tap = { id: randomId(), athlete, segment, counts, heard: state.clock.revision, ...stamp };
    this.outbox.add(state.class, tap, this.follower.inDoubt()).catch(() => {
      this.tell("This phone could not store that tap. Keep the page open until it is kept.");
    });
    this.offer();
    navigator.vibrate?.(counts.kind === "finish" ? [25, 60, 25] : 15);
    this.changed();
    return true;
  }

  /** Touches count for somebody else from now on; null: for the own athlete. */
  turnTo(athlete: AthleteId | null): void {
    this.whom = athlete;
    setWhom(athlete);
    this.turned = deviceNow();
    this.draft = null;
    this.changed();
  }

  /** A touch that counts nothing; the touch area shows the reason already. */
  refuse(reason: string): void {
    this.refused = reason;
    navigator.vibrate?.([10, 60, 10]);
    this.changed();
  }

  undo(of: TapId, athlete = this.athlete): void {
    const { state } = this.follower;
    if (state === null || athlete === null) return;
    this.requests.undo(state.class, athlete, of);
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

  open(panel: Panel): void {
    this.panel = panel;
    this.changed();
  }

  /** A sentence for the athlete, for some seconds. */
  tell(text: string): void {
    this.notice = { text, until: deviceNow() + NOTICE_US };
    this.changed();
  }

  /** Takes the notice away when it has stood long enough, and says a count that has come to rest. */
  forgetNotice(now: number): void {
    if (this.spoken.rests(now)) this.changed();
    if (this.notice === null || now < this.notice.until) return;
    this.notice = null;
    this.changed();
  }

  /** Taps made just after a sleep get their time from the first exchange since. */
  private settled(): void {
    this.outbox.stampAnew((device) => this.follower.stamp(device)).catch(() => {});
    this.offer();
  }

  /** Sends the taps whose turn it is. */
  private offer(): void {
    const { state } = this.follower;
    if (state === null) return;
    this.outbox.offer(state.class, this.sent, deviceNow(), (tap) => this.follower.send({ type: "tap", tap }));
  }

  /** Sends each request once on a connection; an undo after its tap, for the house is to have what it takes back. */
  private sendRequests(): void {
    const { state } = this.follower;
    if (state === null) return;
    const waiting = new Set(this.waiting().map(({ id }) => id));
    for (const message of this.requests.of(state.class)) {
      if (this.sent.has(message.id) || (message.type === "undo" && waiting.has(message.of))) continue;
      if (this.follower.send(message)) this.sent.set(message.id, deviceNow());
    }
  }

  private heard(message: ToDevice): void {
    switch (message.type) {
      case "welcome":
        void this.outbox.offerAgain(message.generation);
        return;
      case "state":
        if (this.own !== null && this.own.athlete !== this.athlete) this.own = null;
        if (this.athlete !== null) setMe({ class: message.class, athlete: this.athlete });
        this.sent.clear();
        this.offer();
        this.sendRequests();
        return;
      case "own":
        this.ownCame(message);
        return;
      case "kept":
        this.kept(message);
        return;
      case "not-kept":
        if (!message.again) {
          this.outbox.letGo(message.tap).catch(() => {});
          this.tell(message.text);
        }
        return;
      case "answer": {
        const { to, type: _, ...outcome } = message;
        const request = this.requests.answered(to, outcome);
        if (request !== null && outcome.outcome === "refused") this.tell(outcome.text);
        else if (request !== null) this.doneSince.push(request);
        return;
      }
      case "error":
        this.tell(message.text);
    }
  }

  private ownCame(own: OwnView): void {
    const words = teamWords(this.own, own);
    const lost = this.whom !== null && !own.counts_for.some(({ athlete }) => athlete === this.whom);
    this.own = own;
    this.keptSince.clear();
    this.doneSince = [];
    if (words !== null) this.tell(words);
    if (lost) this.turnTo(null);
  }

  private kept(message: Extract<ToDevice, { type: "kept" }>): void {
    const generation = this.follower.welcome?.generation;
    if (generation === undefined) return;
    void this.outbox.keptBy(message, generation).catch(() => {});
    if (message.standing === "counted") this.keptSince.add(message.tap);
    const why = message.standing === "not-counted" ? this.whyNot(message.tap, message.why) : null;
    if (why !== null) this.tell(why);
    this.sendRequests();
  }

  /** Why a tap does not count; of a team mate's round, who has it. */
  private whyNot(tap: TapId, why: WhyNot): string | null {
    const known = this.known();
    const segment = known?.taps.find(({ id }) => id === tap)?.tap.segment;
    const by = known?.own?.windows.find((window) => window.segment === segment)?.last_by;
    if (why !== "team-mate" || known === null || by == null || by === this.athlete) return whyNot(why);
    return `${nameOf(known, by)} has that round: it counts once.`;
  }
}
