/**
 * What a step between two stretches costs: one that is no keying, one within a transmission, and what a transmission
 * begins and ends with. Costs are in natural-log units.
 */
import type { CarriedCase } from "./keying-case.ts";
import { costs } from "./keying-costs.ts";
import { atOnce } from "./keying-signal.ts";

/** Share of what a step costs that it costs more for each further signal that it moves. */
const seenAlike = 0.3;
/** Shares of the keyed step between which it happens at once: a battery gives way for a while after. */
const leastJump = 0.5;
const mostJump = 1.4;
const jumpTolerance = 0.12;
const sameStep = 0.25;
const returnTolerance = 0.4;
const sagTolerance = 0.9;
/** Share of what a step within a transmission costs that one of speech does. */
const voiceStep = 0.1;

/**
 * Another load is one cause however many signals it moves: battery, clamp and volts at the load may all see it, and say so
 * but once. Each drop that it moves, battery less load among them, is one chance more against it.
 */
export function otherStepCost(given: CarriedCase, i: number, j: number): number {
  let most = 0;
  let shared = 0;
  let drops = 0;
  for (let s = 0; s < given.signals.length; s++) {
    const { begins, lastSeen, uncertainty, sight } = given.signals[s]!;
    const step = atOnce(given.signals[s]!, j, Math.abs(begins[j]! - lastSeen[i]!));
    if (Number.isNaN(step)) continue;
    const full = Math.max(4 * Math.hypot(uncertainty[i]!, uncertainty[j]!), 0.3 * given.scales[s]!);
    const share = Math.min(1, (step / full) ** 2);
    if (sight === "drop") drops += share;
    else {
      shared += share;
      most = Math.max(most, share);
    }
  }
  return costs.otherStep * (most + seenAlike * (shared - most) + drops);
}

/** A step within a transmission: a contact may shift, but what falls by half and stays low is its end. */
export function innerStepCost(given: CarriedCase, idle: number, j: number): number {
  let cost = 0;
  for (let s = 0; s < given.signals.length; s++) {
    const { begins, finishes, lastSeen, uncertainty, sight } = given.signals[s]!;
    const change = begins[j]! - lastSeen[j - 1]!;
    if (Number.isNaN(change)) continue;
    const step = given.steps[s]![j]!;
    const beside = (idle < j ? finishes : begins)[idle]!;
    const height = begins[j]! - (Number.isNaN(beside) ? given.idleLevels[s]! : beside);
    const ends = step > 0 && change < -0.5 * step && height < 0.8 * step;
    // What steps up and down by a keyed step above another keyed step is another load below a transmission.
    const again = step > 0 && Math.abs(Math.abs(change) / step - 1) < sameStep && height > 0.7 * step;
    const full = Math.max(4 * Math.hypot(uncertainty[j]!, uncertainty[j - 1]!), 0.3 * given.scales[s]!);
    const weight =
      given.pulsed && sight !== "battery"
        ? voiceStep * costs.innerStep
        : ends
          ? costs.innerEnd
          : again
            ? costs.innerAgain
            : costs.innerStep;
    cost += weight * costs.otherStep * Math.min(1, (atOnce(given.signals[s]!, j, Math.abs(change)) / full) ** 2);
  }
  return cost;
}

/** Keying is a step: what a transmission begins or ends with that came slowly, or is no step of its size, is none. */
export function jumpCost(given: CarriedCase, k: number, way: 1 | -1): number {
  let cost = 0;
  for (let s = 0; s < given.signals.length; s++) {
    const { levels, jumps, jumpUncertainty } = given.signals[s]!;
    const step = given.steps[s]![k]!;
    const u = jumpUncertainty[k]!;
    if (Number.isNaN(levels[k]!) || u === Number.POSITIVE_INFINITY || !(step > 0)) continue;
    const share = (way * jumps[k]!) / step;
    const off = share < leastJump ? leastJump - share : share > mostJump ? share - mostJump : 0;
    cost += Math.min(costs.slow, (off / Math.hypot(jumpTolerance, u / step)) ** 2 / 2);
  }
  return cost;
}

export function returnCost(given: CarriedCase, i: number, j: number): number {
  let cost = 0;
  for (let s = 0; s < given.signals.length; s++) {
    const { begins, finishes, uncertainty } = given.signals[s]!;
    const change = begins[j]! - finishes[i]!;
    const step = given.steps[s]![j]!;
    if (Number.isNaN(change) || !(step > 0)) continue;
    // A battery that was drawn on comes back slowly: it may stand part of the way for a while.
    const tolerance = change > 0 ? sagTolerance : returnTolerance;
    const full = Math.max(4 * Math.hypot(uncertainty[i]!, uncertainty[j]!), tolerance * step);
    cost += costs.otherStep * Math.min(1, (change / full) ** 2);
  }
  return cost;
}
