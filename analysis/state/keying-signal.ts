/**
 * One thing that moves with the load's current, as keying is sought in it: a level for each stretch of a group of logs.
 */
import type { Seconds } from "../units.ts";
import type { Sight } from "./movement.ts";

/** One thing that moves with the load's current, turned so that keying raises it. */
export interface KeyingSignal {
  /** a level for each stretch, NaN where it was not seen */
  readonly levels: Float64Array;
  /** the levels as each stretch begins and as it ends */
  readonly begins: Float64Array;
  readonly finishes: Float64Array;
  readonly uncertainty: Float64Array;
  /** what of the step at each stretch's beginning happened at once, and how surely; all zero and infinite where not asked */
  readonly jumps: Float64Array;
  readonly jumpUncertainty: Float64Array;
  readonly sight: Sight;
  /** from one sample to the next, of the slowest log behind the signal */
  readonly intervalSeconds: Seconds;
  /** battery's volts less the load's: everything between the two */
  readonly wholeRun: boolean;
  /** the parts of the loop that a drop goes across, by id; empty elsewhere */
  readonly across: readonly string[];
  /** stretches of one number are one level to the logs behind the signal: between them they saw no step */
  readonly run: Int32Array;
  /** step expected when keyed, in the signal's unit, and by what factor it may be off; null where nothing is known */
  readonly expected: { readonly step: number; readonly factor: number } | null;
  /** 1 where a meter across part of the loop showed over-range */
  readonly overRange: Uint8Array;
  /** idle level over the keyed step where the level itself tells (a clamp, a drop); null elsewhere */
  readonly idleShare: number | null;
  /** idle over keyed step of the load's current, as declared or as is usual: by so much a set falls that is not fed */
  readonly restShare: number;
  /** and at most by so much of a keyed step */
  readonly mostRestShare: number;
}

/** The same signal with stretches taken out. */
export function silenced<Signal extends KeyingSignal>(signal: Signal, silent: (k: number) => boolean): Signal {
  const without = (values: Float64Array) => values.map((value, k) => (silent(k) ? Number.NaN : value));
  return {
    ...signal,
    levels: without(signal.levels),
    begins: without(signal.begins),
    finishes: without(signal.finishes),
  };
}

/** Of a change of level as stretch k begins what may have been a step: the rest came slowly. */
export function atOnce(
  { jumps, jumpUncertainty }: Pick<KeyingSignal, "jumps" | "jumpUncertainty">,
  k: number,
  change: number,
): number {
  return Math.min(change, Math.abs(jumps[k]!) + 2 * jumpUncertainty[k]!);
}
