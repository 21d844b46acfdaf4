/**
 * What is known of a keyed step before it is sought: what follows from the declared currents, and how steps with the
 * engine off and running stand to each other. Comes out: costs, natural-log units.
 */
import type { KeyingSignal } from "./keying-signal.ts";

/** Speech draws so much less or more than the declared current for a moment. */
const voiceFactor = 2;

/** What a step far off the declared one costs at most: a clamp shows the very amps, a battery's sag only what follows from them. */
const mostUnexpected = { current: 14, others: 6 } as const;

export function unexpected({ expected, sight }: KeyingSignal, step: number, pulsed: boolean): number {
  if (expected === null) return 0;
  const factor = pulsed ? voiceFactor * expected.factor : expected.factor;
  const most = sight === "current" ? mostUnexpected.current : mostUnexpected.others;
  return Math.min(most, (Math.log(step / expected.step) / Math.log(factor)) ** 2 / 2);
}

/** The run between battery and load is the same whether the battery is charged or not: its share of a step remains. */
const leastRemains = 0.25;
const remainsTolerance = 0.2;
const mostUnlike = 30;

export function unlike(
  { sight }: KeyingSignal,
  step: number,
  settled: Float64Array,
  regimes: Uint8Array,
  regime: number,
): number {
  const other = settled.find((known, k) => known > 0 && regimes[k] !== regime);
  if (sight !== "load" || other === undefined) return 0;
  const remains = Math.min(step / other, other / step);
  return remains > leastRemains
    ? 0
    : Math.min(mostUnlike, (Math.log(leastRemains / remains) / remainsTolerance) ** 2 / 2);
}
