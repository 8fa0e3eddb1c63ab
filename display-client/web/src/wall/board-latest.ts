/**
 * Who is shown beside the leaders while people work and there is no room for all: whoever has just scored. Steady
 * rather than frantic: each who comes in stands for some seconds, in one slot, however many score meanwhile; who has
 * waited takes the next slot that is free, the latest first. Times are house time.
 */
import { SECOND } from "../shared/clock";
import type { Group, Line } from "./board";

/** Time to find oneself, read the count, and look away (own choice). */
export const STANDS_US = 5 * SECOND;

interface Slot {
  key: string;
  /** When they came in, or scored again. */
  since: number;
  scoredAt: number;
}

export class Latest {
  /** Who stands in which slot; a slot falls empty when its holder comes to lead. */
  private slots: (Slot | null)[] = [];
  /** When a slot falls free for somebody who waits; infinite where nobody does. */
  due = Number.POSITIVE_INFINITY;

  /** The first of the group by place in half of the slots, and in the others whoever scored last. */
  choose(group: Group, slots: number, now: number): Line[] {
    const leaders = group.lines.slice(0, Math.min(group.placed, Math.ceil(slots / 2)));
    const others = new Map(group.lines.slice(leaders.length).map((line) => [line.key, line]));
    this.keep(others, slots - leaders.length, now);
    const standing = new Set(this.slots.map((slot) => slot?.key));
    const waiting = [...others.values()].filter(({ key }) => !standing.has(key)).sort(byLatest);
    this.fill(waiting, now);
    this.due = this.dueFor(waiting[0]);
    return [...leaders, ...this.slots.flatMap((slot) => others.get(slot?.key ?? "") ?? [])];
  }

  /** Lets go of who is no longer here or leads now. */
  private keep(others: ReadonlyMap<string, Line>, count: number, now: number): void {
    this.slots = Array.from({ length: count }, (_, index) => {
      const slot = this.slots[index];
      const line = slot ? others.get(slot.key) : undefined;
      if (!slot || line === undefined) return null;
      return { ...slot, since: line.scoredAt > slot.scoredAt ? now : slot.since, scoredAt: line.scoredAt };
    });
  }

  /** Takes from `waiting` who comes in now: into empty slots, and for whoever scored longest ago and has stood. */
  private fill(waiting: Line[], now: number): void {
    const free = [...this.slots.entries()]
      .filter(([, slot]) => slot === null || now - slot.since >= STANDS_US)
      .sort(([, a], [, b]) => (a?.scoredAt ?? -1) - (b?.scoredAt ?? -1));
    for (const [index, slot] of free) {
      const next = waiting[0];
      if (next === undefined || (slot !== null && next.scoredAt <= slot.scoredAt)) return;
      this.slots[index] = taken(next, now);
      waiting.shift();
    }
  }

  private dueFor(next: Line | undefined): number {
    const giving = this.slots.filter((slot) => slot !== null && slot.scoredAt < (next?.scoredAt ?? 0));
    return Math.min(Number.POSITIVE_INFINITY, ...giving.map((slot) => (slot?.since ?? 0) + STANDS_US));
  }
}

/** Who has not scored holds a slot for nobody. */
const taken = ({ key, scoredAt }: Line, now: number): Slot => ({
  key,
  scoredAt,
  since: scoredAt === 0 ? Number.NEGATIVE_INFINITY : now,
});

const byLatest = (a: Line, b: Line): number => b.scoredAt - a.scoredAt;
