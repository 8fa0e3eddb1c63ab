import "fake-indexeddb/auto";
import { describe, expect, test } from "vitest";
import { Counting } from "../src/coach/counting";
import { Outbox } from "../src/shared/outbox";
import type { FromDevice, State, ToDevice } from "../src/shared/wire";
import { clockOf, SEGMENTS, SESSION } from "./coach-make";

const WELCOME: ToDevice = {
  type: "welcome",
  role: "coach",
  generation: "g1",
  house: "",
  emergency: "",
  places: true,
};
const STATE: State = {
  number: 1,
  class: "tuesday",
  session: SESSION,
  scoring: [],
  join: null,
  clock: clockOf({ phase: "gathering" }),
  segments: [...SEGMENTS],
  swaps: [],
  started: null,
  closed: false,
  rows: [],
};

const ROUND = { kind: "round" } as const;

let opened = 0;

async function counting() {
  opened += 1;
  const outbox = await Outbox.open(`counting ${opened}`);
  const sent: FromDevice[] = [];
  const refused: string[] = [];
  let ids = 0;
  let doubt: number | null = null;
  const counting = new Counting(outbox, {
    send: (message) => sent.push(message) > 0,
    stamp: (device) => (device === undefined ? { made_at: 5_000, bound: 7 } : { made_at: 6_000, bound: 2 }),
    inDoubt: () => doubt,
    newId: () => {
      ids += 1;
      return `t${ids}`;
    },
    refused: (text) => refused.push(text),
    changed: () => {},
  });
  counting.heard(WELCOME);
  counting.heard({ type: "state", ...STATE });
  const inDoubt = (since: number | null) => {
    doubt = since;
  };
  return { counting, outbox, sent, refused, inDoubt };
}

const TAP = {
  id: "t1",
  athlete: "ada",
  segment: 2,
  counts: { kind: "round" },
  made_at: 5_000,
  bound: 7,
  heard: 3,
};

describe("a count for somebody", () => {
  test("is a tap stamped with house time, sent at once", async () => {
    const { counting: made, sent } = await counting();
    made.count("ada", 2, ROUND, 3);
    expect(sent).toEqual([{ type: "tap", tap: TAP }]);
    expect([made.waiting, made.waitingFor("ada", 2), made.waitingFor("ada", 4)]).toEqual([1, 1, 0]);
  });

  test("is sent again until the house has it on disk", async () => {
    const { counting: made, sent } = await counting();
    made.count("ada", 2, ROUND, 3);
    made.sendWaiting();
    made.heard({ type: "state", ...STATE });
    expect(sent).toEqual([TAP, TAP, TAP].map((tap) => ({ type: "tap", tap })));
    made.heard({ type: "kept", tap: "t1", standing: "counted", at: 1, mark: null });
    made.sendWaiting();
    expect(sent).toHaveLength(3);
    expect(made.waiting).toBe(0);
  });

  test("is not sent again when the house does not want it, and the coach is told why", async () => {
    const { counting: made, sent, refused } = await counting();
    made.count("ada", 2, ROUND, 3);
    const text = "Nobody of that name is in the class: join it first.";
    made.heard({ type: "not-kept", tap: "t1", code: "no-such-athlete", text, again: false });
    made.sendWaiting();
    expect(sent).toHaveLength(1);
    expect(refused).toEqual([text]);
    expect(made.waiting).toBe(0);
  });

  test("waits for the next try when the house asks for that", async () => {
    const { counting: made, sent } = await counting();
    made.count("ada", 2, ROUND, 3);
    made.heard({ type: "not-kept", tap: "t1", code: "disk", text: "The disk refuses.", again: true });
    made.sendWaiting();
    expect(sent).toHaveLength(2);
  });

  test("made just after a sleep waits for its time, and is sent with that", async () => {
    const { counting: made, sent, inDoubt } = await counting();
    inDoubt(100);
    made.count("ada", 2, ROUND, 3);
    made.sendWaiting();
    expect([made.waiting, sent]).toEqual([1, []]);
    inDoubt(null);
    made.settled();
    expect(sent).toEqual([{ type: "tap", tap: { ...TAP, made_at: 6_000, bound: 2 } }]);
  });

  test("is not made before there is a class", async () => {
    const { counting: made, sent } = await counting();
    const outside = new Counting(await Outbox.open("outside"), {
      send: (message) => sent.push(message) > 0,
      stamp: () => ({ made_at: 1, bound: 1 }),
      inDoubt: () => null,
      newId: () => "t9",
      refused: () => {},
      changed: () => {},
    });
    outside.count("ada", 2, ROUND, 3);
    expect(sent).toEqual([]);
    expect(made.waiting).toBe(0);
  });
});

describe("what undo takes back", () => {
  test("is the last tap on its way, then the one before, then what the house told of", async () => {
    const { counting: made } = await counting();
    for (const _ of [1, 2]) made.count("ada", 2, ROUND, 3);
    const undone = [];
    for (let tap = made.undoable("ada", 2, "told"); tap !== null; tap = made.undoable("ada", 2, "told")) {
      undone.push(tap);
      made.takeBack(tap);
    }
    expect(undone).toEqual(["t2", "t1", "told"]);
    expect(made.undoable("ada", 2, "before it")).toBe("before it");
  });

  test("is nobody else's tap, nor one of another window", async () => {
    const { counting: made } = await counting();
    made.count("ada", 2, ROUND, 3);
    expect([made.undoable("bo", 2, null), made.undoable("ada", 4, null)]).toEqual([null, null]);
  });
});
