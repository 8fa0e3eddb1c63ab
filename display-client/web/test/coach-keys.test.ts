import { expect, test } from "vitest";
import { type KeyPress, keyCall } from "../src/coach/keys";

const press = (key: string, more: Partial<KeyPress> = {}): KeyPress => ({
  key,
  repeat: false,
  modified: false,
  target: "page",
  ...more,
});

test.each(["PageDown", "ArrowRight", " ", "Enter"])("%j goes on", (key) => {
  expect(keyCall(press(key))).toBe("onward");
});

test.each(["PageUp", "ArrowLeft", "b", "B", "."])("%j holds", (key) => {
  expect(keyCall(press(key))).toBe("hold");
});

test.each(["a", "Escape", "Tab", "ArrowDown", "constructor"])("%j is no call", (key) => {
  expect(keyCall(press(key))).toBeNull();
});

test("nothing is called while somebody types, keeps a key down or uses a shortcut", () => {
  for (const key of ["PageDown", " ", "b", "Enter", "ArrowLeft"]) {
    expect(keyCall(press(key, { target: "field" }))).toBeNull();
    expect(keyCall(press(key, { repeat: true }))).toBeNull();
    expect(keyCall(press(key, { modified: true }))).toBeNull();
  }
});

test("a button with the focus keeps its own space and Enter, but not the clicker's keys", () => {
  expect(keyCall(press(" ", { target: "control" }))).toBeNull();
  expect(keyCall(press("Enter", { target: "control" }))).toBeNull();
  expect(keyCall(press("PageDown", { target: "control" }))).toBe("onward");
  expect(keyCall(press("PageUp", { target: "control" }))).toBe("hold");
});
