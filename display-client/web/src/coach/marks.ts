/**
 * What is marked for the coach, as a short list to settle: each with why, when, and what it is worth now. Pure.
 *
 * Taps of one window that are marked for the same reason are one item, so that a child with a phone makes one line and
 * not a hundred. A team's marks stand once, though each of its members has them.
 */
import { minutes, SECOND } from "../shared/clock";
import type {
  AthleteId,
  HouseTime,
  Mark,
  Marked,
  Odd,
  OwnWindow,
  Person,
  Phase,
  Scoring,
  Segment,
  SegmentIndex,
  Session,
  Span,
  Standing,
  Tally,
  TapId,
  WhyNot,
} from "../shared/wire";
import { windowOf } from "./scoring";
import { parties, teamSize } from "./teams";
import { tallyText } from "./words";

export interface Item {
  /** Stays the same while the item is about the same. */
  key: string;
  /** Whose it is: somebody, or all of a team. */
  athletes: readonly AthleteId[];
  name: string;
  segment: SegmentIndex;
  /** Why it is marked and when it was, as sentences. */
  words: string;
  what: { on: "taps"; taps: readonly TapId[]; count: boolean } | { on: "tally"; tally: Tally };
}

/** When a tap was made that has no class time of its own, in words. */
export type InWords = (segment: SegmentIndex, made: HouseTime) => string;

/** Everything that is marked in the windows of work, the latest window first, each by name. */
export function marked(
  people: readonly Person[],
  segments: readonly Segment[],
  session: Session,
  inWords: InWords,
): Item[] {
  const windows = segments.map(({ block }, index) => ({ index, shared: teamSize(session, block) > 1 }));
  return windows.toReversed().flatMap(({ index, shared }) =>
    parties(people, shared).flatMap(({ members, name }) => {
      const own = members[0] === undefined ? undefined : windowOf(members[0], index);
      const whose = { athletes: members.map(({ athlete }) => athlete), name, segment: index };
      return own === undefined
        ? []
        : itemsOf(own, inWords).map((item) => ({
            ...whose,
            ...item,
            key: `${whose.athletes[0]} ${item.key}`,
          }));
    }),
  );
}

type Bare = Pick<Item, "key" | "words" | "what">;
type MarkedTap = Extract<Marked, { on: "tap" }>;

function itemsOf(own: OwnWindow, inWords: InWords): Bare[] {
  const byReason = new Map<string, MarkedTap[]>();
  const odd: Odd[] = [];
  for (const mark of own.marks ?? []) {
    if (mark.on === "tally") odd.push(mark.why);
    else byReason.set(reason(mark.worth), [...(byReason.get(reason(mark.worth)) ?? []), mark]);
  }
  const taps = [...byReason.values()].map((marks) => tapsItem(marks, (made) => inWords(own.segment, made)));
  return odd.length === 0 ? taps : [...taps, tallyItem(own, odd)];
}

const reason = (worth: Standing): string =>
  worth.standing === "counted" ? `+${worth.mark}` : `-${worth.why}`;

function tapsItem(marks: readonly MarkedTap[], inWords: (made: HouseTime) => string): Bare {
  const taps = marks.map(({ tap }) => tap);
  const worth = marks[0]?.worth;
  const count = worth?.standing === "counted";
  const said =
    worth?.standing === "counted" ? MARKS[worth.mark ?? "other-segment"] : NOT[worth?.why ?? "not-work"];
  const what = taps.length === 1 ? "A tap" : `${taps.length} taps`;
  return {
    key: taps[0] ?? "",
    words: `${what} ${when(marks, inWords)}: ${said}.`,
    what: { on: "taps", taps, count },
  };
}

function when(marks: readonly MarkedTap[], inWords: (made: HouseTime) => string): string {
  const times = marks.map(({ worth, made_at: made }) =>
    worth.standing === "counted" ? classTime(worth.at) : inWords(made),
  );
  const [first, last] = [times[0] ?? "", times.at(-1) ?? ""];
  return first === last ? `at ${first}` : `from ${first} to ${last}`;
}

const classTime = (span: Span): string => minutes(Math.floor(span / SECOND));

const MARKS: Record<Mark, string> = {
  quick: "sooner after the round before than a round can take",
  "after-bell": "made within 2 s after the bell",
  "after-hold": "made within 2 s after the hold",
  "ahead-of-time": "dated later than it can have been made; that phone’s clock is off",
  backdated: "dated long before it came, from a phone that was connected all the while",
  "other-segment": "made for another stretch of work than the clock was in",
};

const NOT: Record<WhyNot, string> = {
  held: "made while the clock was held, which that phone had not heard",
  "lead-in": "made in a lead-in that the phone had not heard of",
  "not-work": "made while no work was under way",
  "after-bell": "made more than 2 s after the bell",
  "team-mate": "made within 5 s of a team mate’s, so it may be the same round",
  "other-counts": "made while somebody else was to count for them",
  repeated: "made before this work was started anew",
  twice: "made at once with another",
  undone: "taken back",
  "set-since": "the tally was set later on",
  "not-this-way": "this piece is not counted in this way",
  already: "it was counted already",
  settled: "settled before",
};

function tallyItem({ tally, scoring, segment }: OwnWindow, odd: readonly Odd[]): Bare {
  const words = odd.map((why) => oddWords(why, tally, scoring)).join(" ");
  return { key: `tally ${segment} ${JSON.stringify(odd)}`, words, what: { on: "tally", tally } };
}

function oddWords(odd: Odd, tally: Tally, scoring: Scoring): string {
  const now = tallyText(tally, scoring);
  switch (odd.odd) {
    case "by-hand":
      return `Entered by hand: ${now}, ${counted(odd.from, scoring)}.`;
    case "far-from-counter":
      return `Entered by hand: ${now}, far from what was counted for them${odd.from === null ? "" : `: ${tallyText(odd.from, scoring)}`}.`;
    case "far-over":
      return `${now} is far over the ${odd.most} rounds that the sheet expects at most.`;
  }
}

const counted = (from: Tally | null, scoring: Scoring): string =>
  from === null ? "where nothing was counted" : `where ${tallyText(from, scoring)} was counted`;

/** Class time of a segment at an instant, in words, where the clock as it stands now tells it. */
export function classTimeAt(phase: Phase, segment: SegmentIndex, at: HouseTime): string | null {
  if (phase.phase === "held" && phase.segment === segment) return `${classTime(phase.class_time)}, held`;
  if (phase.phase !== "running" || phase.segment !== segment || at < phase.anchor) return null;
  return classTime(phase.at_anchor + at - phase.anchor);
}
