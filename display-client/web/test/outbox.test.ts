import "fake-indexeddb/auto";
import { expect, it } from "vitest";
import { OFFER_AGAIN_US, Outbox, type Standing } from "../src/shared/outbox";
import type { Tap } from "../src/shared/wire";

const DAY = 24 * 3600 * 1000;
let databases = 0;
const fresh = () => `outbox-${++databases}`;

function tap(id: string, made_at: number): Tap {
  return { id, athlete: "a", segment: 0, counts: { kind: "round" }, made_at, bound: 10, heard: 1 };
}
const counted = (tap: string): Standing => ({ type: "kept", tap, standing: "counted", at: 5, mark: null });
const ids = (entries: { id: string }[]) => entries.map(({ id }) => id);

it("keeps taps across a reload, in the order in which they were made", async () => {
  const name = fresh();
  const outbox = await Outbox.open(name);
  await outbox.add("class", tap("second", 20));
  await outbox.add("class", tap("first", 10));
  await outbox.add("other", tap("elsewhere", 5));
  const reloaded = await Outbox.open(name);
  expect(reloaded.durable).toBe(true);
  expect(ids(reloaded.waiting("class"))).toEqual(["first", "second"]);
});

it("lets go of a tap only when the server has it, and remembers it", async () => {
  const name = fresh();
  const outbox = await Outbox.open(name);
  await outbox.add("class", tap("one", 10));
  await outbox.add("class", tap("two", 20));
  await outbox.keptBy(counted("one"), "journal");
  const reloaded = await Outbox.open(name);
  expect(ids(reloaded.waiting("class"))).toEqual(["two"]);
  expect(ids(reloaded.of("class"))).toEqual(["one", "two"]);
});

it("offers kept taps again to a journal that came from a backup", async () => {
  const outbox = await Outbox.open(fresh());
  await outbox.add("class", tap("one", 10));
  await outbox.keptBy(counted("one"), "journal");
  await outbox.offerAgain("journal");
  expect(outbox.waiting("class")).toEqual([]);
  await outbox.offerAgain("restored");
  expect(ids(outbox.waiting("class"))).toEqual(["one"]);
});

it("keeps a tap whose time is in doubt at once, and stamps it anew when that is known", async () => {
  const name = fresh();
  const outbox = await Outbox.open(name);
  await outbox.add("class", tap("doubted", 10), 500);
  await outbox.add("class", tap("before another sleep", 20), 400);
  await outbox.add("class", tap("sure", 30));
  expect(ids(outbox.ready("class"))).toEqual(["sure"]);
  expect(ids((await Outbox.open(name)).ready("class"))).toEqual(["doubted", "before another sleep", "sure"]);
  await outbox.stampAnew((device) => (device === 500 ? { made_at: 25, bound: 1 } : null));
  const made = ({ tap: { id, made_at, bound } }: { tap: Tap }) => [id, made_at, bound];
  const wanted = [
    ["before another sleep", 20, 10],
    ["doubted", 25, 1],
    ["sure", 30, 10],
  ];
  expect(outbox.ready("class").map(made)).toEqual(wanted);
  expect((await Outbox.open(name)).ready("class").map(made)).toEqual(wanted);
});

it("forgets kept taps after a week, and waiting ones never", async () => {
  const name = fresh();
  const outbox = await Outbox.open(name, 0);
  await outbox.add("class", tap("kept", 10));
  await outbox.add("class", tap("waiting", 20));
  await outbox.keptBy(counted("kept"), "journal", 0);
  expect(ids((await Outbox.open(name, 6 * DAY)).of("class"))).toEqual(["kept", "waiting"]);
  expect(ids((await Outbox.open(name, 8 * DAY)).of("class"))).toEqual(["waiting"]);
});

it("has so many on the way at once, and sends the rest as they are answered", async () => {
  const outbox = await Outbox.open(fresh());
  for (let at = 0; at < 700; at++) await outbox.add("class", tap(`${at}`, at));
  const [sent, went] = [new Map<string, number>(), new Set<string>()];
  let lot: string[] = [];
  const offer = (now: number) => {
    lot = [];
    outbox.offer("class", sent, now, ({ id }) => Boolean(lot.push(id)));
    for (const id of lot) went.add(id);
    return lot.length;
  };
  expect(offer(0)).toBe(100);
  expect(lot).toEqual([...Array(100).keys()].map(String));
  const answered = lot.slice(0, 30);
  expect(offer(1)).toBe(0);
  await Promise.all(answered.map((id) => outbox.keptBy(counted(id), "journal")));
  expect(offer(2)).toBe(30);
  expect(lot[0]).toBe("100");
  // None of the others is answered, and still each gets its turn before any is sent again.
  for (let turn = 1; went.size < 700; turn++) {
    const before = went.size;
    expect(offer(2 + turn * OFFER_AGAIN_US)).toBe(100);
    expect(went.size).toBe(Math.min(700, before + 100));
  }
  expect(offer(100 * OFFER_AGAIN_US)).toBe(100);
  expect(lot[0]).toBe("60");
});

it("offers again what could not be sent", async () => {
  const outbox = await Outbox.open(fresh());
  await outbox.add("class", tap("one", 10));
  const sent = new Map<string, number>();
  outbox.offer("class", sent, 0, () => false);
  expect(sent.size).toBe(0);
  outbox.offer("class", sent, 1, () => true);
  expect([...sent]).toEqual([["one", 1]]);
});
