// The distributions of the errors as one SVG: a row of bars for each.

const WIDTH = 760;
const [LEFT, RIGHT, TOP, HEIGHT, GAP] = [24, 24, 40, 90, 52];
const INK = "#1b2530";
const BARS = "#2f6f9f";
const ORACLE = "#c0661f";

/** What each distribution is called, and which other one is drawn over it as a line. */
const KINDS = {
  computed: { words: "true error of the computed time, ms", ticks: 5 },
  shown: { words: "lateness of the shown digit, ms; the line is the oracle's", over: "oracle", ticks: 10 },
  stop: { words: "from the coach's touch to the notice, ms", ticks: 50 },
};

/** The picture of all distributions among the results. */
export function picture(results) {
  const rows = results.filter(({ distribution }) => distribution in KINDS);
  const height = TOP + rows.length * (HEIGHT + GAP);
  const drawn = rows.map((row, index) => {
    const above = KINDS[row.distribution].over;
    const over = results.find(
      (each) => above !== undefined && each.part === row.part && each.distribution === above,
    );
    return panel(row, over, TOP + index * (HEIGHT + GAP));
  });
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${height}" font-family="sans-serif" font-size="13" fill="${INK}">
<rect width="${WIDTH}" height="${height}" fill="#fff"/>
${drawn.join("\n")}
</svg>
`;
}

function panel(row, over, top) {
  const { words, ticks } = KINDS[row.distribution];
  const { from, to, counts, part, path } = row;
  const bottom = top + HEIGHT;
  const x = (value) => (LEFT + ((WIDTH - LEFT - RIGHT) * (value - from)) / (to - from)).toFixed(1);
  const highest = Math.max(1, ...counts, ...(over?.counts ?? []));
  const y = (count) => (bottom - (HEIGHT * count) / highest).toFixed(1);
  const step = (to - from) / counts.length;
  const width = ((WIDTH - LEFT - RIGHT) / counts.length).toFixed(1);
  const bars = counts.flatMap((count, bin) =>
    count === 0
      ? []
      : `<rect x="${x(from + bin * step)}" y="${y(count)}" width="${width}" height="${(bottom - y(count)).toFixed(1)}" fill="${BARS}"/>`,
  );
  const line = over?.counts.map((count, bin) => `${x(from + (bin + 0.5) * step)},${y(count)}`).join(" ");
  const marks = [];
  for (let value = from; value <= to; value += ticks * 1000) {
    marks.push(`<path d="M${x(value)} ${bottom}v4" stroke="${INK}"/>`);
    marks.push(
      `<text x="${x(value)}" y="${bottom + 18}" text-anchor="middle" font-size="11">${value / 1000}</text>`,
    );
  }
  return `<text x="${LEFT}" y="${top - 8}"><tspan font-weight="bold">${part}, ${path}:</tspan> ${words}</text>
${bars.join("\n")}
${line === undefined ? "" : `<polyline points="${line}" fill="none" stroke="${ORACLE}" stroke-width="1.5"/>`}
<path d="M${LEFT} ${bottom}H${WIDTH - RIGHT}" stroke="${INK}"/>
${marks.join("")}`;
}
