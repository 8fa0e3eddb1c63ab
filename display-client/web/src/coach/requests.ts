/**
 * What this device has asked of the house. Each request has an id of its own and is sent again with it, once a
 * second and at once on a new connection, until the house has answered: so nothing is carried out twice and nothing
 * is lost on the way. Time, network and chance are handed in.
 *
 * A stop or a hold that has no answer within 500 ms is said to be undelivered (rule 1.8), and sent on.
 */
import type {
  Ask,
  AthleteId,
  Call,
  FromDevice,
  Outcome,
  RequestId,
  Revision,
  Seen,
  TapId,
  ToDevice,
} from "../shared/wire";
import { callWord } from "./words";

/** What the requests stand on. */
export interface Surroundings {
  /** Hands a message to the network; false where there is none. */
  send(message: FromDevice): boolean;
  /** Runs something once after so many milliseconds; returns what prevents it. */
  after(milliseconds: number, run: () => void): () => void;
  /** Milliseconds of a steady clock. */
  now(): number;
  newId(): RequestId;
  /** Something to be drawn has changed. */
  changed(): void;
}

/** What the coach is told, until they touch it away or it has stood for a while. */
export interface Notice {
  id: number;
  tone: "refused" | "undelivered";
  text: string;
  /** The request that is still on its way, which the coach may give up. */
  of: RequestId | null;
}

/** How a stop called on this device fares. */
export interface StopCall {
  id: RequestId;
  /** The clock's revision at which it was called. */
  seen: Revision;
  state: "sent" | "undelivered" | "delivered" | "not-yet-saved" | "refused";
  /** Why it was refused. */
  text: string;
}

interface Pending {
  message: FromDevice;
  /** What it is, for sentences. */
  what: string;
  call: Call["call"] | null;
  /** Whoever asked says themselves how it fares. */
  quiet: boolean;
  late: boolean;
  notice: number | null;
  cancel: () => void;
  answered: (outcome: Outcome) => void;
}

/** With no answer for so long, a stop or hold is said to be undelivered (rule 1.8); the rest somewhat later. */
export const URGENT_LATE_MS = 500;
export const LATE_MS = 2_000;
export const RESEND_MS = 1_000;
/**
 * A stop is sent so many times, so far apart: what follows a lost packet lets TCP send it again after a round trip, and
 * without that only after 200 ms or more. The house answers the first that comes.
 */
export const STOP_TIMES = 3;
export const STOP_GAP_MS = 10;
/** A second touch within this is the same touch, as on the phones (rule 3.6). */
export const SAME_TOUCH_MS = 400;
/** How long a refusal stands. */
export const NOTICE_MS = 8_000;
/** A coach has a few requests open at most; beyond this the network is gone and more would only pile up. */
const PENDING_MAX = 64;

const URGENT: readonly (Call["call"] | null)[] = ["stop", "hold"];

export class Requests {
  /** The last stop called here, until the clock has moved past it. */
  stop: StopCall | null = null;
  private readonly pending = new Map<RequestId, Pending>();
  private notices: Notice[] = [];
  private noticeCount = 0;
  private lastCallAt = Number.NEGATIVE_INFINITY;

  constructor(private readonly around: Surroundings) {}

  /** Calls; a second touch on the heels of the first does nothing, except a stop. */
  call(call: Call, seen: Seen): void {
    const now = this.around.now();
    if (call.call !== "stop" && now - this.lastCallAt < SAME_TOUCH_MS) return;
    this.lastCallAt = now;
    const id = this.around.newId();
    if (call.call === "stop") this.stop = { id, seen: seen.revision, state: "sent", text: "" };
    this.open(id, { type: "call", id, ...call, seen }, callWord(call), call.call);
  }

  takeBack(of: RequestId): void {
    const id = this.around.newId();
    this.open(id, { type: "take-back", id, of }, "take back", null);
  }

  /** Takes back a tap made for an athlete. */
  undo(athlete: AthleteId, of: TapId): void {
    const id = this.around.newId();
    this.open(id, { type: "undo", id, athlete, of }, "undo", null);
  }

  /**
   * Asks anything else; fulfilled with what became of it. `what` names it in a sentence. Of a `quiet` one the coach is
   * told nothing here: whoever asks shows it.
   */
  ask(ask: Ask, what: string, quiet = false): Promise<Outcome> {
    const id = this.around.newId();
    return new Promise((answered) => {
      this.open(id, { type: "ask", id, ...ask }, what, null, { answered, quiet });
    });
  }

  /** Takes in what the house says. */
  heard(message: ToDevice): void {
    if (message.type !== "answer") return;
    const pending = this.pending.get(message.to);
    if (pending === undefined) return;
    this.pending.delete(message.to);
    pending.cancel();
    if (pending.notice !== null) this.dismiss(pending.notice);
    if (message.outcome === "refused" && pending.call !== "stop" && !pending.quiet) {
      this.tell(`Not carried out: ${pending.what}. ${message.text}`);
    }
    if (message.to === this.stop?.id) {
      this.stop =
        message.outcome === "refused"
          ? { ...this.stop, state: "refused", text: message.text }
          : { ...this.stop, state: message.outcome === "done" ? "delivered" : "not-yet-saved" };
    }
    pending.answered(message);
    this.around.changed();
  }

  /** There is a connection again: everything unanswered goes out at once, in the order in which it was asked. */
  connected(): void {
    for (const { message } of this.pending.values()) this.around.send(message);
  }

  /** Forgets a stop called here once the class has gone on past it, or the coach has seen that it was refused. */
  forgetStop(): void {
    this.stop = null;
  }

  /** The calls that are on their way. */
  get calling(): readonly Call["call"][] {
    return [...this.pending.values()].flatMap(({ call }) => call ?? []);
  }

  get told(): readonly Notice[] {
    return this.notices;
  }

  /** Tells the coach something that went wrong, for a while. */
  tell(text: string): void {
    this.say("refused", text, NOTICE_MS);
  }

  /** No longer sends a request that has not come through. The house may have it all the same. */
  giveUp(of: RequestId): void {
    const pending = this.pending.get(of);
    if (pending === undefined || pending.call === "stop") return;
    this.pending.delete(of);
    pending.cancel();
    if (pending.notice !== null) this.dismiss(pending.notice);
    pending.answered({ outcome: "refused", code: "given-up", text: "Given up before the house answered." });
  }

  dismiss(notice: number): void {
    this.notices = this.notices.filter(({ id }) => id !== notice);
    this.around.changed();
  }

  private open(
    id: RequestId,
    message: FromDevice,
    what: string,
    call: Call["call"] | null,
    { answered, quiet }: Pick<Pending, "answered" | "quiet"> = { answered: () => {}, quiet: false },
  ): void {
    if (this.pending.size >= PENDING_MAX && call !== "stop") {
      const text = "Too much waits already; see to the network first.";
      if (!quiet) this.tell(`Not sent: ${what}. ${text}`);
      answered({ outcome: "refused", code: "too-much", text });
      return;
    }
    const on = { late: false, notice: null, cancel: () => {} };
    const pending: Pending = { message, what, call, quiet, answered, ...on };
    this.pending.set(id, pending);
    this.around.send(message);
    if (call === "stop") this.insist(id, message, STOP_TIMES - 1);
    const lateMs = URGENT.includes(call) ? URGENT_LATE_MS : LATE_MS;
    pending.cancel = this.around.after(lateMs, () => {
      this.runsLate(id, pending);
      this.again(pending);
    });
    this.around.changed();
  }

  private insist(id: RequestId, message: FromDevice, times: number): void {
    this.around.after(STOP_GAP_MS, () => {
      if (!this.pending.has(id)) return;
      this.around.send(message);
      if (times > 1) this.insist(id, message, times - 1);
    });
  }

  private again(pending: Pending): void {
    pending.cancel = this.around.after(RESEND_MS, () => {
      this.around.send(pending.message);
      this.again(pending);
    });
  }

  private runsLate(id: RequestId, pending: Pending): void {
    pending.late = true;
    if (id === this.stop?.id) {
      this.stop = { ...this.stop, state: "undelivered" };
      this.around.changed();
    } else if (!pending.quiet) {
      const voice = pending.call === "hold" ? " Use your voice." : "";
      pending.notice = this.say(
        "undelivered",
        `Not delivered yet: ${pending.what}.${voice} It is sent again until the house answers.`,
        null,
        id,
      );
    }
    this.around.send(pending.message);
  }

  private say(tone: Notice["tone"], text: string, forMs: number | null, of: RequestId | null = null): number {
    this.noticeCount += 1;
    const id = this.noticeCount;
    this.notices = [...this.notices, { id, tone, text, of }];
    if (forMs !== null) this.around.after(forMs, () => this.dismiss(id));
    this.around.changed();
    return id;
  }
}
