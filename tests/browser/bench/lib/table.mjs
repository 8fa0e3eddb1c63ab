// The figures with their targets, for people.

const most = (value) => ({ words: `at most ${value}`, met: (found) => found <= value });
const least = (value) => ({ words: `at least ${value}`, met: (found) => found >= value });
const within = (value) => ({ words: `within ±${value}`, met: (found) => Math.abs(found) <= value });

/** What is looked for in which result: the words, `what` of the result, the figure's place in it, its unit, its target by path. */
const ROWS = [
  ["true house time is known to within", "instruments", "truth_within_ms", "ms"],
  ["computed, furthest two screens apart, p50", "computed", "apart_ms.p50", "ms"],
  [
    "computed, furthest two screens apart, p99",
    "computed",
    "apart_ms.p99",
    "ms",
    { loopback: most(3), poor: most(10) },
  ],
  ["computed, true error, p1", "computed", "true_error_ms.p1", "ms"],
  ["computed, true error, p50", "computed", "true_error_ms.p50", "ms"],
  ["computed, true error, p99", "computed", "true_error_ms.p99", "ms"],
  ["shown time over its bound, times", "computed", "shown_outside_bound", "", { any: most(0) }],
  ["estimate over its bound, times", "computed", "estimate_outside_bound", "", { any: most(0) }],
  ["bound, p50", "computed", "bound_ms.p50", "ms"],
  ["frames over 20 ms apart", "frames", "uneven_percent", "%"],
  ["callback after its frame's timestamp, p50", "frames", "callback_after_timestamp_ms.p50", "ms"],
  ["callback after its frame's timestamp, p99", "frames", "callback_after_timestamp_ms.p99", "ms"],
  ["instants not shown just once by a screen", "shown", "not_once", "", { any: most(0) }],
  ...shown("shown", "all frames"),
  ...shown("shown among even frames", "even frames"),
  ["restarts", "clock after a restart", "restarts", ""],
  [
    "clock after a restart, moved at most",
    "clock after a restart",
    "moved_at_most_ms",
    "ms",
    { any: most(5) },
  ],
  [
    "seconds shown meanwhile, too short or long",
    "screens meanwhile",
    "too_short_or_long",
    "",
    { any: most(0) },
  ],
  ["seconds shown meanwhile, skipped or repeated", "screens meanwhile", "steps.length", "", { any: most(0) }],
  ["stops", "stop", "stops", ""],
  ["from touch to notice, p50", "stop", "all_but_coach_ms.p50", "ms"],
  [
    "from touch to notice, p99 of the slowest screen",
    "stop",
    "slowest_screen_p99_ms",
    "ms",
    { any: most(200) },
  ],
  ["from touch to the last of ten, p50", "stop", "slowest_of_all_ms.p50", "ms"],
  ["from touch to the last of ten, p99", "stop", "slowest_of_all_ms.p99", "ms"],
  ["alone, bells", "alone", "bells", ""],
  ["alone, bells late, p50", "alone", "bells_late_ms.p50", "ms"],
  ["alone, bells late, most", "alone", "bells_late_ms.max", "ms"],
  ["alone, true error at the end", "alone", "true_error_at_the_end_ms", "ms", { any: within(30) }],
  ["alone, bound at the end", "alone", "bound_at_the_end_ms", "ms"],
  ["alone, time over its bound, times", "alone", "shown_outside_bound", "", { any: most(0) }],
  ["back again, shortest second", "back", "stood_ms.min", "ms"],
  ["back again, longest second", "back", "stood_ms.max", "ms"],
];

function shown(what, frames) {
  return [
    [`${frames}: seconds counted`, what, "seconds_counted", ""],
    [`${frames}: spread of a digit, p50`, what, "spread_ms.p50", "ms", { loopback: most(15) }],
    [`${frames}: the oracle's, p50`, what, "spread_of_oracle_ms.p50", "ms"],
    [
      `${frames}: spread of a digit, p99`,
      what,
      "spread_ms.p99",
      "ms",
      { loopback: most(20), poor: most(28) },
    ],
    [`${frames}: the oracle's, p99`, what, "spread_of_oracle_ms.p99", "ms"],
    [`${frames}: spread by timestamp, p50`, what, "spread_by_timestamp_ms.p50", "ms"],
    [`${frames}: spread by timestamp, p99`, what, "spread_by_timestamp_ms.p99", "ms"],
    [`${frames}: late, p1`, what, "lateness_ms.p1", "ms", { loopback: least(-17) }],
    [`${frames}: late, p50`, what, "lateness_ms.p50", "ms", { loopback: within(3) }],
    [`${frames}: late, p99`, what, "lateness_ms.p99", "ms", { loopback: most(17) }],
    [`${frames}: the oracle's, p99`, what, "lateness_of_oracle_ms.p99", "ms"],
    [`${frames}: late by timestamp, p50`, what, "lateness_by_timestamp_ms.p50", "ms"],
    [`${frames}: late by timestamp, p99`, what, "lateness_by_timestamp_ms.p99", "ms"],
    [`${frames}: in the oracle's frame`, what, "in_oracles_frame_percent", "%", { loopback: least(99) }],
    [`${frames}: within one frame of it`, what, "within_one_frame_percent", "%", { loopback: least(100) }],
    [`${frames}: in the frame by its own time`, what, "in_own_frame_percent", "%"],
  ];
}

const at = (result, place) => place.split(".").reduce((value, name) => value?.[name], result);

/** A table with a column for each part, headed by its letter and path. */
export function table(results) {
  const parts = [...new Map(results.map(({ part, path }) => [part, path]))].filter(
    ([, path]) => path !== undefined,
  );
  const lines = [["", ...parts.map(([part, path]) => `${part}: ${path}`)]];
  for (const [words, what, place, unit, targets = {}] of ROWS) {
    const cells = parts.map(([part, path]) => {
      const value =
        at(
          results.find((each) => each.part === part && each.what === what),
          place,
        ) ?? null;
      if (value === null) return "";
      const target = targets[path] ?? targets.any;
      const judged = target === undefined ? "" : ` (${target.words}${target.met(value) ? "" : ": MISSED"})`;
      return `${value} ${unit}${judged}`;
    });
    if (cells.some((cell) => cell !== "")) lines.push([words, ...cells]);
  }
  const widths = lines[0].map((_, column) => Math.max(...lines.map((line) => line[column].length)));
  return lines
    .map((line) =>
      line
        .map((cell, column) => cell.padEnd(widths[column]))
        .join("  ")
        .trimEnd(),
    )
    .join("\n");
}
