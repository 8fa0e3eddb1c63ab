/**
 * Counts that the coach makes for somebody. They are taps like any other: kept on this device until
 * the house has them on disk, and sent again until then (rule 3.1).
 */
import type { Stamp } from "../shared/follow";
import { ON_THE_WAY_MAX, type Outbox } from "../shared/outbox";
import type {
  AthleteId,
  Counts,
  FromDevice,
  Revision,
  SegmentIndex,
  Tap,
  TapId,
  ToDevice,
} from "../shared/wire";

export interface CountingSurroundings {
  send(message: FromDevice): boolean;
  stamp(device?: number): Stamp | null;
  /** The present device time where stamps are in doubt, as after a sleep; else null. */
  inDoubt(): number | null;
  newId(): TapId;
  /** Something is to be said to the coach. */
  refused(text: string): void;
  changed(): void;
}

export class Counting {
  private klass: string | null = null;
  private generation: string | null = null;
  /** What was taken back here, so that a second touch takes back the tap before it. */
  private readonly undone = new Set<TapId>();

  constructor(
    private readonly outbox: Outbox,
    private readonly around: CountingSurroundings,
  ) {}

  /** Taps that wait on this device. */
  get waiting(): number {
    return this.onTheWay().length;
  }

  /** Taps for an athlete that the house does not have yet. */
  waitingFor(athlete: AthleteId, segment: SegmentIndex): number {
    return this.onTheWay().filter((tap) => tap.athlete === athlete && tap.segment === segment).length;
  }

  /**
   * The tap that undo takes back: the last one that is still on its way, else the last that the house has told of.
   * None until the house has told what came of an undo.
   */
  undoable(athlete: AthleteId, segment: SegmentIndex, told: TapId | null): TapId | null {
    const mine = this.onTheWay().filter((tap) => tap.athlete === athlete && tap.segment === segment);
    const last = mine.findLast(({ id }) => !this.undone.has(id))?.id ?? told;
    return last !== null && this.undone.has(last) ? null : last;
  }

  /** Marks a tap as taken back. */
  takeBack(tap: TapId): void {
    this.undone.add(tap);
  }

  /** Counts something for an athlete, made now. */
  count(athlete: AthleteId, segment: SegmentIndex, counts: Counts, heard: Revision): void {
    const stamp = this.around.stamp();
    if (this.klass === null || stamp === null) return;
    const tap = {
      id: this.around.newId(),
      athlete,
      segment,
      counts,
      ...stamp,
      heard,
    };
    const inDoubt = this.around.inDoubt();
    void this.outbox.add(this.klass, tap, inDoubt);
    if (inDoubt === null) this.around.send({ type: "tap", tap });
    this.around.changed();
  }

  /** House time is certain again: counts made just after a sleep get their time from it. */
  settled(): void {
    void this.outbox.stampAnew((device) => this.around.stamp(device));
    this.sendWaiting();
  }

  heard(message: ToDevice): void {
    switch (message.type) {
      case "welcome":
        this.generation = message.generation;
        void this.outbox.offerAgain(message.generation);
        break;
      case "state":
        this.klass = message.class;
        this.sendWaiting();
        break;
      case "kept":
        if (this.generation !== null) void this.outbox.keptBy(message, this.generation);
        break;
      case "not-kept":
        if (!message.again) void this.outbox.letGo(message.tap);
        this.around.refused(message.text);
        break;
    }
  }

  /** Sends what may go, the oldest first and so much at once; called on a new connection and every few seconds. */
  sendWaiting(): void {
    const ready = this.klass === null ? [] : this.outbox.ready(this.klass);
    for (const { tap } of ready.slice(0, ON_THE_WAY_MAX)) this.around.send({ type: "tap", tap });
  }

  private onTheWay(): Tap[] {
    return this.klass === null ? [] : this.outbox.waiting(this.klass).map(({ tap }) => tap);
  }
}
