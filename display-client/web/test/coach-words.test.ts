import { expect, test } from "vitest";
import { choiceWords, optionWords } from "../src/coach/words";
import type { MovementOption, Session } from "../src/shared/wire";

const LIGHTER = {
  name: "goblet squat",
  amount: null,
  sides: "both",
  load: { text: "8 kg" },
  reasons: ["lighter"],
} as unknown as MovementOption;
const LOWER = {
  name: "step-up 30 cm",
  amount: { count: 8, unit: "reps" },
  sides: "alternating",
  load: null,
  reasons: [],
} as unknown as MovementOption;
const SESSION = { blocks: [{ movements: [{ options: [LIGHTER, LOWER] }] }] } as unknown as Session;

test("an option that differs by its load alone says its load", () => {
  expect(optionWords(LIGHTER)).toBe("goblet squat 8 kg (lighter)");
  expect(optionWords(LOWER)).toBe("8 alternating step-up 30 cm");
});

test("how somebody does the class names the load of the option", () => {
  const chosen = { scaled: true, options: [{ block: 0, movement: 0, option: 0 }] };
  expect(choiceWords(chosen, SESSION)).toBe("scaled: goblet squat 8 kg");
  expect(choiceWords({ scaled: true, options: [] }, SESSION)).toBe("scaled");
});
