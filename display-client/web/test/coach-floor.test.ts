import { describe, expect, test } from "vitest";
import {
  byTrouble,
  deviceName,
  devicesWords,
  outOfReach,
  taps,
  troubles,
  unconfirmed,
} from "../src/coach/devices";
import { lines, windowInView } from "../src/coach/floor";
import { SECOND } from "../src/shared/clock";
import type { DeviceLine, Person, Row } from "../src/shared/wire";
import { at, SEGMENTS, SESSION, person as someone, waiting } from "./coach-make";

const NOW = 1_000 * SECOND;

const person = (name: string, more: Partial<Person> = {}): Person =>
  someone(name, { heard: NOW - SECOND, ...more });

const row = (name: string, rounds: number | null, place: number | null, marked = false): Row => ({
  athlete: name,
  name,
  at_home: false,
  scaled: false,
  scores: [
    {
      block: 1,
      tally: rounds === null ? null : { kind: "rounds", rounds, extra: 0 },
      place,
      last_at: null,
      marked,
    },
  ],
  overall: null,
  total_reps: null,
  team: null,
});

describe("the floor", () => {
  const people = [person("Mei"), person("Ada"), person("Pavel", { here: false, heard: null }), person("Bo")];
  const rows = [row("Ada", null, null), row("Bo", 5, 1, true), row("Mei", 4, 2)];
  const names = (order: "name" | "place") =>
    lines(people, rows, 1, { by: "rounds" }, SESSION, NOW, order).map((line) => line.person.name);

  test("by name, those expected last", () => {
    expect(names("name")).toEqual(["Ada", "Bo", "Mei", "Pavel"]);
  });

  test("by place, those without a tally behind", () => {
    expect(names("place")).toEqual(["Bo", "Mei", "Ada", "Pavel"]);
  });

  test("shows the tally of the piece in view, and what is marked", () => {
    const [ada, bo] = lines(people, rows, 1, { by: "rounds" }, SESSION, NOW, "name");
    expect([ada?.tally, ada?.place, ada?.marked]).toEqual(["–", null, false]);
    expect([bo?.tally, bo?.place, bo?.marked]).toEqual(["5", 1, true]);
  });

  test("a phone is silent when it has missed two reports; nobody without a phone is", () => {
    const silent = (heard: number | null) =>
      lines([person("Ada", { heard })], [], null, null, SESSION, NOW, "name")[0]?.silent;
    expect(silent(NOW - 24 * SECOND)).toBeNull();
    expect(silent(NOW - 25 * SECOND)).toBe(25 * SECOND);
    expect(silent(null)).toBeNull();
  });
});

describe("the window in view", () => {
  test.each([
    ["while people gather, the first", { phase: "gathering" } as const, 2],
    ["in a talk before it, the first", at(0, 5), 2],
    ["in a lead-in, the one that it leads to", at(1, 5), 2],
    ["in work, that work", at(2, 5), 2],
    ["in the rest, the one before: its extra reps are entered now", at(3, 5), 2],
    ["in the next work, that one", at(4, 5), 4],
    ["in the cool-down, the last", waiting(5, 5), 4],
    ["when the class is done, the last", { phase: "done" } as const, 4],
  ])("%s", (_, showing, window) => {
    expect(windowInView(showing, SEGMENTS)).toBe(window);
  });

  test("none in a class without scored work", () => {
    expect(windowInView(at(0, 5), [...SEGMENTS].slice(0, 1))).toBeNull();
  });
});

describe("devices", () => {
  const device = (id: string, more: Partial<DeviceLine> = {}): DeviceLine =>
    ({
      device: id,
      role: "athlete",
      athlete: id,
      connected: true,
      heard: NOW - SECOND,
      bound: 4_000,
      round_trip: 6_000,
      refused: 0,
      waiting: 0,
      stop_seen: true,
      ...more,
    }) as DeviceLine;
  const people = [person("Ada"), person("Bo"), person("Mei")];

  test("say what is wrong with them", () => {
    expect(troubles(device("Ada"), NOW)).toEqual([]);
    expect(troubles(device("Ada", { connected: false, waiting: 2 }), NOW)).toEqual([
      "not connected",
      "2 taps wait",
    ]);
    expect(troubles(device("Ada", { heard: NOW - 10 * SECOND, waiting: 1 }), NOW)).toEqual([
      "silent",
      "1 tap waits",
    ]);
    expect(troubles(device("Ada", { bound: 50_001 }), NOW)).toEqual(["clock is loose"]);
    expect(troubles(device("Ada", { bound: null }), NOW)).toEqual([]);
  });

  test("stand with those in most trouble first, then walls, then phones by name", () => {
    const wall = device("w", { role: "wall", accepted: true, number: 2 } as Partial<DeviceLine>);
    const devices = [
      device("Bo"),
      device("Ada"),
      wall,
      device("Mei", { bound: 60_000 }),
      device("x", { connected: false }),
    ];
    expect(byTrouble(devices, people, NOW).map(({ device }) => device)).toEqual([
      "x",
      "Mei",
      "w",
      "Ada",
      "Bo",
    ]);
  });

  test("are silent as time passes, without a word from the house", () => {
    const last = device("Ada", { heard: NOW });
    expect([9.9, 10].map((seconds) => troubles(last, NOW + seconds * SECOND))).toEqual([[], ["silent"]]);
    expect(devicesWords([last, device("Bo", { heard: NOW + 5 * SECOND })], NOW + 10 * SECOND)).toBe(
      "2 in all, 1 in trouble",
    );
  });

  test("name the taps that still wait on them", () => {
    const devices = [device("Ada", { waiting: 5 }), device("Bo"), device("own", { waiting: 1 })];
    expect(taps(devices, people, "own")).toEqual([
      "5 taps wait on Ada's phone",
      "1 tap waits on this device",
    ]);
  });

  test("that cannot be reached are named: taps may wait there", () => {
    const wall = device("w", {
      role: "wall",
      accepted: true,
      number: 2,
      connected: false,
    } as Partial<DeviceLine>);
    const devices = [device("Ada", { connected: false }), device("Bo"), wall];
    expect(outOfReach(devices, people)).toEqual(["Ada's phone"]);
  });

  test("are counted", () => {
    expect(devicesWords([], NOW)).toBe("None yet.");
    expect(devicesWords([device("Ada")], NOW)).toBe("1 in all, none in trouble");
  });

  test("are named by whom they serve", () => {
    expect(deviceName(device("Ada"), people)).toBe("Ada's phone");
    expect(deviceName(device("gone"), people)).toBe("A phone");
    expect(deviceName(device("Ada"), people, "Ada")).toBe("This device");
  });

  test("that have not confirmed a stop are named, those out of reach apart", () => {
    const devices = [
      device("Bo", { stop_seen: false }),
      device("Ada", { stop_seen: false }),
      device("Mei", { stop_seen: false, connected: false }),
      device("y"),
      device("own", { stop_seen: false }),
    ];
    expect(unconfirmed(devices, people, "own")).toEqual({
      waitingFor: ["Ada's phone", "Bo's phone"],
      outOfReach: ["Mei's phone"],
    });
  });
});
