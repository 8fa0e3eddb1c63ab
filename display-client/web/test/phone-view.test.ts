import { describe, expect, it } from "vitest";
import { type Foot, type Known, type View, view } from "../src/phone/view";
import { SECOND, showing } from "../src/shared/clock";
import type { Block, Phase } from "../src/shared/wire";
import {
  AT,
  entry,
  known,
  ME,
  own,
  ownWindow,
  row,
  runs,
  SEGMENTS,
  SESSION,
  scored,
  state,
} from "./phone-make";

const look = (so: Known, seconds: number): View =>
  view(so, showing(so.state.clock, so.state.segments, seconds * SECOND), seconds * SECOND);

function floor(phase: Phase, seconds: number, more: Partial<Known> = {}) {
  const shown = look(known(phase, more), seconds);
  if (shown.screen !== "floor") throw new Error(`${shown.screen} is shown`);
  return shown;
}

function said(foot: Foot): string {
  switch (foot.foot) {
    case "count":
      return foot.refused === null ? `counts ${foot.segment}` : `refuses: ${foot.refused}`;
    case "entry":
      return `${foot.asked ? "asks for" : "has"} the result of ${foot.entry.segment}`;
    case "lent":
      return `${foot.by} counts ${foot.segment}`;
    case "none":
      return "";
  }
}

const held = (segment: number): Phase => ({ phase: "held", segment, class_time: 60 * SECOND, added: 0 });
const waiting = (segment: number): Phase => ({ phase: "waiting", segment, since: 0 });

describe("the screen", () => {
  it("is the brief until the class begins, and the results when it is over or closed", () => {
    expect(look(known({ phase: "gathering" }), 0).screen).toBe("brief");
    expect(look(known({ phase: "done" }), 0).screen).toBe("results");
    expect(look(known(runs(AT.first), { state: state(runs(AT.first), { closed: true }) }), 0).screen).toBe(
      "results",
    );
  });
});

describe("a phone that is connected", () => {
  it.each<[string, Phase, number, string]>([
    ["self-paced", runs(AT.warmUp), 5, ""],
    ["lead-in", runs(AT.leadIn), 5, "refuses: Work has not begun. Touches count from the bell."],
    ["work", runs(AT.first), 5, `counts ${AT.first}`],
    ["work by the phone's own clock", runs(AT.leadIn), 15, `counts ${AT.first}`],
    ["work, held", held(AT.first), 5, "refuses: The coach holds the clock. Your count is safe."],
    [
      "the lead-in of a resume",
      runs(AT.first, 10, 60),
      5,
      "refuses: Work goes on at zero. Your count is safe.",
    ],
    ["rest", runs(AT.rest), 5, `asks for the result of ${AT.first}`],
    [
      "the lead-in at the end of a rest",
      runs(AT.rest),
      85,
      "refuses: Work has not begun. Touches count from the bell.",
    ],
    ["the bell gone, the clock waiting", waiting(AT.second), 30, `asks for the result of ${AT.second}`],
    ["the bell gone by the phone's own clock", runs(AT.second), 245, `asks for the result of ${AT.second}`],
    ["a piece that is counted by ones", runs(AT.intervals), 5, `counts ${AT.intervals}`],
    ["the cool-down", runs(AT.end), 5, `has the result of ${AT.intervals}`],
  ])("in %s", (_, phase, seconds, expected) => {
    const { foot, offer } = floor(phase, seconds);
    expect(said(foot)).toBe(expected);
    expect(offer).toBeNull();
  });
});

it("shows the touch area in the lead-in at the end of a rest that is a block of its own", () => {
  const rest = { kind: "rest", length: 90 * SECOND, after: "next" } as const;
  const between = { ...SESSION.blocks[1], name: "Water", kind: rest, movements: [] } as Block;
  const session = { ...SESSION, blocks: [...SESSION.blocks, between] };
  const segments = SEGMENTS.map((each, index) =>
    index === AT.rest ? { ...each, block: 5, window: null } : each,
  );
  const more = { state: state(runs(AT.rest), { session, segments }) };
  expect(said(floor(runs(AT.rest), 85, more).foot)).toContain("refuses: Work has not begun");
  expect(said(floor(runs(AT.rest), 5, more).foot)).toBe(`asks for the result of ${AT.first}`);
});

describe("a phone that is on its own never refuses finally", () => {
  const alone = { connected: false };
  it.each<[string, Phase, number, string, number | null]>([
    ["in work", runs(AT.first), 5, `counts ${AT.first}`, null],
    ["in a hold that may be over", held(AT.first), 5, `counts ${AT.first}`, null],
    ["in a lead-in", runs(AT.leadIn), 5, `counts ${AT.first}`, null],
    ["in a rest that may be work", runs(AT.rest), 5, `has the result of ${AT.first}`, AT.first],
    [
      "after a bell that may have been moved",
      runs(AT.second),
      250,
      `has the result of ${AT.second}`,
      AT.second,
    ],
  ])("%s", (_, phase, seconds, expected, offered) => {
    const { foot, offer } = floor(phase, seconds, alone);
    expect(said(foot)).toBe(expected);
    expect(offer).toBe(offered);
  });
});

describe("just after the bell", () => {
  const lastWork = { segment: AT.first, until: 240 * SECOND };
  it.each<[string, Phase, number, string]>([
    ["counts for 2 s in the rest", runs(AT.rest, 240), 241.9, `counts ${AT.first}`],
    ["opens result entry from then on", runs(AT.rest, 240), 242, `asks for the result of ${AT.first}`],
    [
      "does not count where the coach went back",
      runs(AT.leadIn, 240),
      241,
      "refuses: Work has not begun. Touches count from the bell.",
    ],
  ])("%s", (_, phase, seconds, expected) => {
    expect(said(floor(phase, seconds, { lastWork }).foot)).toBe(expected);
  });
  it("counts for 2 s where the clock waits", () => {
    const lastWork = { segment: AT.second, until: 240 * SECOND };
    expect(said(floor(runs(AT.second), 241, { lastWork }).foot)).toBe(`counts ${AT.second}`);
    expect(said(floor(runs(AT.second), 242, { lastWork }).foot)).toBe(`asks for the result of ${AT.second}`);
  });
});

describe("the head", () => {
  it.each<[string, Phase, number, string]>([
    ["a block by its name", runs(AT.warmUp), 5, "open Casting off"],
    ["a lead-in with the window that comes", runs(AT.leadIn), 5, "lead-in Lead-in 1 of 2"],
    ["work with its window", runs(AT.first), 5, "work Work 1 of 2"],
    ["a hold", held(AT.first), 5, "held Held 1 of 2"],
    ["a resume", runs(AT.first, 10, 60), 5, "lead-in Lead-in 1 of 2"],
    ["a rest", runs(AT.rest), 5, "rest Rest"],
    ["the end of a rest", runs(AT.rest), 85, "lead-in Lead-in 2 of 2"],
    ["a bell that has gone", waiting(AT.second), 5, "work Work, over 2 of 2"],
  ])("says %s", (_, phase, seconds, expected) => {
    const { kind, word, window } = floor(phase, seconds).head;
    expect([kind, word, window ?? ""].join(" ").trim()).toBe(expected);
  });
});

describe("the list", () => {
  it("is what comes, in a lead-in and in a rest", () => {
    expect(floor(runs(AT.leadIn), 5).list?.title).toBe("Next: Quay run");
    expect(floor(runs(AT.rest), 5).list?.title).toBe("Next: Quay run, window 2 of 2");
    expect(floor(waiting(AT.second), 5).list?.title).toBe("Next: Mooring line");
    expect(floor(runs(AT.first, 10, 60), 5).list?.title).toBe("Quay run");
  });
  it("is what comes after a block without movements, with what the sheet says of that block", () => {
    const notes = ["Put your bell where you row."];
    const blocks = SESSION.blocks.map((block, index) =>
      index === 1 ? { ...block, movements: [], notes } : block,
    );
    const more = { state: state(runs(AT.drill + 1), { session: { ...SESSION, blocks } }) };
    expect(floor(runs(AT.drill + 1), 5, more).list).toMatchObject({ title: "Next: Quay run", notes });
  });
  it("points at the movement that the coach is at", () => {
    expect(floor(runs(AT.drill), 5).list).toMatchObject({ current: 0, timers: false });
  });
  it("has timers where everyone goes at their own pace", () => {
    expect(floor(runs(AT.warmUp), 5).list).toMatchObject({ current: null, timers: true });
  });
});

it("says the place inside the athlete's own group", () => {
  const rows = [
    row(ME, "Ines", { scaled: true, scores: scored(5, 2) }),
    row("b", "Bram", { scaled: true, scores: scored(6, 1) }),
    row("c", "Tove", { scores: scored(9, 1) }),
    row("d", "Okan", { scaled: true }),
  ];
  const { foot } = floor(runs(AT.first), 60, { state: state(runs(AT.first), { rows }) });
  expect(foot).toMatchObject({ standing: { place: 2, of: 2, scaled: true } });
});

it("counts the taps that wait into the window that is shown", () => {
  const taps = [entry("a", 45), entry("b", 300, { segment: AT.second })];
  const { foot } = floor(runs(AT.first, 5), 60, { connected: false, taps });
  expect(foot).toMatchObject({ count: { rounds: 1, waiting: 1, lastSplit: 40 * SECOND, undoable: "a" } });
});

it("says that a result was entered, and that the coach will look at it", () => {
  const marks = [{ on: "tally", why: { odd: "by-hand", from: null } } as const];
  const tally = { kind: "rounds", rounds: 5, extra: 23 } as const;
  const more = { own: own([ownWindow(AT.first, 5, { entered: true, tally, marks })]) };
  const { foot } = floor(runs(AT.rest), 5, more);
  expect(foot).toMatchObject({
    entry: { entered: true, standing: { marked: true }, count: { rounds: 5, extra: 23 } },
  });
});

it("shows no place where the house shows none", () => {
  const rows = [row(ME, "Ines", { scores: scored(5, 1) }), row("b", "Bram", { scores: scored(4, 2) })];
  const more = { places: false, state: state(runs(AT.first), { rows }) };
  expect(floor(runs(AT.first), 60, more).foot).toMatchObject({ standing: { place: null, of: 0 } });
});

describe("who counts for whom", () => {
  const BIRK = "b0000000-0000-4000-8000-000000000002";
  const counter = { athlete: BIRK, name: "Birk" };
  const choice = { scaled: false, options: [] };
  const counts_for = [{ ...counter, choice, windows: [ownWindow(AT.first, 4)] }];

  it("shows the count and who makes it, while somebody else counts", () => {
    const { foot } = floor(runs(AT.first), 5, { own: { ...own([ownWindow(AT.first, 2)]), counter } });
    expect(said(foot)).toBe(`Birk counts ${AT.first}`);
    expect(foot).toMatchObject({ count: { rounds: 2 } });
  });

  it("counts all the same in a piece that a team shares", () => {
    const blocks = SESSION.blocks.map((block) =>
      block.kind.kind === "piece"
        ? { ...block, kind: { ...block.kind, sharing: { sharing: "team", size: 2 } as const } }
        : block,
    );
    const more = {
      own: { ...own([ownWindow(AT.first, 2)]), counter },
      state: state(runs(AT.first), { session: { ...SESSION, blocks } }),
    };
    expect(said(floor(runs(AT.first), 5, more).foot)).toBe(`counts ${AT.first}`);
  });

  it("counts for the one who was turned to, each with their own number, in places that stay", () => {
    const known = { own: { ...own([ownWindow(AT.first, 2)]), counts_for } };
    const me = floor(runs(AT.first), 5, known);
    const birk = floor(runs(AT.first), 5, { ...known, whom: BIRK });
    expect(me.foot).toMatchObject({ whose: { me: true }, count: { rounds: 2 } });
    expect(birk.foot).toMatchObject({ whose: { me: false, name: "Birk" }, count: { rounds: 4 } });
    const deck = (shown: typeof me) => shown.deck.map(({ whose, here }) => [whose.me, here]);
    expect(deck(me)).toEqual([
      [false, false],
      [true, true],
    ]);
    expect(deck(birk)).toEqual([
      [false, true],
      [true, false],
    ]);
  });

  it("counts for the own athlete once the count is taken back", () => {
    expect(floor(runs(AT.first), 5, { whom: BIRK })).toMatchObject({
      foot: { whose: { me: true } },
      deck: [],
    });
  });
});
