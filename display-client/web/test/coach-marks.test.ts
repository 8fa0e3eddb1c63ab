import { describe, expect, test } from "vitest";
import { classTimeAt, type Item, marked } from "../src/coach/marks";
import { Settling } from "../src/coach/settle";
import { SECOND } from "../src/shared/clock";
import type { Ask, Marked, Outcome, Standing, Tally } from "../src/shared/wire";
import { IN_PAIRS, own, person, ROUNDS, SEGMENTS, SESSION } from "./coach-make";

const tap = (id: string, worth: Standing): Marked => ({ on: "tap", tap: id, worth, made_at: 1_000 * SECOND });
const quick = (id: string, seconds: number): Marked =>
  tap(id, { standing: "counted", at: seconds * SECOND, mark: "quick" });
const SIX: Tally = { kind: "rounds", rounds: 6, extra: 4 };

function items(marks: Marked[], session = SESSION, team: number | null = null): Item[] {
  const windows = [own(2, ROUNDS, { tally: SIX, marks })];
  const people = [person("Ada", { windows, team }), person("Bo", team === null ? {} : { windows, team })];
  return marked(people, SEGMENTS, session, () => "18:42:07 o’clock");
}

describe("what is to settle", () => {
  test.each<[Standing, string]>([
    [
      { standing: "counted", at: 123 * SECOND, mark: "quick" },
      "A tap at 2:03: sooner after the round before than a round can take.",
    ],
    [
      { standing: "counted", at: 240 * SECOND, mark: "after-bell" },
      "A tap at 4:00: made within 2 s after the bell.",
    ],
    [
      { standing: "not-counted", why: "held", marked: true },
      "A tap at 18:42:07 o’clock: made while the clock was held, which that phone had not heard.",
    ],
    [
      { standing: "not-counted", why: "team-mate", marked: true },
      "A tap at 18:42:07 o’clock: made within 5 s of a team mate’s, so it may be the same round.",
    ],
  ])("%j says why and when", (worth, words) => {
    expect(items([tap("t1", worth)]).map((item) => item.words)).toEqual([words]);
  });

  test("many taps for one reason are one line", () => {
    const [item, ...others] = items([quick("t1", 120), quick("t2", 121), quick("t3", 134)]);
    expect(others).toEqual([]);
    expect(item?.words).toMatch(/^3 taps from 2:00 to 2:14: sooner/);
    expect(item?.what).toEqual({ on: "taps", taps: ["t1", "t2", "t3"], count: true });
  });

  test("what is odd about a tally says from what to what", () => {
    const [item] = items([
      { on: "tally", why: { odd: "by-hand", from: { kind: "rounds", rounds: 5, extra: 0 } } },
      { on: "tally", why: { odd: "far-over", most: 4 } },
    ]);
    expect(item?.words).toBe(
      "Entered by hand: 6 + 4, where 5 was counted. 6 + 4 is far over the 4 rounds that the sheet expects at most.",
    );
    expect(item?.what).toEqual({ on: "tally", tally: SIX });
  });

  test("a tap without a class time gets that of the clock, where the clock tells it", () => {
    const running = {
      phase: "running",
      segment: 2,
      anchor: 100 * SECOND,
      at_anchor: 60 * SECOND,
      added: 0,
    } as const;
    expect(classTimeAt(running, 2, 130 * SECOND)).toBe("1:30");
    expect(classTimeAt(running, 2, 99 * SECOND)).toBeNull();
    expect(classTimeAt(running, 4, 130 * SECOND)).toBeNull();
    expect(classTimeAt({ phase: "held", segment: 2, class_time: 170 * SECOND, added: 0 }, 2, 0)).toBe(
      "2:50, held",
    );
    expect(classTimeAt({ phase: "waiting", segment: 2, since: 0 }, 2, SECOND)).toBeNull();
  });

  test("the latest window comes first, and in it people by name", () => {
    const windows = [2, 4].map((segment) => own(segment, ROUNDS, { marks: [quick(`t${segment}`, 60)] }));
    const people = [person("Bo", { windows }), person("Ada", { windows })];
    const list = marked(people, SEGMENTS, SESSION, () => "");
    expect(list.map(({ name, segment }) => `${name} ${segment}`)).toEqual(["Ada 4", "Bo 4", "Ada 2", "Bo 2"]);
  });

  test("a team's marks stand once", () => {
    const list = items([quick("t1", 120)], IN_PAIRS, 1);
    expect(list.map(({ name, athletes }) => [name, athletes])).toEqual([["Ada and Bo", ["Ada", "Bo"]]]);
  });
});

/** Settling with answers of the house by athlete. */
function settling(answers: Record<string, Outcome> = {}) {
  const asked: Ask[] = [];
  const told: string[] = [];
  const settle = new Settling({
    ask: async (ask) => {
      asked.push(ask);
      return answers["athlete" in ask ? ask.athlete : ""] ?? { outcome: "done" };
    },
    refused: (text) => told.push(text),
    changed: () => {},
  });
  settle.open();
  const decisions = (now: Item[]) => settle.list(now).map(({ item, decision }) => [item.key, decision]);
  return { settle, asked, told, decisions };
}

describe("settling", () => {
  const [one] = items([quick("t1", 120)]);
  const [two] = items([tap("t9", { standing: "not-counted", why: "held", marked: true })]);
  if (one === undefined || two === undefined) throw new Error("nothing marked");

  test("is one request for a tap, and the line keeps its place with what was decided", async () => {
    const { settle, asked, decisions } = settling();
    expect(decisions([one, two])).toEqual([
      ["Ada t1", null],
      ["Ada t9", null],
    ]);
    await settle.taps(one, ["t1"], false);
    expect(asked).toEqual([
      { ask: "settle", athlete: "Ada", segment: 2, settle: "tap", tap: "t1", counts: false },
    ]);
    expect(decisions([two])).toEqual([
      ["Ada t1", "does-not"],
      ["Ada t9", null],
    ]);
    settle.open();
    expect(decisions([two])).toEqual([["Ada t9", null]]);
  });

  test("is on the way until the house has answered", async () => {
    const { settle } = settling();
    const ways = () => settle.list([one]).map(({ onTheWay }) => onTheWay);
    const asked = settle.taps(one, ["t1"], true);
    expect(ways()).toEqual([true]);
    await asked;
    expect(ways()).toEqual([false]);
  });

  test("says of what another coach settled that it is", () => {
    const { decisions } = settling();
    decisions([one, two]);
    expect(decisions([two])).toEqual([
      ["Ada t1", "elsewhere"],
      ["Ada t9", null],
    ]);
  });

  test("finds whose of a team a tap is", async () => {
    const refused: Outcome = { outcome: "refused", code: "not-now", text: "This tap has not come." };
    const { settle, asked, told } = settling({ Ada: refused });
    const [shared] = items([quick("t1", 120)], IN_PAIRS, 1);
    if (shared === undefined) throw new Error("nothing marked");
    await settle.taps(shared, ["t1"], true);
    expect(asked.map((ask) => "athlete" in ask && ask.athlete)).toEqual(["Ada", "Bo"]);
    expect(told).toEqual([]);
  });

  test("of two people marked for the same is done one by one", async () => {
    const far: Marked[] = [{ on: "tally", why: { odd: "far-over", most: 4 } }];
    const windows = [own(2, ROUNDS, { tally: SIX, marks: far })];
    const both = marked([person("Ada", { windows }), person("Bo", { windows })], SEGMENTS, SESSION, () => "");
    const { settle, decisions } = settling();
    const [ada] = both;
    if (ada === undefined) throw new Error("nothing marked");
    await settle.stands(ada);
    expect(decisions(both).map(([, decision]) => decision)).toEqual(["stands", null]);
  });

  test("that is refused says why, and the line is open again", async () => {
    const refused: Outcome = { outcome: "refused", code: "no-such-athlete", text: "They have left." };
    const { settle, told, decisions } = settling({ Ada: refused });
    decisions([one]);
    await settle.taps(one, ["t1"], true);
    expect(told).toEqual(["Not settled. They have left."]);
    expect(decisions([one])).toEqual([["Ada t1", null]]);
  });
});
