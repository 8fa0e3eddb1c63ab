import "fake-indexeddb/auto";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { count } from "../src/counting/count";
import { Phone } from "../src/phone/phone";
import { SECOND, showing } from "../src/shared/clock";
import { Outbox } from "../src/shared/outbox";
import type { FromDevice, Phase, ToDevice } from "../src/shared/wire";
import { FakeSocket, page, pageIsOver } from "./page";
import { AT, CLASS, ME, own, ownWindow, runs, state } from "./phone-make";

beforeEach(() => {
  page();
  const kept = new Map<string, string>();
  vi.stubGlobal("localStorage", {
    getItem: (key: string) => kept.get(key) ?? null,
    setItem: (key: string, value: string) => kept.set(key, value),
  });
  vi.stubGlobal("navigator", {});
});
afterEach(pageIsOver);

let databases = 0;
const fresh = () => `phone-${++databases}`;
const turnedAway = vi.fn();

async function phoneIn(database = fresh()): Promise<Phone> {
  const phone = new Phone(["ws://house"], await Outbox.open(database), () => {}, turnedAway);
  FakeSocket.last.opens();
  vi.advanceTimersByTime(1);
  return phone;
}

const says = (...messages: ToDevice[]) => {
  for (const message of messages) FakeSocket.last.says(message);
};
const sent = <T extends FromDevice["type"]>(type: T) =>
  FakeSocket.last.sent.filter(
    (message): message is Extract<FromDevice, { type: T }> => message.type === type,
  );
const tapIds = () => sent("tap").map(({ tap }) => tap.id);

/** The house lets the phone in to a class whose clock is so. */
function comesIn(phase: Phase = runs(AT.first)): void {
  says({ type: "sync", t0: 0, t1: 60_000_000, t2: 60_000_000 });
  says({
    type: "welcome",
    role: "athlete",
    athlete: ME,
    generation: "journal",
    house: "Quayside Hall",
    emergency: "112",
    places: true,
  });
  says({ type: "state", ...state(phase) }, { type: "own", ...own() });
}

/** Connects anew after the connection was lost. */
function comesBack(): void {
  vi.advanceTimersByTime(500);
  FakeSocket.last.opens();
  vi.advanceTimersByTime(1);
  comesIn();
}

const kept = (tap: string): ToDevice => ({ type: "kept", tap, standing: "counted", at: 0, mark: null });

function counted(phone: Phone) {
  const known = phone.known();
  if (known === null) throw new Error("there is no class");
  const told = known.own?.windows[0];
  const window = {
    segment: AT.first,
    scoring: { by: "rounds" },
    athlete: ME,
    me: ME,
    told,
    scheme: [],
  } as const;
  return count({ ...window, run: null }, known);
}

it("sends a tap at once, with the time it was made and the call that was heard", async () => {
  const phone = await phoneIn();
  comesIn();
  expect(phone.tap(AT.first, { kind: "round" })).toBe(true);
  const [message] = sent("tap");
  expect(message?.tap).toMatchObject({ athlete: ME, segment: AT.first, counts: { kind: "round" }, heard: 7 });
  expect(Math.abs((message?.tap.made_at ?? 0) - 60_000_000)).toBeLessThan(5_000);
  expect(counted(phone)).toMatchObject({ rounds: 1, waiting: 1 });
});

it("takes two touches within 400 ms for one", async () => {
  const phone = await phoneIn();
  comesIn();
  phone.tap(AT.first, { kind: "round" });
  vi.advanceTimersByTime(399);
  expect(phone.tap(AT.first, { kind: "round" })).toBe(false);
  vi.advanceTimersByTime(1);
  expect(phone.tap(AT.first, { kind: "round" })).toBe(true);
  expect(tapIds().length).toBe(2);
});

it("makes no tap before it has house time, and says so", async () => {
  const phone = await phoneIn();
  says({
    type: "welcome",
    role: "athlete",
    athlete: ME,
    generation: "journal",
    house: "",
    emergency: "",
    places: true,
  });
  says({ type: "state", ...state(runs(AT.first)) });
  expect(phone.tap(AT.first, { kind: "round" })).toBe(false);
  expect(phone.notice?.text).toContain("does not have the class time");
});

it("counts on while it is cut off, and sends what waits when it is back, oldest first", async () => {
  const phone = await phoneIn();
  comesIn();
  FakeSocket.last.breaks();
  for (const _ of [1, 2, 3]) {
    phone.tap(AT.first, { kind: "round" });
    vi.advanceTimersByTime(40);
    vi.advanceTimersByTime(400);
  }
  expect(counted(phone)).toMatchObject({ rounds: 3, waiting: 3 });
  const waiting = phone.waiting().map(({ id }) => id);
  comesBack();
  expect(tapIds()).toEqual(waiting);
  says(...waiting.map(kept));
  expect(counted(phone)).toMatchObject({ rounds: 3, waiting: 0 });
  says({ type: "own", ...own([ownWindow(AT.first, 3, { last_tap: waiting[2] ?? "" })]) });
  expect(counted(phone)).toMatchObject({ rounds: 3, waiting: 0 });
});

it("keeps taps over a reload of the page", async () => {
  const database = fresh();
  const before = await phoneIn(database);
  comesIn();
  FakeSocket.last.breaks();
  before.tap(AT.first, { kind: "round" });
  await vi.waitFor(async () => expect((await Outbox.open(database)).waiting(CLASS).length).toBe(1));
  await phoneIn(database);
  comesIn();
  expect(tapIds()).toEqual(before.waiting().map(({ id }) => id));
});

it("offers a tap again that the house could not take then, and lets go of one that it never will", async () => {
  const phone = await phoneIn();
  comesIn();
  phone.tap(AT.first, { kind: "round" });
  const [tap = ""] = tapIds();
  says({ type: "not-kept", tap, code: "limit", text: "Too many at once.", again: true });
  vi.advanceTimersByTime(8_000);
  expect(tapIds().length).toBeGreaterThan(1);
  says({
    type: "not-kept",
    tap,
    code: "not-yours",
    text: "This phone counts for its own athlete alone.",
    again: false,
  });
  expect(phone.waiting()).toEqual([]);
  expect(phone.notice?.text).toBe("This phone counts for its own athlete alone.");
});

it("says why a tap that was kept does not count", async () => {
  const phone = await phoneIn();
  comesIn();
  phone.tap(AT.first, { kind: "round" });
  const [tap = ""] = tapIds();
  says({ type: "kept", tap, standing: "not-counted", why: "held", marked: true });
  expect(phone.notice?.text).toContain("The clock was held then");
  expect(counted(phone)).toMatchObject({ rounds: 0, waiting: 0 });
});

it("takes a tap back at once on the screen, and at the house after the tap itself is kept", async () => {
  const phone = await phoneIn();
  comesIn();
  phone.tap(AT.first, { kind: "round" });
  const [tap = ""] = tapIds();
  phone.undo(tap);
  expect(counted(phone).rounds).toBe(0);
  expect(sent("undo")).toEqual([]);
  says(kept(tap));
  expect(sent("undo")).toMatchObject([{ athlete: ME, of: tap }]);
  says({ type: "answer", to: sent("undo")[0]?.id ?? "", outcome: "done" });
  expect(counted(phone).rounds).toBe(0);
});

it("counts a tap again whose undo was refused, and says why", async () => {
  const phone = await phoneIn();
  comesIn();
  phone.tap(AT.first, { kind: "round" });
  const [tap = ""] = tapIds();
  says(kept(tap));
  phone.undo(tap);
  says({
    type: "answer",
    to: sent("undo")[0]?.id ?? "",
    outcome: "refused",
    code: "closed",
    text: "The class is closed.",
  });
  expect(counted(phone).rounds).toBe(1);
  expect(phone.notice?.text).toBe("The class is closed.");
});

it("sends a request that waits again with the same id, once on a connection", async () => {
  const phone = await phoneIn();
  comesIn();
  const reached = { movement: 2, reps: 4 };
  phone.ask({ ask: "enter-extra", athlete: ME, segment: AT.first, reached });
  const [first] = sent("ask");
  says({ type: "own", ...own() }, kept("another"));
  expect(sent("ask").length).toBe(1);
  FakeSocket.last.breaks();
  comesBack();
  expect(sent("ask")).toEqual([first]);
  says({ type: "answer", to: first?.id ?? "", outcome: "done" });
  FakeSocket.last.breaks();
  comesBack();
  expect(sent("ask")).toEqual([]);
});

it("sends only the newest result of a window, and every question", async () => {
  const phone = await phoneIn();
  comesIn();
  FakeSocket.last.breaks();
  phone.ask({ ask: "enter-extra", athlete: ME, segment: AT.first, reached: { movement: 0, reps: 1 } });
  phone.ask({ ask: "question", text: "May I row?" });
  phone.ask({ ask: "question", text: "Where is the tap?" });
  phone.ask({
    ask: "set-tally",
    athlete: ME,
    segment: AT.first,
    tally: { kind: "rounds", rounds: 6, extra: 0 },
  });
  comesBack();
  expect(sent("ask").map(({ ask }) => ask)).toEqual(["question", "question", "set-tally"]);
});

it("shows a choice and a question before the house has answered it", async () => {
  const phone = await phoneIn();
  comesIn();
  const choice = { scaled: true, options: [{ block: 2, movement: 1, option: 0 }] };
  phone.ask({ ask: "choose", athlete: ME, choice });
  phone.ask({ ask: "question", text: "May I row?" });
  expect(phone.known()?.own).toMatchObject({ choice, questions: ["May I row?"] });
});

it("is turned away where two connections in a row come to nothing", async () => {
  turnedAway.mockClear();
  await phoneIn();
  FakeSocket.last.breaks();
  expect(turnedAway).not.toHaveBeenCalled();
  vi.advanceTimersByTime(500);
  FakeSocket.last.breaks();
  expect(turnedAway).toHaveBeenCalledTimes(1);
});

it("is not turned away where it was in and the network is gone", async () => {
  turnedAway.mockClear();
  await phoneIn();
  comesIn();
  for (let tries = 0; tries < 5; tries += 1) {
    FakeSocket.last.breaks();
    vi.advanceTimersByTime(5_000);
  }
  expect(turnedAway).not.toHaveBeenCalled();
});

it("remembers when work ended, by its bell or by a call", async () => {
  const phone = await phoneIn();
  comesIn();
  const notice = (phase: Phase, seconds: number) => {
    const { clock, segments } = state(phase);
    phone.noticeWork(showing(clock, segments, seconds * SECOND), seconds * SECOND);
  };
  notice(runs(AT.first), 239);
  notice(runs(AT.first), 241);
  expect(phone.known()?.lastWork).toMatchObject({ segment: AT.first, until: 240 * SECOND });
  notice(runs(AT.first), 150);
  notice(runs(AT.rest, 151), 151);
  notice(runs(AT.rest, 151), 240.5);
  expect(phone.known()?.lastWork).toMatchObject({ segment: AT.first, until: 150 * SECOND });
});

it("counts by ones as fast as a thumb can", async () => {
  const phone = await phoneIn();
  comesIn();
  for (let ones = 0; ones < 10; ones += 1) {
    expect(phone.tap(AT.first, { kind: "amount", amount: 1 })).toBe(true);
    vi.advanceTimersByTime(100);
  }
  expect(tapIds().length).toBe(10);
});

describe("a phone that counts for somebody else", () => {
  const BIRK = "b0000000-0000-4000-8000-000000000002";
  const counting = {
    ...own(),
    counts_for: [{ athlete: BIRK, name: "Birk", choice: { scaled: false, options: [] }, windows: [] }],
  };

  it("gives no touch to the other person within 400 ms of turning to them", async () => {
    const phone = await phoneIn();
    comesIn();
    says({ type: "own", ...counting });
    phone.turnTo(BIRK);
    vi.advanceTimersByTime(399);
    expect(phone.tap(AT.first, { kind: "amount", amount: 1 }, BIRK)).toBe(false);
    vi.advanceTimersByTime(1);
    expect(phone.tap(AT.first, { kind: "round" }, BIRK)).toBe(true);
    expect(sent("tap").map(({ tap }) => tap.athlete)).toEqual([BIRK]);
  });

  it("counts on for the same one after a reload", async () => {
    const phone = await phoneIn();
    comesIn();
    phone.turnTo(BIRK);
    expect((await phoneIn()).whom).toBe(BIRK);
  });

  it("turns back to its own athlete when the count is taken back", async () => {
    const phone = await phoneIn();
    comesIn();
    says({ type: "own", ...counting });
    phone.turnTo(BIRK);
    says({ type: "own", ...own() });
    expect(phone.whom).toBeNull();
  });

  it("takes a tap back for whom it was made", async () => {
    const phone = await phoneIn();
    comesIn();
    phone.tap(AT.first, { kind: "round" }, BIRK);
    const [tap = ""] = tapIds();
    says(kept(tap));
    phone.undo(tap, BIRK);
    expect(sent("undo")).toMatchObject([{ athlete: BIRK, of: tap }]);
  });

  it("keeps results of two people in one window apart", async () => {
    const phone = await phoneIn();
    comesIn();
    FakeSocket.last.breaks();
    const reached = { movement: 0, reps: 1 };
    for (const athlete of [ME, BIRK]) phone.ask({ ask: "enter-extra", athlete, segment: AT.first, reached });
    comesBack();
    expect(sent("ask").length).toBe(2);
  });
});

it("says which team mate has the round", async () => {
  const phone = await phoneIn();
  comesIn();
  const mate = { athlete: "b0000000-0000-4000-8000-000000000002", name: "Birk" };
  const window = ownWindow(AT.first, 4, { last_by: mate.athlete });
  phone.tap(AT.first, { kind: "round" });
  says({ type: "own", ...own([window]), team: [mate] });
  const [tap = ""] = tapIds();
  says({ type: "kept", tap, standing: "not-counted", why: "team-mate", marked: true });
  expect(phone.notice?.text).toBe("Birk has that round: it counts once.");
});

it("shows a count that was lent from the touch on, whether the answer or the own view comes first", async () => {
  const phone = await phoneIn();
  comesIn();
  const counter = { athlete: "b0000000-0000-4000-8000-000000000002", name: "Birk" };
  phone.ask({ ask: "let-count", athlete: ME, counter: counter.athlete });
  const by = () => phone.known()?.own?.counter?.athlete ?? null;
  expect(by()).toBe(counter.athlete);
  says({ type: "answer", to: sent("ask")[0]?.id ?? "", outcome: "done" });
  expect(by()).toBe(counter.athlete);
  says({ type: "own", ...own(), counter });
  expect(by()).toBe(counter.athlete);
  says({ type: "own", ...own() });
  expect(by()).toBeNull();
});
