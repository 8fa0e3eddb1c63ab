/** What a team mate's touches say on this phone (rule 3.6). Pure. */
import type { Marked, OwnView, OwnWindow } from "../shared/wire";
import { nameOf } from "./who";

/** A sentence where a team mate has touched for a round that is the own one already; else null. */
export function teamWords(before: OwnView | null, own: OwnView): string | null {
  const mine = own.windows.some(({ segment, marks, last_by }) => {
    const known = before?.windows.find((window) => window.segment === segment);
    return known !== undefined && last_by === own.athlete && doubles(marks) > doubles(known.marks);
  });
  return mine ? "You have that round. Your team mate touched for it too: it counts once." : null;
}

/** How many taps do not count since a team mate had the round. */
const doubles = (marks: readonly Marked[] = []): number =>
  marks.filter((mark) => mark.on === "tap" && "why" in mark.worth && mark.worth.why === "team-mate").length;

/** Who had the last round, and whose turn it is; nothing where nobody shares the tally. */
export function turnWords(
  who: Parameters<typeof nameOf>[0],
  window: OwnWindow | undefined,
  me: string,
): string[] {
  if (window?.turn == null) return [];
  const { last_by: last, turn } = window;
  return [
    last === null ? "" : `last: ${last === me ? "you" : nameOf(who, last)}`,
    turn === me ? "your turn" : `${nameOf(who, turn)}’s turn`,
  ];
}
