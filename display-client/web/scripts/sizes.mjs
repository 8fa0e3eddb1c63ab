// Prints what each built page loads as JavaScript and CSS, compressed, and fails over its budget. Fonts are not
// counted. Run after `npm run build`.
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { gzipSync } from "node:zlib";

const DIST = join(import.meta.dirname, "..", "dist");
const BUDGETS_KB = { "index.html": 40, "wall.html": 60, "coach.html": 80, "tally.html": 50 };

/** A page's scripts and styles, with everything that they import. */
function loaded(page) {
  const found = new Set();
  const open = [
    ...readFileSync(join(DIST, page), "utf8").matchAll(/(?:src|href)="(\/assets\/[^"]+\.(?:js|css))"/g),
  ];
  const paths = open.map(([, path]) => path.slice(1));
  for (let path = paths.pop(); path !== undefined; path = paths.pop()) {
    if (found.has(path)) continue;
    found.add(path);
    if (!path.endsWith(".js")) continue;
    const text = readFileSync(join(DIST, path), "utf8");
    paths.push(
      ...[...text.matchAll(/["'`]\.\/([\w.-]+\.(?:js|css))["'`]/g)].map(([, name]) => `assets/${name}`),
    );
  }
  return [...found];
}

let over = false;
for (const [page, budget] of Object.entries(BUDGETS_KB)) {
  const bytes = loaded(page).reduce(
    (sum, path) => sum + gzipSync(readFileSync(join(DIST, path)), { level: 9 }).length,
    0,
  );
  const kilobytes = bytes / 1000;
  over ||= kilobytes > budget;
  process.stdout.write(
    `${page.padEnd(12)} ${kilobytes.toFixed(1).padStart(6)} kB of ${budget} kB${kilobytes > budget ? "  OVER" : ""}\n`,
  );
}
process.exitCode = over ? 1 : 0;
