/**
 * One level from the plateaus of one state in one log: their weighted mean, strays left out.
 */
import type { Plateau } from "../state/plateau.ts";

export interface Level {
  readonly value: number;
  /** standard uncertainty: noise within the plateaus, or a share of their spread where that is larger */
  readonly uncertainty: number;
}

/**
 * Share of the spread between transmissions that counts as doubt. Most of it is the battery sagging and recovering,
 * which moves all logs of the round alike and leaves their differences; common practice.
 */
const spreadShare = 0.35;
/** A plateau this many robust deviations from the middle is taken as unsettled. */
const strayLimit = 5;

/**
 * @param plateaus at least one, all of one state
 */
export function levelOf(plateaus: readonly Plateau[], resolution: number): Level {
  const middle = weightedMedian(plateaus);
  const floor = Math.max(resolution, Math.abs(middle) * 0.002);
  const deviations = plateaus.map((plateau) => Math.abs(plateau.value - middle)).sort((a, b) => a - b);
  const spread = 1.4826 * deviations[deviations.length >> 1]!;
  const kept = plateaus.filter(({ value }) => Math.abs(value - middle) <= strayLimit * Math.max(spread, floor));
  const weight = kept.reduce((sum, plateau) => sum + weightOf(plateau), 0);
  const share = (plateau: Plateau) => weightOf(plateau) / weight;
  const value = kept.reduce((sum, plateau) => sum + share(plateau) * plateau.value, 0);
  const within = Math.hypot(...kept.map((plateau) => share(plateau) * plateau.uncertainty));
  const between = Math.sqrt(kept.reduce((sum, plateau) => sum + share(plateau) ** 2 * (plateau.value - value) ** 2, 0));
  return { value, uncertainty: Math.max(within, spreadShare * between) };
}

/** Long plateaus count for more, but not so much that one of them drowns every transmission. */
const weightOf = (plateau: Plateau): number => Math.sqrt(Math.max(plateau.samples, 1));

function weightedMedian(plateaus: readonly Plateau[]): number {
  const sorted = plateaus.toSorted((a, b) => a.value - b.value);
  const half = sorted.reduce((sum, plateau) => sum + weightOf(plateau), 0) / 2;
  let passed = 0;
  for (const plateau of sorted) {
    passed += weightOf(plateau);
    if (passed >= half) return plateau.value;
  }
  return sorted[0]!.value;
}
