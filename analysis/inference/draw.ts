/**
 * Draws from belief: each draw is one way the vehicle may be, in the proportion in which it is believed.
 * Every figure with an interval is read off them, so that a skewed or two-humped belief is shown as it is.
 */
import { solveUpperInPlace } from "./linear-algebra.ts";
import type { Belief, Posterior } from "./posterior.ts";
import { seededNormal } from "./seeded-normal.ts";

export interface Draw {
  readonly belief: Belief;
  /** the unknowns in their own units */
  readonly values: Float64Array;
}

const seed = 20261;

/**
 * @param count how many; beliefs take turns by systematic sampling, so that shares are exact to one draw
 * @param before true: from what was believed before the readings
 */
export function drawBelief(posterior: Posterior, count: number, before = false): Draw[] {
  const normal = seededNormal(seed);
  const draws: Draw[] = [];
  let cumulative = 0;
  for (const belief of posterior.beliefs) {
    cumulative += before ? belief.priorProbability : belief.probability;
    while (draws.length < count && (draws.length + 0.5) / count < cumulative)
      draws.push(drawOf(belief, normal, before));
  }
  return draws;
}

/** One draw from one belief; `before`: from its prior. */
export function drawOf(belief: Belief, normal: () => number, before = false): Draw {
  const { model, fit } = belief;
  const unknowns = new Float64Array(model.unknowns);
  for (let k = 0; k < unknowns.length; k++) unknowns[k] = normal();
  if (!before) {
    solveUpperInPlace(fit.precisionFactor, unknowns.length, unknowns);
    for (let k = 0; k < unknowns.length; k++) unknowns[k]! += fit.optimum[k]!;
  }
  return { belief, values: model.decode(unknowns) };
}
