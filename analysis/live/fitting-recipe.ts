/** Which of several recipes reads what a meter has sent so far. Goes in: recipes and bytes. Comes out: the one that reads them. */
import type { Chunk } from "../teach/framing.ts";
import { type Recipe, readStream } from "../teach/recipe.ts";

export interface Fit {
  /** frames that gave a value or said over-range */
  readonly good: number;
  readonly damaged: number;
  /** the latest value, in the unit that the meter sends */
  readonly last: { readonly value: number; readonly unit: string } | null;
}

export function fitOf(recipe: Recipe, chunks: readonly Chunk[]): Fit {
  const readings = readStream(recipe, chunks);
  const damaged = readings.filter((reading) => "damaged" in reading).length;
  const last = readings.findLast((reading) => "value" in reading);
  return { good: readings.length - damaged, damaged, last: last ? { value: last.value, unit: last.unit } : null };
}

/** So many readings say that it is no accident. */
const enough = 2;
/** Listening begins in the middle of a frame, and noise takes one now and then. */
const damagedShare = 1 / 3;

/**
 * @param recipes the preferred first; one whose frames carry a check goes before one whose do not
 * @returns null where none of them reads these bytes
 */
export function fittingRecipe<R extends { readonly recipe: Recipe }>(
  recipes: readonly R[],
  chunks: readonly Chunk[],
): R | null {
  const fitting = recipes.filter(({ recipe }) => {
    const { good, damaged, last } = fitOf(recipe, chunks);
    return last !== null && good >= enough && damaged <= damagedShare * (good + damaged);
  });
  return fitting.find(({ recipe }) => recipe.frame.checks.length > 0) ?? fitting[0] ?? null;
}
