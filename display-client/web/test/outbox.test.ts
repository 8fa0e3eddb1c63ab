import "fake-indexeddb/auto";
import { expect, it } from "vitest";
import { Outbox, type Standing } from "../src/shared/outbox";
import type { Tap } from "../src/shared/wire";

const DAY = 24 * 3600 * 1000;
let databases = 0;
const fresh = () => `outbox-${++databases}`;

function tap(id: string, made_at: number): Tap {
  return { id, athlete: "a", segment: 0, counts: "round", made_at, bound: 10, heard: 1 };
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

it("forgets kept taps after a week, and waiting ones never", async () => {
  const name = fresh();
  const outbox = await Outbox.open(name, 0);
  await outbox.add("class", tap("kept", 10));
  await outbox.add("class", tap("waiting", 20));
  await outbox.keptBy(counted("kept"), "journal", 0);
  expect(ids((await Outbox.open(name, 6 * DAY)).of("class"))).toEqual(["kept", "waiting"]);
  expect(ids((await Outbox.open(name, 8 * DAY)).of("class"))).toEqual(["waiting"]);
});
