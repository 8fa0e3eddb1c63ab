import { describe, expect, it } from "vitest";
import { beatAt, type Plan, planOf, ticks } from "../src/phone/timer";
import { movement } from "./phone-make";

function plan(...of: Parameters<typeof movement>): Plan {
  const made = planOf(movement(...of));
  if (made === null) throw new Error("no timer");
  return made;
}
const length = ({ parts }: Plan) => parts.reduce((sum, { seconds }) => sum + seconds, 0);

const plank = plan("plank", { amount: { count: 20, unit: "seconds" }, sides: "per-side" });
const squat = plan("squat", { amount: { count: 6, unit: "reps" }, sides: "per-side", tempo: [4, 0, 1, 0] });

it("takes 60 s for 6 per side at tempo 4-0-1-0, after 3 s to get ready", () => {
  expect(length(squat)).toBe(3 + 60);
});

it("takes 20 s on each side and 5 s to change", () => {
  expect(length(plank)).toBe(3 + 20 + 5 + 20);
});

it("times nothing where there is nothing to time", () => {
  expect(planOf(movement("row", { amount: { count: 200, unit: "metres" } }))).toBeNull();
  expect(planOf(movement("squat", { amount: { count: 5, unit: "reps" } }))).toBeNull();
  expect(planOf(movement("squat", { amount: { count: 5, unit: "reps" }, tempo: [0, 0, 0, 0] }))).toBeNull();
});

describe("what it reads", () => {
  it.each<[Plan, number, string | null]>([
    [plank, 0, "0 get ready 3"],
    [plank, 3, "0 first side 20"],
    [plank, 22.1, "0 first side 1"],
    [plank, 23, "0 change side 5"],
    [plank, 28, "0 second side 20"],
    [plank, 48, null],
    [squat, 3, "1 down 4"],
    [squat, 7, "1 up 1"],
    [squat, 8, "2 down 4"],
    [squat, 62.5, "12 up 1"],
    [squat, 63, null],
  ])("%#: after %d s", (made, elapsed, expected) => {
    const beat = beatAt(made, elapsed);
    expect(beat && `${beat.rep} ${beat.word} ${beat.left}`).toBe(expected);
  });
});

it("beats each second of a rep, louder where a part begins", () => {
  const strong = ticks(squat).filter(({ strong }) => strong);
  expect(strong.slice(0, 4).map(({ at }) => at)).toEqual([0, 3, 7, 8]);
  expect(ticks(squat).map(({ at }) => at)).toEqual(Array.from({ length: 64 }, (_, second) => second));
});

it("sounds a held position at its ends alone", () => {
  expect(
    ticks(plank)
      .map(({ at }) => at)
      .filter((at) => at >= 3 && at <= 23),
  ).toEqual([3, 20, 21, 22, 23]);
});
