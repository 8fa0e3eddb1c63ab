import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";

const css = readFileSync(new URL("../src/shared/theme.css", import.meta.url), "utf8");

/** The colours of one theme, by name. */
function colours(selector: string): Map<string, string> {
  const block = css.slice(css.indexOf(`${selector} {`)).split("}")[0] ?? "";
  return new Map(
    [...block.matchAll(/--([\w-]+): (#[0-9a-f]{6});/g)].map(([, name = "", hex = ""]) => [name, hex]),
  );
}

/** Relative luminance and contrast as WCAG 2.2 defines them (the formula is from memory, checked by the two cases below). */
function luminance(hex: string): number {
  const channel = (at: number) => {
    const part = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
    return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
  };
  return 0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5);
}
function contrast(one: string, other: string): number {
  const [light, dark] = [luminance(one), luminance(other)].sort((a, b) => b - a) as [number, number];
  return (light + 0.05) / (dark + 0.05);
}

it("works contrast out as is known for black on white and for #767676", () => {
  expect(contrast("#000000", "#ffffff")).toBeCloseTo(21, 4);
  expect(contrast("#767676", "#ffffff")).toBeCloseTo(4.5422, 4);
});

const TEXTS = ["text", "quiet", "open", "lead-in", "work", "rest", "held", "good", "warn"];

describe.each([":root", ':root[data-theme="daylight"]'])("the theme %s", (selector) => {
  const theme = colours(selector);
  const of = (name: string) => theme.get(name) ?? "missing";
  const pairs = [
    ...TEXTS.flatMap((text) => [[text, "ground"] as const, [text, "raised"] as const]),
    ["stop-text", "stop-ground"] as const,
  ];
  it.each(pairs)("reads %s on %s at 4.5 or more", (text, ground) => {
    expect(contrast(of(text), of(ground))).toBeGreaterThanOrEqual(4.5);
  });
});
