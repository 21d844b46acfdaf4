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

/**
 * @param count how many; beliefs take turns by systematic sampling, so that shares are exact to one draw. Each has chance
 * of its own, so that one draw more of one, as machines that round the last digit differently may have, leaves the others
 * @param before true: from what was believed before the readings
 */
export function drawBelief(posterior: Posterior, count: number, before = false): Draw[] {
  const draws: Draw[] = [];
  let cumulative = 0;
  for (const belief of posterior.beliefs) {
    cumulative += before ? belief.priorProbability : belief.probability;
    const normal = seededNormal(seedOf(belief));
    while (draws.length < count && (draws.length + 0.5) / count < cumulative)
      draws.push(drawOf(belief, normal, before));
  }
  return draws;
}

/** The same number for the same faults (FNV-1a, from memory). */
function seedOf({ hypothesis }: Belief): number {
  let hash = 2166136261;
  for (const { cause, part } of hypothesis.faults) {
    for (const letter of `${cause} ${part};`) hash = Math.imul(hash ^ letter.charCodeAt(0), 16777619);
  }
  return hash >>> 0;
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
