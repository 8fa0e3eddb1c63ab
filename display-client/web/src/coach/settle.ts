/**
 * Settling what is marked: one touch each. What was settled keeps its place until the list is opened anew, so that
 * nothing moves under a thumb on its way down, and can be settled the other way.
 */
import type { Ask, AthleteId, Outcome, TapId } from "../shared/wire";
import type { Item } from "./marks";

export type Decision = "counts" | "does-not" | "stands" | "elsewhere";

/** A line of the list. */
export interface Settled {
  item: Item;
  decision: Decision | null;
  /** Whether the house has not yet answered. */
  onTheWay: boolean;
}

export interface SettleSurroundings {
  ask(ask: Ask, what: string): Promise<Outcome>;
  refused(text: string): void;
  changed(): void;
}

/** So many are asked for at once: well under what one device may send. */
const AT_ONCE = 16;

export class Settling {
  private items = new Map<string, Item>();
  private readonly decisions = new Map<string, Decision>();
  /** What the house has not yet answered. */
  private readonly onTheWay = new Set<string>();

  constructor(private readonly around: SettleSurroundings) {}

  /** The list is opened: what was settled before leaves it. */
  open(): void {
    this.items.clear();
    this.decisions.clear();
  }

  /** What is marked now, and what was when the list was opened, each in its place. */
  list(marked: readonly Item[]): Settled[] {
    const now = new Map(marked.map((item) => [item.key, item]));
    for (const [key, item] of now) this.items.set(key, item);
    return [...this.items.values()].map((item) => {
      const decision = this.decisions.get(item.key) ?? null;
      const settled = decision ?? (now.has(item.key) ? null : "elsewhere");
      return { item, decision: settled, onTheWay: this.onTheWay.has(item.key) };
    });
  }

  /** The taps of an item count, or do not. */
  async taps({ key, athletes, segment, name }: Item, taps: readonly TapId[], counts: boolean): Promise<void> {
    this.decide(key, counts ? "counts" : "does-not");
    const what = `${taps.length === 1 ? "the tap" : "the taps"} of ${name}`;
    for (let at = 0; at < taps.length; at += AT_ONCE) {
      const answers = await Promise.all(
        taps.slice(at, at + AT_ONCE).map((tap) => this.one(athletes, segment, tap, counts, what)),
      );
      const refused = answers.find((answer) => answer.outcome === "refused");
      if (refused?.outcome === "refused") return this.undecide(key, refused.text);
    }
    this.answered(key);
  }

  /** A tap of a team is one of its members', and the mark does not say whose: they are asked for in turn. */
  private async one(
    athletes: readonly AthleteId[],
    segment: number,
    tap: TapId,
    counts: boolean,
    what: string,
  ): Promise<Outcome> {
    let answer: Outcome = { outcome: "refused", code: "gone", text: "They were taken out of the class." };
    for (const athlete of athletes) {
      answer = await this.around.ask({ ask: "settle", athlete, segment, settle: "tap", tap, counts }, what);
      if (answer.outcome !== "refused") break;
    }
    return answer;
  }

  /** The tally of an item stands as it is. */
  async stands({ key, athletes, segment, name }: Item): Promise<void> {
    const [athlete] = athletes;
    if (athlete === undefined) return;
    this.decide(key, "stands");
    const answer = await this.around.ask(
      { ask: "settle", athlete, segment, settle: "tally-stands" },
      `the tally of ${name}`,
    );
    if (answer.outcome === "refused") this.undecide(key, answer.text);
    else this.answered(key);
  }

  private decide(key: string, decision: Decision): void {
    this.decisions.set(key, decision);
    this.onTheWay.add(key);
    this.around.changed();
  }

  private undecide(key: string, text: string): void {
    this.decisions.delete(key);
    this.around.refused(`Not settled. ${text}`);
    this.answered(key);
  }

  private answered(key: string): void {
    this.onTheWay.delete(key);
    this.around.changed();
  }
}
