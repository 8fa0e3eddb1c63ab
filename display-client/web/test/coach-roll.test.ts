import { describe, expect, test } from "vitest";
import { entriesOf } from "../src/coach/entry";
import { type Floor, RollCall, rollKey, typedWords } from "../src/coach/roll";
import { SECOND } from "../src/shared/clock";
import type { AthleteId, Outcome, Person, Scoring, Tally } from "../src/shared/wire";
import { own, person, ROUNDS } from "./coach-make";

/** A roll of a floor that the test changes, and of which the house's answers are held back. */
function roll(people: Person[], scoring: Scoring = ROUNDS, shared = false, only: AthleteId | null = null) {
  const floor: Floor = { people, scoring, shared };
  const sent: [AthleteId, Tally][] = [];
  const answers = new Map<AthleteId, (outcome: Outcome) => void>();
  let left = false;
  const call = new RollCall(
    2,
    {
      send: (athlete, _, tally) => {
        sent.push([athlete, tally]);
        return new Promise((answer) => answers.set(athlete, answer));
      },
      changed: () => {},
    },
    only,
    () => {
      left = true;
    },
  );
  const type = (keys: string, end = 0) => {
    for (const key of keys) call.press(key);
    const entry = entriesOf(scoring)[end];
    if (entry !== undefined) call.enter(entry, floor);
  };
  const answer = async (athlete: AthleteId, outcome: Outcome) => {
    answers.get(athlete)?.(outcome);
    await Promise.resolve();
  };
  const at = () => call.party(floor)?.name ?? null;
  return { call, floor, sent, type, answer, at, left: () => left };
}

const begun = (name: string, rounds = 0, more: Partial<Person> = {}): Person => {
  const tally: Tally = { kind: "rounds", rounds, extra: 0 };
  return person(name, { windows: [own(2, ROUNDS, { tally })], ...more });
};

describe("the roll", () => {
  test("goes through those without a tally by name, without waiting for the house", () => {
    const { type, sent, at } = roll([
      begun("Mei"),
      begun("Bo", 4),
      begun("Ada"),
      begun("Cy", 0, { here: false }),
    ]);
    expect(at()).toBe("Ada");
    type("7+12");
    expect(at()).toBe("Mei");
    type("6");
    expect(at()).toBeNull();
    expect(sent).toEqual([
      ["Ada", { kind: "rounds", rounds: 7, extra: 12 }],
      ["Mei", { kind: "rounds", rounds: 6, extra: 0 }],
    ]);
  });

  test("stays at a name while it is typed, though a tally comes from elsewhere", () => {
    const { call, floor, at } = roll([begun("Ada"), begun("Bo")]);
    expect(at()).toBe("Ada");
    call.press("7");
    floor.people = [begun("Ada", 3), begun("Bo")];
    expect([at(), call.typed]).toEqual(["Ada", "7"]);
  });

  test("passes over whom another coach has entered meanwhile", () => {
    const { floor, type, at } = roll([begun("Ada"), begun("Bo"), begun("Cy")]);
    expect(at()).toBe("Ada");
    floor.people = [begun("Ada"), begun("Bo", 5), begun("Cy")];
    type("4");
    expect(at()).toBe("Cy");
  });

  test("brings back whom the house refused, with the reason", async () => {
    const { call, floor, type, answer, at } = roll([begun("Ada"), begun("Bo")]);
    type("7");
    expect(call.onTheWay).toBe(1);
    await answer("Ada", { outcome: "refused", code: "not-now", text: "This work has not begun." });
    type("5");
    expect(at()).toBe("Ada");
    const party = call.party(floor);
    expect(party && call.refusal(party)).toBe("This work has not begun.");
  });

  test("has a kept entry for a tally until the house tells its own", async () => {
    const { call, floor, type, answer } = roll([begun("Ada")]);
    type("7");
    await answer("Ada", { outcome: "done" });
    expect([call.onTheWay, call.open(floor)]).toEqual([0, []]);
  });

  test("skips, comes back to who was skipped, and goes back to who was entered", () => {
    const { call, floor, type, at } = roll([begun("Ada"), begun("Bo")]);
    call.skip(floor);
    expect(at()).toBe("Bo");
    type("3");
    expect(at()).toBeNull();
    call.again();
    expect(at()).toBe("Ada");
    call.back();
    expect(at()).toBe("Bo");
  });

  test("says what is wrong at the name, and stays there", () => {
    const { call, type, sent, at } = roll([begun("Ada"), begun("Bo")]);
    type("");
    expect([at(), call.problem]).toEqual(["Ada", "Type the result first, or skip."]);
    type("1000");
    expect([at(), call.problem]).toEqual(["Ada", "Rounds: a whole number from 0 to 999."]);
    call.press("erase");
    expect([call.typed, call.problem]).toEqual(["100", ""]);
    expect(sent).toEqual([]);
  });

  test("calls a team once, by all its names", () => {
    const people = [begun("Ada", 0, { team: 1 }), begun("Bo"), begun("Cy", 0, { team: 1 })];
    const { type, sent, at } = roll(people, ROUNDS, true);
    expect(at()).toBe("Ada and Cy");
    type("9");
    expect(at()).toBe("Bo");
    expect(sent[0]?.[0]).toBe("Ada");
  });

  test("for one person alone ends with them", () => {
    const { type, left, at } = roll([begun("Ada"), begun("Bo", 6)], ROUNDS, false, "Bo");
    expect(at()).toBe("Bo");
    type("5");
    expect(left()).toBe(true);
  });
});

describe("each format by its keys", () => {
  const TIME: Scoring = { by: "time", cap: 720 * SECOND, rounds: 3, reps: 90 };
  test.each<[Scoring, string, number, Tally]>([
    [ROUNDS, "7+12", 0, { kind: "rounds", rounds: 7, extra: 12 }],
    [TIME, "842", 0, { kind: "finished", time: 522 * SECOND }],
    [TIME, "74", 1, { kind: "at-cap", reps: 74 }],
    [{ by: "amount", unit: "metres", step: 120 }, "885", 0, { kind: "count", amount: 885 }],
    [{ by: "load", reps: 3 }, "82.5", 0, { kind: "load", grams: 82_500 }],
    [{ by: "load", reps: 3 }, "−15", 0, { kind: "load", grams: -15_000 }],
    [{ by: "made" }, "", 1, { kind: "made", made: 0, of: 1 }],
    [{ by: "done" }, "", 0, { kind: "done" }],
  ])("%j typed %s", (scoring, keys, end, tally) => {
    const { type, sent } = roll([person("Ada", { windows: [own(2, scoring)] })], scoring);
    type(keys, end);
    expect(sent).toEqual([["Ada", tally]]);
  });

  test("shows what was typed as it reads", () => {
    const words = (scoring: Scoring, typed: string) =>
      entriesOf(scoring).map((entry) => typedWords(entry, typed));
    expect(words(ROUNDS, "7+12")).toEqual(["7 + 12"]);
    expect(words(TIME, "842")).toEqual(["8:42", "842"]);
    expect(words({ by: "load", reps: 1 }, "82.5")).toEqual(["82.5"]);
  });

  test("a keyboard types the same, and leaves a clicker its keys", () => {
    expect(
      ["7", "+", "Enter", "Backspace", "ArrowDown", "ArrowUp"].map((key) => rollKey(key, ROUNDS)),
    ).toEqual([{ press: "7" }, { press: "+" }, { end: 0 }, { press: "erase" }, "skip", "back"]);
    expect(rollKey("c", TIME)).toEqual({ end: 1 });
    expect(rollKey(",", { by: "load", reps: 1 })).toEqual({ press: "." });
    for (const key of ["PageDown", "PageUp", "ArrowLeft", "ArrowRight", "b", " ", "."]) {
      expect(rollKey(key, ROUNDS)).toBeNull();
    }
  });
});
