import { expect, it } from "vitest";
import { merge } from "../src/shared/state";
import type { Frame, Row, State } from "../src/shared/wire";
import { running } from "./make";

const row = (athlete: string, name = athlete): Row => ({
  athlete,
  name,
  at_home: false,
  scaled: false,
  scores: [],
  overall: null,
  total_reps: null,
  team: null,
});

const state: State = {
  number: 7,
  class: "class",
  session: {
    title: "Tuesday",
    date: null,
    slot: null,
    people: null,
    notes: [],
    whole_class: "places",
    blocks: [],
  },
  scoring: [],
  join: null,
  clock: running(0, {}),
  segments: [],
  swaps: [],
  started: null,
  closed: false,
  rows: [row("ada"), row("bo")],
};

const after = (frame: Partial<Frame>) => merge(state, { type: "frame", number: 8, ...frame });
const names = (merged: State | null) => merged?.rows.map(({ name }) => name);

it("changes the rows that a frame names, adds new ones at the end, and takes away what is gone", () => {
  expect(names(after({ rows: [row("bo", "Bo!"), row("cy")] }))).toEqual(["ada", "Bo!", "cy"]);
  expect(names(after({ gone: ["ada"] }))).toEqual(["bo"]);
});

it("keeps what a frame does not name", () => {
  expect(after({ closed: true })).toEqual({ ...state, number: 8, closed: true });
});

it("passes over a frame that is not newer", () => {
  expect(merge(state, { type: "frame", number: 7, gone: ["ada"] })).toBe(state);
});

it("takes the clock of a stop, unless a newer one is known", () => {
  const stopped = { ...running(0, {}), revision: 2, stopped: true };
  expect(merge(state, { type: "stop", clock: stopped, saved: false })?.clock).toBe(stopped);
  expect(merge(state, { type: "stop", clock: { ...stopped, revision: 0 }, saved: true })).toBe(state);
});

it("has no state once there is no class", () => {
  expect(merge(state, { type: "no-class", text: "The class has ended." })).toBeNull();
});
