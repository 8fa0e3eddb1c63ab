/**
 * Names as the wall's board shows them: short, for a row is read from afar, and never alike for two people. The
 * server has already left out what somebody wants left out (rule 4.6). Pure.
 */
import type { AthleteId, Row } from "../shared/wire";

type Named = Pick<Row, "athlete" | "name">;

/** `Mirela`; `Mirela H.` where another is called so; the whole name where that would still read alike. */
export function shortNames(rows: readonly Named[]): Map<AthleteId, string> {
  const forms = rows.map(({ name }) => [firstName(name), withInitial(name)]);
  const seen = new Map<string, number>();
  for (const form of forms.flatMap((each) => [...new Set(each)])) seen.set(form, (seen.get(form) ?? 0) + 1);
  return new Map(
    rows.map(({ athlete, name }, index) => [
      athlete,
      forms[index]?.find((form) => seen.get(form) === 1) ?? name,
    ]),
  );
}

const words = (name: string): string[] => name.split(/\s+/).filter((word) => word !== "");

const firstName = (name: string): string => words(name)[0] ?? name;

function withInitial(name: string): string {
  const [first, ...others] = words(name);
  const last = others.at(-1);
  return first === undefined || last === undefined ? name : `${first} ${[...last][0]}.`;
}

/**
 * A name cut to the room that there is, from its first word on, so that what tells two people apart is kept:
 * `Alex. H.` of `Alexandra H.`; then from the last, `A. Halv.` of `A. Halvorsen`.
 */
export function cutName(name: string, fits: (name: string) => boolean): string {
  const [first = "", ...others] = words(name);
  const shorter = (word: string) =>
    [...word].map((_, gone) => `${[...word].slice(0, -1 - gone).join("")}.`).slice(0, -1);
  const last = others.at(-1) ?? "";
  const initial = `${[...first][0] ?? ""}.`;
  const forms = [
    name,
    ...shorter(first).map((form) => [form, ...others].join(" ")),
    ...shorter(last).map((form) => `${initial} ${form}`),
  ];
  return forms.find(fits) ?? initial;
}

/** The members of a team together: `Bo & Ines`, by their initials where that is too long; nameless ones are left out. */
export function teamName(team: number, members: readonly string[], fits: (name: string) => boolean): string {
  const named = members.filter((name) => name !== "");
  if (named.length === 0) return `Team ${team}`;
  const initials = named.map((name) => `${[...name][0]}.`);
  const forms = [joined(named), initials.join(" ")];
  return forms.find(fits) ?? initials.join(" ");
}

const joined = (names: readonly string[]): string =>
  names.length < 3 ? names.join(" & ") : `${names.slice(0, -1).join(", ")} & ${names.at(-1)}`;

/**
 * Short names and the order of names, worked out anew only when somebody comes, goes, or changes what is shown of
 * their name: taps change rows many times a second.
 */
export class Names {
  private known: readonly Named[] = [];
  private shorts = new Map<AthleteId, string>();
  private orders = new Map<AthleteId, number>();
  private readonly collator = new Intl.Collator();

  take(rows: readonly Named[]): void {
    const same =
      rows.length === this.known.length &&
      rows.every(({ athlete, name }, index) => {
        const before = this.known[index];
        return before?.athlete === athlete && before.name === name;
      });
    if (same) return;
    this.known = rows.map(({ athlete, name }) => ({ athlete, name }));
    this.shorts = shortNames(rows);
    const sorted = this.known.toSorted((a, b) => this.compare(a.name, b.name));
    this.orders = new Map(sorted.map(({ athlete }, index) => [athlete, index]));
  }

  of(athlete: AthleteId): string {
    return this.shorts.get(athlete) ?? "";
  }

  /** Where somebody stands among all by name; who has none comes last. */
  order(athlete: AthleteId): number {
    return this.orders.get(athlete) ?? 0;
  }

  private compare(a: string, b: string): number {
    if (a === "" || b === "") return Number(a === "") - Number(b === "");
    return this.collator.compare(a, b);
  }
}
