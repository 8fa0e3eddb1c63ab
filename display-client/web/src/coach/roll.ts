/**
 * Roll call (rule 3.10): the coach goes through the names on a large keypad. Pure but for `send`, which is handed in.
 *
 * Whoever has no tally yet comes by themselves. An entry goes out at once and the next name comes without waiting for
 * the house; what it refuses comes back with the reason. A time is typed as it is read, 842 for 8:42.
 */
import type { AthleteId, Outcome, Person, Scoring, SegmentIndex, Tally } from "../shared/wire";
import type { Entry } from "./entry";
import { tallyIn, windowOf } from "./scoring";
import { type Party, parties } from "./teams";

/** More than any tally has: `999+9999`. */
const TYPED_MAX = 8;

/** What was entered here for somebody, until the house's own tally says the same. */
interface Entered {
  tally: Tally;
  state: "on-the-way" | "kept" | "refused";
  /** Why it was refused. */
  text: string;
}

export interface RollSurroundings {
  send(athlete: AthleteId, segment: SegmentIndex, tally: Tally, name: string): Promise<Outcome>;
  changed(): void;
}

/** The people of the moment, and how the window is counted. */
export interface Floor {
  people: readonly Person[];
  scoring: Scoring;
  shared: boolean;
}

export class RollCall {
  /** What is typed for the present name. */
  typed = "";
  /** What is wrong with it. */
  problem = "";
  private present: AthleteId | null = null;
  /** Those who were at the front, in order, for the way back. */
  private past: AthleteId[] = [];
  private readonly skipped = new Set<AthleteId>();
  private readonly entered = new Map<AthleteId, Entered>();

  /**
   * @param only for this one alone, as when a marked tally is changed; `then` is called once it is entered
   */
  constructor(
    readonly segment: SegmentIndex,
    private readonly around: RollSurroundings,
    readonly only: AthleteId | null = null,
    private readonly then: (() => void) | null = null,
  ) {
    this.present = only;
  }

  /** Entries that the house has not yet answered. */
  get onTheWay(): number {
    return [...this.entered.values()].filter(({ state }) => state === "on-the-way").length;
  }

  /** Whose turn it is; null when everybody has a tally or was skipped. */
  party(floor: Floor): Party | null {
    const all = parties(floor.people, floor.shared);
    const at = (athlete: AthleteId | null) =>
      all.find(({ members }) => members.some((member) => member.athlete === athlete)) ?? null;
    const present = at(this.present);
    if (present !== null) return present;
    if (this.only !== null) return at(this.only);
    const next = this.open(floor).find((party) => !this.skipped.has(idOf(party))) ?? null;
    this.present = next === null ? null : idOf(next);
    return next;
  }

  /** Those without a tally. */
  open(floor: Floor): Party[] {
    return parties(floor.people, floor.shared).filter((party) => {
      const { state } = this.entered.get(idOf(party)) ?? {};
      return state === "refused" || this.tallyOf(party) === null;
    });
  }

  /** What somebody has: what was just entered here, else what the house says. */
  tallyOf(party: Party): Tally | null {
    const entered = this.entered.get(idOf(party));
    const [first] = party.members;
    const told = first === undefined ? null : tallyIn(windowOf(first, this.segment));
    return entered?.state === "on-the-way"
      ? entered.tally
      : (told ?? (entered?.state === "kept" ? entered.tally : null));
  }

  /** Why the house refused what was entered for somebody. */
  refusal(party: Party): string {
    const entered = this.entered.get(idOf(party));
    return entered?.state === "refused" ? entered.text : "";
  }

  /** A key of the keypad. */
  press(key: string): void {
    this.problem = "";
    if (key === "erase") this.typed = this.typed.slice(0, -1);
    else if (this.fits(key)) this.typed += key;
    this.around.changed();
  }

  private fits(key: string): boolean {
    if (this.typed.length + key.length > TYPED_MAX) return false;
    if (key === "+") return this.typed !== "" && !this.typed.includes("+");
    if (key === "−") return this.typed === "";
    return !key.startsWith(".") || !this.typed.includes(".");
  }

  /** Takes what is typed as this entry for the present name, and goes on to the next. */
  enter(entry: Entry, floor: Floor): void {
    const party = this.party(floor);
    if (party === null) return;
    const read = entry.read((field) => fieldOf(entry, field, this.typed));
    if (entry.fields.length > 0 && this.typed === "") this.problem = "Type the result first, or skip.";
    else if ("problem" in read) this.problem = read.problem;
    else {
      this.sendOut(party, read.tally);
      this.leave(party, floor);
    }
    this.around.changed();
  }

  private sendOut(party: Party, tally: Tally): void {
    const athlete = idOf(party);
    const entered: Entered = { tally, state: "on-the-way", text: "" };
    this.entered.set(athlete, entered);
    this.skipped.delete(athlete);
    void this.around.send(athlete, this.segment, tally, party.name).then((outcome) => {
      // Something else may have been entered for them since.
      if (this.entered.get(athlete) !== entered) return;
      const refused = outcome.outcome === "refused";
      entered.state = refused ? "refused" : "kept";
      entered.text = refused ? outcome.text : "";
      this.around.changed();
    });
  }

  private leave(party: Party, floor: Floor): void {
    this.past.push(idOf(party));
    this.present = null;
    this.typed = "";
    this.problem = "";
    this.party(floor);
    if (this.only !== null) this.then?.();
  }

  /** On to the next name without an entry; this one comes again when the others are through. */
  skip(floor: Floor): void {
    const party = this.party(floor);
    if (party !== null) {
      this.skipped.add(idOf(party));
      this.leave(party, floor);
    }
    this.around.changed();
  }

  /** Back to the name before, to enter something else. */
  back(): void {
    const before = this.past.pop();
    if (before !== undefined) {
      this.present = before;
      this.skipped.delete(before);
      this.typed = "";
      this.problem = "";
    }
    this.around.changed();
  }

  /** Those who were skipped come again. */
  again(): void {
    this.skipped.clear();
    this.around.changed();
  }

  get canGoBack(): boolean {
    return this.past.length > 0 && this.only === null;
  }
}

const idOf = ({ members }: Party): AthleteId => members[0]?.athlete ?? "";

/** Which keys a window's results need beside the digits. */
export function extraKeys(scoring: Scoring): readonly string[] {
  switch (scoring.by) {
    case "rounds":
      return ["+"];
    case "load":
      return [".", ".5", "−"];
    case "time":
    case "amount":
    case "made":
    case "done":
      return [];
  }
}

/** What was typed as it reads: `7 + 12`, `8:42`, `62.5`; nothing where nothing was. */
export function typedWords(entry: Entry, typed: string): string {
  return entry.fields
    .map(({ name }) => fieldOf(entry, name, typed))
    .filter((text) => text !== "")
    .join(" + ");
}

function fieldOf(entry: Entry, field: string, typed: string): string {
  switch (field) {
    case "rounds":
      return typed.split("+")[0] ?? "";
    case "extra":
      return typed.split("+")[1] ?? "";
    case "time":
      return entry.key === "finished" && typed.length > 2
        ? `${typed.slice(0, -2)}:${typed.slice(-2)}`
        : typed;
    default:
      return typed;
  }
}

/** What a key of a keyboard asks of the roll. */
export type RollKey = { press: string } | { end: number } | "skip" | "back";

/**
 * Digits and what goes with them; Enter ends a name in the usual way, c (at the cap) or n (not made) in the other; down
 * skips, up goes back. Arrows sideways and the page keys stay a clicker's, for the clock.
 */
export function rollKey(key: string, scoring: Scoring): RollKey | null {
  if (/^\d$/.test(key)) return { press: key };
  if (key === "Enter") return { end: 0 };
  if (key === "Backspace") return { press: "erase" };
  if (key === "ArrowDown") return "skip";
  if (key === "ArrowUp") return "back";
  if ((key === "c" && scoring.by === "time") || (key === "n" && scoring.by === "made")) return { end: 1 };
  const typed = key === "," ? "." : key === "-" ? "−" : key;
  return extraKeys(scoring).includes(typed) ? { press: typed } : null;
}
