/**
 * The plan as one athlete does it: each movement with their own option, else with what the coach swapped for all,
 * else as written. Pure.
 */

import type {
  Amount,
  Block,
  BlockIndex,
  Choice,
  Chosen,
  Format,
  Movement,
  MovementIndex,
  MovementOption,
  Reason,
  Sides,
  State,
} from "../shared/wire";
import { formatOf, withOption } from "../shared/words";

/** One movement as the athlete does it. */
export interface Doing {
  index: MovementIndex;
  /** With the option's name, amount and load where one is done. */
  movement: Movement;
  option: MovementOption | null;
  /** Who chose the option. */
  by: "me" | "coach" | null;
}

export const AS_WRITTEN: Choice = { scaled: false, options: [] };

/** The movements of a block as the athlete does them. */
export function asIDo(
  { session, swaps }: Pick<State, "session" | "swaps">,
  block: BlockIndex,
  choice: Choice,
): Doing[] {
  const movements = session.blocks[block]?.movements ?? [];
  return movements.map((movement, index) => {
    const mine = chosenFor(choice.options, block, index);
    const chosen = mine ?? chosenFor(swaps, block, index);
    const option = chosen === undefined ? undefined : movement.options[chosen.option];
    return {
      index,
      movement: withOption(movement, option),
      option: option ?? null,
      by: option === undefined ? null : mine === undefined ? "coach" : "me",
    };
  });
}

/** The option chosen for a movement, where there is one. */
export const chosenFor = (
  options: readonly Chosen[],
  block: BlockIndex,
  movement: MovementIndex,
): Chosen | undefined => options.find((each) => each.block === block && each.movement === movement);

/** The choice with one movement done by `option`, or as written again by null. */
export function choose(
  choice: Choice,
  block: BlockIndex,
  movement: MovementIndex,
  option: number | null,
): Choice {
  const others = choice.options.filter((each) => each.block !== block || each.movement !== movement);
  if (option === null) return { scaled: choice.scaled && others.length > 0, options: others };
  return { scaled: true, options: [...others, { block, movement, option }] };
}

/** The movements that have an option for `reason`, each with the first such. */
function servedBy(blocks: readonly Block[], reason: Reason): Chosen[] {
  return blocks.flatMap(({ movements }, block) =>
    movements.flatMap(({ options }, movement) => {
      const option = options.findIndex(({ reasons }) => reasons.includes(reason));
      return option < 0 ? [] : [{ block, movement, option }];
    }),
  );
}

/** Whether every movement that has an option for `reason` is done by one. */
export const serves = (choice: Choice, blocks: readonly Block[], reason: Reason): boolean =>
  servedBy(blocks, reason).every(({ block, movement }) => {
    const chosen = chosenFor(choice.options, block, movement);
    const options = blocks[block]?.movements[movement]?.options ?? [];
    return chosen !== undefined && (options[chosen.option]?.reasons.includes(reason) ?? false);
  });

/** The choice with every movement that has an option for `reason` done by the first such; or, where it is so, back. */
export function chooseFor(choice: Choice, blocks: readonly Block[], reason: Reason): Choice {
  const back = serves(choice, blocks, reason);
  return servedBy(blocks, reason).reduce(
    (so, { block, movement, option }) => choose(so, block, movement, back ? null : option),
    choice,
  );
}

/** The reasons that any option of these blocks serves, in the order in which they come up. */
export function reasonsIn(blocks: readonly Block[]): Reason[] {
  const all = blocks.flatMap(({ movements }) =>
    movements.flatMap(({ options }) => options.flatMap(({ reasons }) => reasons)),
  );
  return [...new Set(all)];
}

/** Whether a piece of this format is counted by rounds on the phone. */
export const byRounds = (format: Format | undefined): boolean => format?.format === "amrap";

/** What one round of each movement adds to a count of reps, in the round after `rounds` full ones (rule 3.8). */
export function repsOfRound(block: Block | undefined, doing: readonly Doing[], rounds: number): number[] {
  const format = formatOf(block);
  const ladder = format?.format === "amrap" ? format.ladder : null;
  return doing.map(({ movement: { amount, sides } }) => {
    if (ladder !== null) return ladder.start + ladder.step * rounds;
    return amount === null ? 1 : repsOf(amount, sides);
  });
}

/** Reps and calories one by one, both sides together; a distance or a held position as one (common practice). */
function repsOf({ count, unit }: Amount, sides: Sides): number {
  const whole = unit === "reps" || unit === "calories" ? count : 1;
  return sides === "per-side" ? whole * 2 : whole;
}
