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

/** @returns the readings that every believed hypothesis leaves far off, in the order of the round */
export function suspectReadings({ setting, beliefs }: Posterior): Reading[] {
  let sum = 0;
  const counted = beliefs.filter(({ probability }) => {
    const before = sum;
    sum += probability;
    return before < believed;
  });
  return setting.prepared.flatMap(({ reading }, n) =>
    counted.every(({ fit }) => Math.abs(fit.residuals[n]!) > suspectDeviations) ? [reading] : [],
  );
}
