/**
 * Requests other than taps that wait for their answer: undo, extra reps, choices, questions. They wait across
 * reloads and are sent again on every connection with the same id, for each may be carried out twice without harm.
 */
import { randomId } from "../shared/random";
import type { Ask, AthleteId, ClassId, FromDevice, Outcome, RequestId, TapId } from "../shared/wire";

type Message = Extract<FromDevice, { type: "ask" | "undo" }>;

interface Waiting {
  class: ClassId;
  message: Message;
}

const KEY = "floorbell.requests";
/** One class makes a dozen. Over this the oldest goes. */
const WAITING_MAX = 50;

export class Requests {
  private waiting: Waiting[];
  private readonly done = new Map<TapId, boolean>();

  /** @param key under which the browser keeps them: another for each page that has some */
  constructor(private readonly key = KEY) {
    this.waiting = load(key);
  }

  /** Takes in a request of the athlete; a newer one takes the place of one that says the same of the same. */
  ask(klass: ClassId, ask: Ask): Message {
    const message: Message = { type: "ask", id: randomId(), ...ask };
    this.waiting = this.waiting.filter((other) => other.class !== klass || !replaces(message, other.message));
    return this.add(klass, message);
  }

  undo(klass: ClassId, athlete: AthleteId, of: TapId): Message {
    return this.add(klass, { type: "undo", id: randomId(), athlete, of });
  }

  /** The server's answer: the request that it closes, where it was one of these. */
  answered(to: RequestId, outcome: Outcome): Message | null {
    const found = this.waiting.find(({ message }) => message.id === to);
    if (found === undefined) return null;
    this.waiting = this.waiting.filter((other) => other !== found);
    if (found.message.type === "undo" && outcome.outcome !== "refused") this.done.set(found.message.of, true);
    save(this.key, this.waiting);
    return found.message;
  }

  /** What waits of a class, oldest first. */
  of(klass: ClassId): Message[] {
    return this.waiting.filter((each) => each.class === klass).map(({ message }) => message);
  }

  /** What waits of all classes, oldest first. */
  all(): Message[] {
    return this.waiting.map(({ message }) => message);
  }

  /** Taps that were taken back here, and whether the server has said that it did so. */
  get undone(): ReadonlyMap<TapId, boolean> {
    const undone = new Map(this.done);
    for (const { message } of this.waiting) if (message.type === "undo") undone.set(message.of, false);
    return undone;
  }

  private add(klass: ClassId, message: Message): Message {
    this.waiting = [...this.waiting, { class: klass, message }].slice(-WAITING_MAX);
    save(this.key, this.waiting);
    return message;
  }
}

/** Whether one request makes an older one idle: the same thing asked of the same window or person. */
function replaces(newer: Message, older: Message): boolean {
  if (newer.type !== "ask" || older.type !== "ask") return false;
  if ("athlete" in newer && "athlete" in older && newer.athlete !== older.athlete) return false;
  const result = (ask: Ask) => ask.ask === "enter-extra" || ask.ask === "set-tally";
  if (result(newer) && result(older))
    return "segment" in newer && "segment" in older && newer.segment === older.segment;
  return newer.ask === older.ask && newer.ask !== "question";
}

function load(key: string): Waiting[] {
  try {
    return JSON.parse(localStorage.getItem(key) ?? "[]") as Waiting[];
  } catch {
    return [];
  }
}

function save(key: string, waiting: readonly Waiting[]): void {
  try {
    localStorage.setItem(key, JSON.stringify(waiting));
  } catch {
    // Where the browser keeps nothing they wait as long as the page.
  }
}
