import "fake-indexeddb/auto";
import { expect, it } from "vitest";
import { Outbox, type Standing } from "../src/shared/outbox";
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
