/** The movements as everyone does them. Pure. */

import type { Movement, State } from "../shared/wire";
import { withOption } from "../shared/words";

/** The movements of a block as they stand now, with what the coach swapped for all. */
export function movementsNow(
  { session, swaps }: Pick<State, "session" | "swaps">,
  block: number,
): Movement[] {
  const movements = session.blocks[block]?.movements ?? [];
  return movements.map((movement, index) => {
    const swap = swaps.find((swap) => swap.block === block && swap.movement === index);
    return withOption(movement, swap === undefined ? undefined : movement.options[swap.option]);
  });
}
