/**
 * Readings that contradict the others: what no cause explains is named as suspect instead of being explained by a fault.
 * The fit itself hardly listens to such a reading (Student's t); here it is named.
 */
import type { Reading } from "../reading/reading.ts";
import type { Posterior } from "./posterior.ts";

/** A reading this many of its doubts from every explanation that is believed is not explained by any. */
const suspectDeviations = 3.8;
/** Explanations that are believed, one beside the other, to this sum. */
const believed = 0.9;

/**
 * @returns where every believed hypothesis leaves some reading far off, those that the likeliest one does, in the order
 * of the round; of two that contradict each other that is the one which fits the rest less
 */
export function suspectReadings({ setting, beliefs }: Posterior): Reading[] {
  let sum = 0;
  const counted = beliefs.filter(({ probability }) => {
    const before = sum;
    sum += probability;
    return before < believed;
  });
  const isFar = (residual: number) => Math.abs(residual) > suspectDeviations;
  if (!counted.every(({ fit }) => fit.residuals.some(isFar))) return [];
  const [likeliest] = counted;
  return setting.prepared.flatMap(({ reading }, n) => (isFar(likeliest!.fit.residuals[n]!) ? [reading] : []));
}
