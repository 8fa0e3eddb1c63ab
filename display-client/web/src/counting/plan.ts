/**
 * The plan as one athlete does it: each movement with their own option, else with what the coach swapped for all,
 * else as written. Pure.
 */

import type {
  Block,
  BlockIndex,
  Choice,
  Chosen,
  Movement,
  MovementIndex,
  MovementOption,
  Reason,
  State,
} from "../shared/wire";
import { formatOf, withOption } from "../shared/words";
import { repsOf } from "./scoring";

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

/** Reps of each movement in the round after `rounds` full ones, where the heading gives them. */
function fromHeading(block: Block | undefined, rounds: number): number | undefined {
  const format = formatOf(block);
  if (format?.format === "for-time") return format.scheme[rounds] ?? format.scheme.at(-1);
  const ladder = format?.format === "amrap" ? format.ladder : null;
  return ladder === null ? undefined : ladder.start + ladder.step * rounds;
}

/** What one round of each movement adds to a count of reps, in the round after `rounds` full ones (rule 3.8). */
export function repsOfRound(block: Block | undefined, doing: readonly Doing[], rounds: number): number[] {
  const each = fromHeading(block, rounds);
  return doing.map(({ movement }) => each ?? repsOf(movement));
}

/** The movements with the reps of the round after `rounds` full ones, where the heading gives them. */
export function inRound(block: Block | undefined, doing: Doing[], rounds: number): Doing[] {
  const count = fromHeading(block, rounds);
  if (count === undefined) return doing;
  const amount = { count, unit: "reps" } as const;
  return doing.map((each) => ({ ...each, movement: { ...each.movement, amount } }));
}
