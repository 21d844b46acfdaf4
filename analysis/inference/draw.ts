/**
 * Draws from belief: each draw is one way the vehicle may be, in the proportion in which it is believed.
 * Every figure with an interval is read off them, so that a skewed or two-humped belief is shown as it is.
 */
import { curvedDrawer } from "./curved-draw.ts";
import type { Belief, Posterior } from "./posterior.ts";
import { readingTail } from "./prior.ts";
import { seededNormal } from "./seeded-normal.ts";
import { unknownSlope } from "./unknown.ts";

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
    const wanted = Math.min(Math.ceil(count * cumulative - 0.5), count) - draws.length;
    if (wanted > 0) draws.push(...drawsOf(belief, wanted, seededNormal(seedOf(belief)), before));
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

/** Draws from one belief; `before`: from its prior. */
export function drawsOf(belief: Belief, count: number, normal: () => number, before = false): Draw[] {
  const { model } = belief;
  const draw = before ? () => Float64Array.from({ length: model.unknowns }, normal) : drawerOf(belief);
  return Array.from({ length: count }, () => ({ belief, values: model.decode(draw(normal)) }));
}

function drawerOf({ model, fit }: Belief): (normal: () => number) => Float64Array {
  const { unknowns, residuals, evaluate, unknownList } = model;
  const slopeAt = (k: number, z: number) => unknownSlope(unknownList[k]!, z);
  return curvedDrawer({ unknowns, residuals, evaluate, slopeAt }, fit, readingTail);
}
