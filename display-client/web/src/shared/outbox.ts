/**
 * Taps on their way (rules 3.1 and 3.2). Every tap is written to IndexedDB before it is sent, waits there across
 * reloads until the server says that it is safe on disk, and stays a week longer: when the server's journal turns
 * out to be of another generation (a backup was restored), they are offered again.
 *
 * Where the browser keeps nothing (some private windows), taps wait in memory, and `durable` says so.
 */
import { SECOND } from "./clock";
import type { Stamp } from "./follow";
import type { ClassId, Generation, Tap, TapId, ToDevice } from "./wire";

/** What a tap is worth, as the server said it. */
export type Standing = Extract<ToDevice, { type: "kept" }>;

export interface Entry {
  id: TapId;
  class: ClassId;
  tap: Tap;
  /** Null while it waits; else when (wall clock, ms) the server had it, in which journal, and what it is worth. */
  kept: { at: number; generation: Generation; standing: Standing } | null;
}

const STORE = "taps";
const WEEK_MS = 7 * 24 * 3600 * 1000;
/** A week of classes is some hundred taps. Over this the oldest kept ones go; those that wait never do. */
const KEPT_MAX = 5_000;
/** A tap that the server has not answered in so long is offered again. */
export const OFFER_AGAIN_US = 4 * SECOND;
/**
 * Taps on their way at once: well under what the server takes in a row, and answers before it gives a connection
 * up. In the time after which they are offered again it takes 80 more.
 */
export const ON_THE_WAY_MAX = 100;

export class Outbox {
  /** Taps whose stamp is in doubt, and when they were made in device time. Gone with a reload, which keeps the taps. */
  private readonly inDoubt = new Map<TapId, number>();

  private constructor(
    private readonly entries: Map<TapId, Entry>,
    private readonly database: IDBDatabase | null,
  ) {}

  static async open(name = "floorbell", wallNow = Date.now()): Promise<Outbox> {
    try {
      const database = await openDatabase(name);
      const all = await finished(
        database.transaction(STORE).objectStore(STORE).getAll() as IDBRequest<Entry[]>,
      );
      const outbox = new Outbox(new Map(all.map((entry) => [entry.id, entry])), database);
      await outbox.expire(wallNow);
      return outbox;
    } catch {
      return new Outbox(new Map(), null);
    }
  }

  /** Whether taps outlive a reload. */
  get durable(): boolean {
    return this.database !== null;
  }

  /**
   * Takes in a tap; the promise is fulfilled when it is on the device's disk.
   *
   * @param inDoubt device time at which it was made, where its stamp is in doubt: it is not `ready` until it was
   *   stamped anew
   */
  async add(klass: ClassId, tap: Tap, inDoubt: number | null = null): Promise<void> {
    if (inDoubt !== null) this.inDoubt.set(tap.id, inDoubt);
    await this.write({ id: tap.id, class: klass, tap, kept: null });
  }

  /** House time is certain again: stamps anew what was in doubt. Where `stamp` does not know, the old one stays. */
  async stampAnew(stamp: (device: number) => Stamp | null): Promise<void> {
    const doubted = [...this.inDoubt];
    this.inDoubt.clear();
    await Promise.all(
      doubted.map(([id, device]) => {
        const [entry, stamped] = [this.entries.get(id), stamp(device)];
        return entry === undefined || stamped === null
          ? undefined
          : this.write({ ...entry, tap: { ...entry.tap, ...stamped } });
      }),
    );
  }

  /** The waiting taps of a class, or by null of all, that may be sent now. */
  ready(klass: ClassId | null): Entry[] {
    return this.waiting(klass).filter(({ id }) => !this.inDoubt.has(id));
  }

  /** The taps of a class, or of all, that the server has not yet called safe, in the order in which they were made. */
  waiting(klass: ClassId | null): Entry[] {
    return this.of(klass).filter(({ kept }) => kept === null);
  }

  /**
   * Sends the taps of a class, or of all, whose turn it is: those never sent on this connection first, in the order
   * in which they were made, so that one which the server does not take yet holds up none behind it.
   *
   * @param sent when (device time) each was sent on this connection; what is sent now is noted in it
   */
  offer(klass: ClassId | null, sent: Map<TapId, number>, now: number, send: (tap: Tap) => boolean): void {
    const at = ({ id }: Entry) => sent.get(id) ?? Number.MIN_SAFE_INTEGER;
    const ready = this.ready(klass);
    const due = ready.filter((entry) => now - at(entry) >= OFFER_AGAIN_US).sort((a, b) => at(a) - at(b));
    for (const { id, tap } of due.slice(0, Math.max(0, ON_THE_WAY_MAX - (ready.length - due.length)))) {
      if (send(tap)) sent.set(id, now);
    }
  }

  /** Every tap of a class, or of all, that is still on the device, in the order in which they were made. */
  of(klass: ClassId | null): Entry[] {
    return [...this.entries.values()]
      .filter((entry) => klass === null || entry.class === klass)
      .sort((a, b) => a.tap.made_at - b.tap.made_at || (a.id < b.id ? -1 : 1));
  }

  get(id: TapId): Entry | undefined {
    return this.entries.get(id);
  }

  /** The server has the tap on disk, in the journal of that generation. */
  async keptBy(standing: Standing, generation: Generation, wallNow = Date.now()): Promise<void> {
    const entry = this.entries.get(standing.tap);
    if (entry !== undefined) await this.write({ ...entry, kept: { at: wallNow, generation, standing } });
  }

  /** The server will never take this tap: it waits no longer. */
  async letGo(id: TapId): Promise<void> {
    this.entries.delete(id);
    await this.change((store) => store.delete(id));
  }

  /** The server's journal is of this generation: what another one kept waits again. */
  async offerAgain(generation: Generation): Promise<void> {
    const lost = [...this.entries.values()].filter(
      ({ kept }) => kept !== null && kept.generation !== generation,
    );
    await Promise.all(lost.map((entry) => this.write({ ...entry, kept: null })));
  }

  private async expire(wallNow: number): Promise<void> {
    const kept = [...this.entries.values()]
      .filter((entry) => entry.kept !== null)
      .sort((a, b) => (b.kept?.at ?? 0) - (a.kept?.at ?? 0));
    const old = kept.filter((entry, rank) => rank >= KEPT_MAX || wallNow - (entry.kept?.at ?? 0) > WEEK_MS);
    for (const { id } of old) this.entries.delete(id);
    await this.change((store) => {
      for (const { id } of old) store.delete(id);
    });
  }

  private async write(entry: Entry): Promise<void> {
    this.entries.set(entry.id, entry);
    await this.change((store) => store.put(entry));
  }

  private async change(make: (store: IDBObjectStore) => void): Promise<void> {
    if (this.database === null) return;
    const transaction = this.database.transaction(STORE, "readwrite", { durability: "strict" });
    make(transaction.objectStore(STORE));
    await new Promise<void>((fulfil, reject) => {
      transaction.oncomplete = () => fulfil();
      transaction.onabort = () => reject(transaction.error);
    });
  }
}

function openDatabase(name: string): Promise<IDBDatabase> {
  const request = indexedDB.open(name, 1);
  request.onupgradeneeded = () => request.result.createObjectStore(STORE, { keyPath: "id" });
  return finished(request);
}

function finished<T>(request: IDBRequest<T>): Promise<T> {
  return new Promise((fulfil, reject) => {
    request.onsuccess = () => fulfil(request.result);
    request.onerror = () => reject(request.error);
  });
}
