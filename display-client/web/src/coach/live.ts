/**
 * The page while a class is open: what is heard and asked, what of it is shown, and the frame loop. The panels draw
 * from this and call back into it; nothing here draws.
 */
import { isStanding, SECOND, type Showing, showing } from "../shared/clock";
import { deviceNow } from "../shared/device";
import { Face } from "../shared/face";
import type { Follower } from "../shared/follow";
import type { Outbox } from "../shared/outbox";
import { randomId } from "../shared/random";
import type {
  Ask,
  AthleteId,
  BlockIndex,
  Call,
  CoachView,
  HouseTime,
  Outcome,
  Person,
  RequestId,
  SegmentIndex,
  State,
  TapId,
  ToDevice,
} from "../shared/wire";
import { type CallsNow, callsNow, keyOffer, NO_CALLS } from "./calls";
import { Counting } from "./counting";
import type { Problem } from "./entry";
import type { Order } from "./floor";
import type { Change } from "./history-panel";
import { Requests } from "./requests";
import { RollCall, type RollSurroundings } from "./roll";
import type { Settings } from "./settings";
import { Settling } from "./settle";
import { Calm } from "./stands-out";
import { teamSize } from "./teams";

export type Tab = "now" | "floor" | "plan" | "house";

/** What lies over the tab, if anything. STOP stays in reach beside it. */
export type Over =
  | { over: "calls" }
  | PersonOver
  | { over: "add"; problem: string }
  | { over: "link"; name: string; link: string }
  | { over: "block"; block: BlockIndex }
  | { over: "settle" }
  | {
      over: "history";
      segment: SegmentIndex;
      name: string;
      /** Null until they were fetched. */
      changes: Change[] | null;
      problem: string;
      /** What it was opened from. */
      before: Over | null;
    }
  | { over: "roll" }
  | { over: "teams"; moving: AthleteId | null }
  | { over: "tablet"; number: number; chosen: readonly AthleteId[] }
  | { over: "stands-out" }
  | { over: "close" }
  | { over: "help" };

export interface PersonOver {
  over: "person";
  athlete: AthleteId;
  window: SegmentIndex | null;
  /** What is wrong in a field of an entry. */
  problem: (Problem & { entry: string }) | null;
  removing: boolean;
}

const NO_VIEW: CoachView = {
  take_back: null,
  people: [],
  questions: [],
  readings: [],
  walls_waiting: [],
  tablets_waiting: [],
  devices: [],
  warnings: [],
};

/** Taps that were not answered are sent again this often. */
const RESEND_TAPS_MS = 3_000;

/** What says how long ago something was, or how far the class is over its slot, is said anew this often. */
const SAY_ANEW_MS = 1_000;

/** As long as most calls can be taken back; those that can be for longer are then found among all calls. */
const TAKE_BACK_SHOWN = 10 * SECOND;

/** Everything that the panels draw from, at one instant. */
export interface Shown {
  live: Live;
  state: State;
  view: CoachView;
  showing: Showing;
  at: HouseTime;
  calls: CallsNow;
}

export class Live {
  tab: Tab = "now";
  over: Over | null = null;
  order: Order = "name";
  /** Whether the coach has put the stop notice aside on this device, to look at the class. */
  stopAside = false;
  /** Whether the coach looks at a class that is closed, rather than at the sheets for the next one. */
  lookBack = false;
  /** The digits of the class clock: the one thing that the frame loop writes. */
  readonly face = new Face();
  readonly requests: Requests;
  readonly counting: Counting;
  readonly settling: Settling;
  readonly calm = new Calm();
  /** The roll that is called, or was last. */
  roll: RollCall | null = null;
  private view: CoachView = NO_VIEW;
  /** Since when (device time) this device knows of the call that can be taken back. */
  private takeBack: { id: RequestId; since: number } | null = null;
  private faceOf: Pick<State, "clock" | "segments"> | null = null;

  constructor(
    readonly follower: Follower,
    readonly settings: Settings,
    outbox: Outbox,
    readonly changed: () => void,
  ) {
    const send = follower.send.bind(follower);
    this.requests = new Requests({
      send,
      after(milliseconds, run) {
        const timer = setTimeout(run, milliseconds);
        return () => clearTimeout(timer);
      },
      now: () => performance.now(),
      newId: randomId,
      changed,
    });
    this.counting = new Counting(outbox, {
      send,
      stamp: (device) => follower.stamp(device),
      inDoubt: () => follower.inDoubt(),
      newId: randomId,
      refused: (text) => this.requests.tell(`Not counted: ${text}`),
      changed,
    });
    this.settling = new Settling({
      ask: (ask, what) => this.requests.ask(ask, what, true),
      refused: (text) => this.requests.tell(text),
      changed,
    });
    setInterval(() => this.counting.sendWaiting(), RESEND_TAPS_MS);
    setInterval(changed, SAY_ANEW_MS);
  }

  /** Takes in what the house says, after the follower has merged it. */
  heard(message: ToDevice): void {
    this.requests.heard(message);
    this.counting.heard(message);
    if (message.type === "coach") this.viewed(message);
    if (message.type === "welcome") this.requests.connected();
    const clock = this.follower.state?.clock;
    if (clock === undefined) {
      this.over = null;
      this.roll = null;
      this.tab = "now";
      return;
    }
    if (!clock.stopped) this.stopAside = false;
    if (this.follower.state?.closed === false) this.lookBack = false;
    const { stop } = this.requests;
    const settled = stop?.state === "delivered" || stop?.state === "not-yet-saved";
    if (settled && clock.revision > stop.seen) this.requests.forgetStop();
  }

  private viewed(view: CoachView): void {
    this.view = view;
    const id = view.take_back?.id;
    if (id !== this.takeBack?.id) this.takeBack = id === undefined ? null : { id, since: deviceNow() };
  }

  /** Whether the last call is fresh enough for its taking back to lie over the content. */
  get justCalled(): boolean {
    const open = this.follower.state?.closed === false;
    return open && this.takeBack !== null && deviceNow() - this.takeBack.since < TAKE_BACK_SHOWN;
  }

  /** What is to be shown now; null until there is a class and the house's time. */
  shown(): Shown | null {
    const { state } = this.follower;
    const device = deviceNow();
    const at = this.follower.houseTime(device);
    const showing = this.follower.showing(device);
    if (state === null || at === null || showing === null) return null;
    const calls = state.closed
      ? NO_CALLS
      : callsNow(showing, state.segments, state.session, state.clock.stopped);
    return { live: this, state, view: this.view, showing, at, calls };
  }

  /** Whether the stop notice is to stand on this device. */
  get stopped(): boolean {
    return this.requests.stop !== null || (this.follower.state?.clock.stopped ?? false);
  }

  /** Puts the notice aside on this device, to look at the class, or back. */
  putStopAside(aside: boolean): void {
    this.stopAside = aside;
    this.changed();
  }

  /** Turns to a closed class, for its results, or away from it. */
  turnBack(lookBack: boolean): void {
    this.lookBack = lookBack;
    this.show("floor");
  }

  /** The coach has read why a stop was refused. */
  forgetStop(): void {
    this.requests.forgetStop();
    this.changed();
  }

  /** Writes the digits of a frame; says that more has changed when the clock has moved on. */
  frame(aim: number): void {
    const { state } = this.follower;
    const at = this.follower.houseTime(aim);
    if (state === null || at === null) return;
    const same = state.clock === this.faceOf?.clock && state.segments === this.faceOf.segments;
    if (!same || this.face.isStale(at)) {
      this.faceOf = state;
      const now = showing(state.clock, state.segments, at);
      if (isStanding(now)) this.face.show(now, at);
      else this.face.clear();
      this.changed();
    }
    this.face.frame(at);
  }

  /** Calls, naming what the coach is looking at. */
  call(call: Call): void {
    const { state } = this.follower;
    const showing = this.follower.showing(deviceNow());
    if (state === null) return;
    const segment = showing !== null && "index" in showing ? showing.index : null;
    if (call.call === "stop") this.stopAside = false;
    this.requests.call(call, { segment, revision: state.clock.revision });
    this.over = this.over?.over === "calls" ? null : this.over;
    this.changed();
  }

  /** A key or a pedal. Returns whether it called anything. */
  key(key: "onward" | "hold"): boolean {
    const shown = this.shown();
    const offer = shown === null ? null : keyOffer(key, shown.calls, this.stopped);
    if (offer !== null) this.call(offer.call);
    return offer !== null;
  }

  ask(ask: Ask, what: string): Promise<Outcome> {
    return this.requests.ask(ask, what);
  }

  show(tab: Tab): void {
    if (this.follower.state?.clock.stopped) this.stopAside = true;
    this.tab = tab;
    this.over = null;
    this.changed();
  }

  lay(over: Over | null): void {
    this.over = over;
    this.changed();
  }

  /**
   * Takes back a tap that was made for somebody. In a team it may be any member's, so it is taken back for all: the
   * one whose tap it is has it.
   */
  undo(person: Person, segment: SegmentIndex, tap: TapId): void {
    const { state } = this.follower;
    const shared = state !== null && teamSize(state.session, state.segments[segment]?.block) > 1;
    const { team } = person;
    const mates =
      shared && team !== null ? this.view.people.filter((other) => other.team === team) : [person];
    this.counting.takeBack(tap);
    for (const { athlete } of mates) this.requests.undo(athlete, tap);
  }

  /** Opens somebody. */
  layPerson(athlete: AthleteId): void {
    this.lay({ over: "person", athlete, window: null, problem: null, removing: false });
  }

  /** Calls the roll for a window; or for one person alone, and then goes on with `then`. */
  callRoll(segment: SegmentIndex, only: AthleteId | null = null, then: (() => void) | null = null): void {
    const same = this.roll?.segment === segment && this.roll.only === null && only === null;
    if (same) this.roll?.again();
    else this.roll = new RollCall(segment, this.rollSurroundings(), only, then);
    this.lay({ over: "roll" });
  }

  private rollSurroundings(): RollSurroundings {
    return {
      changed: this.changed,
      send: async (athlete, segment, tally, name) => {
        const ask = { ask: "set-tally", athlete, segment, tally } as const;
        const outcome = await this.requests.ask(ask, `the tally of ${name}`, true);
        // The roll itself says so, while it is open.
        if (outcome.outcome === "refused" && this.over?.over !== "roll")
          this.requests.tell(`Not carried out: the tally of ${name}. ${outcome.text}`);
        return outcome;
      },
    };
  }
}
