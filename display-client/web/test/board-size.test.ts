/** How large the wall's type is where it is read from afar, from the lay-out, the style and the font itself. */
import { readFileSync } from "node:fs";
import { inflateSync } from "node:zlib";
import { describe, expect, it } from "vitest";
import { TYPE } from "../src/wall/board-layout";

const style = (name: string) => readFileSync(new URL(`../src/wall/${name}.css`, import.meta.url), "utf8");

/** A table of a WOFF 1.0 file (W3C): a directory of 20 bytes each from byte 44, tables compressed by zlib. */
function table(tag: string, weight: number): Buffer {
  const path = `../node_modules/@fontsource/b612/files/b612-latin-${weight}-normal.woff`;
  const font = readFileSync(new URL(path, import.meta.url));
  for (let entry = 44; entry < 44 + 20 * font.readUInt16BE(12); entry += 20) {
    if (font.toString("latin1", entry, entry + 4) !== tag) continue;
    const [from, packed, whole] = [4, 8, 12].map((at) => font.readUInt32BE(entry + at)) as [
      number,
      number,
      number,
    ];
    const data = font.subarray(from, from + packed);
    return packed < whole ? inflateSync(data) : data;
  }
  throw new Error(`the font has no table ${tag}`);
}

/** Height of capitals in em: sCapHeight of OS/2 (OpenType) by unitsPerEm of head. */
const capital = (weight: number) =>
  table("OS/2", weight).readInt16BE(88) / table("head", weight).readUInt16BE(18);

/** What so many arc minutes are at so many metres, in hundredths of the height of a 55-inch 16:9 screen. */
function hundredths(arcMinutes: number, metres: number): number {
  const height = (55 * 25.4 * 9) / Math.hypot(16, 9);
  const seen = 2 * metres * 1000 * Math.tan(((arcMinutes / 60) * Math.PI) / 180 / 2);
  return (100 * seen) / height;
}

it("knows the screen: 20 arc minutes at 10 m are 58 mm of 685", () => {
  expect(hundredths(20, 10)).toBeCloseTo((100 * 58.18) / 684.85, 2);
});

describe("a row of the board", () => {
  it("has every character at 20 arc minutes from 10 m", () => {
    for (const weight of [400, 700]) {
      expect(TYPE * capital(weight)).toBeGreaterThanOrEqual(hundredths(20, 10));
    }
  });
  it("has one size of type throughout: nothing in the style has another", () => {
    const rules = [...style("board").matchAll(/([^{}]+)\{([^{}]*)\}/g)].flatMap(
      ([, selector = "", body = ""]) => {
        const size = /(?:font-size|font|zoom|scale): ([^;]+);/.exec(body)?.[1];
        return size === undefined ? [] : [[selector.trim().split("\n").at(-1), size]];
      },
    );
    expect(rules).toEqual([
      [".group", "4rem"],
      [".row", "var(--type)"],
    ]);
  });
  it("is measured in hundredths of the picture's height", () => {
    expect(style("wall")).toMatch(/html \{\s*font-size: min\(1vh, 0\.5625vw\);/);
  });
});

it("has digits of the clock at 20 arc minutes from 15 m at rest too", () => {
  const sizes = [...style("wall").matchAll(/\.digits[^{]*\{[^}]*font-size: ([\d.]+)rem/g)].map(([, size]) =>
    Number(size),
  );
  expect(sizes.length).toBeGreaterThan(3);
  expect(Math.min(...sizes) * capital(700)).toBeGreaterThanOrEqual(hundredths(20, 15));
});
