/** Who shares a tally: the teams of a class, and how they are made and changed (rule 3.6). Pure. */
import type { AthleteId, BlockIndex, Person, Segment, SegmentIndex, Session } from "../shared/wire";
import { namesWords } from "./words";

/** Those who have one tally between them in a window: a team, or somebody alone. */
export interface Party {
  members: readonly Person[];
  name: string;
}

/** How many people share a tally in a block; 1 where everybody has their own. */
export function teamSize(session: Session, block: BlockIndex | undefined): number {
  const kind = block === undefined ? undefined : session.blocks[block]?.kind;
  return kind?.kind === "piece" && kind.sharing.sharing === "team" ? kind.sharing.size : 1;
}

/** Whoever is in the class, by name; where a tally is shared, each team once. */
export function parties(people: readonly Person[], shared: boolean): Party[] {
  const here = people.filter((person) => person.here).sort((a, b) => a.name.localeCompare(b.name));
  return here.flatMap((person) => {
    const members = shared ? mates(here, person) : [person];
    return members[0] === person ? [{ members, name: namesWords(members.map(({ name }) => name)) }] : [];
  });
}

const mates = (people: readonly Person[], person: Person): Person[] =>
  person.team === null ? [person] : people.filter(({ team }) => team === person.team);

/** The next piece for teams from a segment on, that one included, and how many are in a team there. */
export function teamPiece(
  segments: readonly Segment[],
  from: SegmentIndex,
  session: Session,
): { block: BlockIndex; size: number } | null {
  const found = segments.find(
    ({ block, dropped, kind }, index) =>
      index >= from && !dropped && kind === "work" && teamSize(session, block) > 1,
  );
  return found === undefined ? null : { block: found.block, size: teamSize(session, found.block) };
}

/** The teams there are, each with its members in the order in which they came. */
export function teamsOf(people: readonly Person[]): AthleteId[][] {
  const teams: AthleteId[][] = [];
  for (const { athlete, team, here } of people) {
    if (team === null || !here) continue;
    teams[team - 1] ??= [];
    teams[team - 1]?.push(athlete);
  }
  return teams.filter((team) => team !== undefined);
}

/** Those who are in no team, in the order in which they came. */
export const without = (people: readonly Person[]): Person[] =>
  people.filter(({ here, team }) => here && team === null);

/** Puts those without a team together as they came, so many to a team; who is left over stays without. */
export function pairUp(people: readonly Person[], size: number): AthleteId[][] {
  const left = without(people).map(({ athlete }) => athlete);
  const made = teamsOf(people);
  for (let at = 0; at + size <= left.length; at += size) made.push(left.slice(at, at + size));
  return made;
}

/** Moves somebody into a team by its place in the list, into a new one at its end, or with `null` out of any. */
export function moved(
  teams: readonly AthleteId[][],
  athlete: AthleteId,
  to: number | "new" | null,
): AthleteId[][] {
  const rest = teams.map((team, at) => {
    const others = team.filter((member) => member !== athlete);
    return at === to ? [...others, athlete] : others;
  });
  return [...rest, ...(to === "new" ? [[athlete]] : [])].filter((team) => team.length > 0);
}
