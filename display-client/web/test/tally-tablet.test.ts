import "fake-indexeddb/auto";
import { afterEach, beforeEach, expect, it, vi } from "vitest";
import { SECOND, showing } from "../src/shared/clock";
import { Outbox } from "../src/shared/outbox";
import type { FromDevice, ToDevice } from "../src/shared/wire";
import { Tablet } from "../src/tally/tablet";
import { FakeSocket, page, pageIsOver } from "./page";
import { ANSA, AT, BIRK, line, runs, state, told } from "./tally-make";

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
const fresh = () => `tally-${++databases}`;
const notIn = vi.fn();

async function tabletIn(database = fresh()): Promise<Tablet> {
  const tablet = new Tablet(["ws://house"], await Outbox.open(database), () => {}, notIn);
  FakeSocket.last.opens();
  vi.advanceTimersByTime(1);
  return tablet;
}

const says = (...messages: ToDevice[]) => {
  for (const message of messages) FakeSocket.last.says(message);
};
const sent = <T extends FromDevice["type"]>(type: T) =>
  FakeSocket.last.sent.filter(
    (message): message is Extract<FromDevice, { type: T }> => message.type === type,
  );
const taps = () => sent("tap").map(({ tap }) => tap);

function welcome(accepted = true, generation = "journal"): ToDevice {
  const house = { house: "Quayside Hall", emergency: "112", places: true };
  return { type: "welcome", role: "tablet", accepted, number: 4, generation, ...house };
}

/** The house lets the tablet in to a class at work. */
function comesIn(): void {
  says({ type: "sync", t0: 0, t1: 60_000_000, t2: 60_000_000 }, welcome());
  says({ type: "state", ...state(runs(AT.tide)) }, { type: "tablet", lines: [line(ANSA), line(BIRK)] });
}

function comesBack(): void {
  FakeSocket.last.breaks();
  vi.advanceTimersByTime(500);
  FakeSocket.last.opens();
  vi.advanceTimersByTime(1);
  comesIn();
}

const kept = (tap: string): ToDevice => ({ type: "kept", tap, standing: "counted", at: 0, mark: null });
const ROUND = { kind: "round" } as const;

it("counts for each athlete by itself: two of one within 400 ms are one", async () => {
  const tablet = await tabletIn();
  comesIn();
  expect(tablet.tap(ANSA, AT.tide, ROUND)).toBe(true);
  expect(tablet.tap(BIRK, AT.tide, ROUND)).toBe(true);
  expect(tablet.tap(ANSA, AT.tide, ROUND)).toBe(false);
  vi.advanceTimersByTime(401);
  expect(tablet.tap(ANSA, AT.tide, ROUND)).toBe(true);
  expect(taps().map(({ athlete }) => athlete)).toEqual([ANSA, BIRK, ANSA]);
  expect(taps()[0]).toMatchObject({ segment: AT.tide, counts: ROUND, heard: 7 });
  expect(tablet.waiting()).toBe(3);
});

it("keeps taps over a reload and offers them until the house has them", async () => {
  const database = fresh();
  const before = await tabletIn(database);
  comesIn();
  FakeSocket.last.readyState = 3;
  before.tap(ANSA, AT.tide, ROUND);
  expect(taps()).toEqual([]);
  const tablet = await tabletIn(database);
  expect(tablet.waiting()).toBe(1);
  says(welcome(false));
  expect(taps(), "not before it is let in").toEqual([]);
  comesIn();
  const [tap] = taps();
  if (tap === undefined) throw new Error("it was not sent");
  comesBack();
  expect(taps().map(({ id }) => id)).toEqual([tap.id]);
  says(kept(tap.id));
  expect(tablet.waiting()).toBe(0);
});

it("brings in what it counted in a class that is over", async () => {
  const tablet = await tabletIn();
  comesIn();
  FakeSocket.last.readyState = 3;
  tablet.tap(ANSA, AT.tide, ROUND);
  FakeSocket.last.breaks();
  vi.advanceTimersByTime(500);
  FakeSocket.last.opens();
  says(welcome(), { type: "no-class", text: "No class is open." });
  expect(taps().map(({ athlete }) => athlete)).toEqual([ANSA]);
});

it("sends an undo after its tap is kept, for its athlete", async () => {
  const tablet = await tabletIn();
  comesIn();
  tablet.tap(BIRK, AT.tide, ROUND);
  const [tap] = taps();
  if (tap === undefined) throw new Error("it was not sent");
  tablet.undo(BIRK, tap.id);
  expect(sent("undo")).toEqual([]);
  says(kept(tap.id));
  expect(sent("undo")).toMatchObject([{ athlete: BIRK, of: tap.id }]);
});

it("a result of one does not take the place of another's", async () => {
  const tablet = await tabletIn();
  comesIn();
  FakeSocket.last.readyState = 3;
  const ask = (athlete: string, reps: number) =>
    tablet.ask({ ask: "enter-extra", athlete, segment: AT.tide, reached: { movement: 0, reps } });
  ask(ANSA, 1);
  ask(BIRK, 2);
  ask(ANSA, 3);
  expect(tablet.known()?.asked).toMatchObject([
    { athlete: BIRK, reached: { reps: 2 } },
    { athlete: ANSA, reached: { reps: 3 } },
  ]);
});

it("says whose tap was not kept, and lets go of it", async () => {
  const tablet = await tabletIn();
  comesIn();
  tablet.tap(ANSA, AT.tide, ROUND);
  const [tap] = taps();
  if (tap === undefined) throw new Error("it was not sent");
  says({
    type: "not-kept",
    tap: tap.id,
    code: "not-yours",
    text: "It does not count for them.",
    again: false,
  });
  expect(tablet.notice?.text).toBe("Ansa: It does not count for them.");
  expect(tablet.waiting()).toBe(0);
});

it("remembers the work that was under way until its bell, and closes what covers the next", async () => {
  const tablet = await tabletIn();
  comesIn();
  const look = (seconds: number) => {
    const { clock, segments } = state(runs(AT.tide));
    tablet.noticeWork(showing(clock, segments, seconds * SECOND), seconds * SECOND);
    return tablet.known()?.lastWork;
  };
  expect(look(100)).toMatchObject({ segment: AT.tide, until: null });
  tablet.open({ sheet: "more", athlete: ANSA, segment: AT.tide });
  expect(look(241)).toMatchObject({ segment: AT.tide, until: 240 * SECOND });
  expect(tablet.sheet).not.toBeNull();
  look(240 + 90 + 1);
  expect(tablet.sheet).toBeNull();
  expect(tablet.known()?.lastWork).toMatchObject({ segment: AT.again, until: null });
});

it("closes the sheet of somebody whom it does not count for any longer", async () => {
  const tablet = await tabletIn();
  comesIn();
  tablet.open({ sheet: "more", athlete: ANSA, segment: AT.tide });
  says({ type: "tablet", lines: [line(ANSA, [told(AT.tide)])] });
  expect(tablet.sheet).not.toBeNull();
  says({ type: "tablet", lines: [line(BIRK)] });
  expect(tablet.sheet).toBeNull();
});

it("asks to be let in where the house does not take the connection", async () => {
  notIn.mockClear();
  await tabletIn();
  FakeSocket.last.breaks();
  expect(notIn).toHaveBeenCalledOnce();
  vi.advanceTimersByTime(500);
  FakeSocket.last.opens();
  comesIn();
  FakeSocket.last.breaks();
  expect(notIn).toHaveBeenCalledOnce();
});
