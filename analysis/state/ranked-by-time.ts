/** A rank among heights of which each counts for as long as it lasted. */
import type { Seconds } from "../units.ts";

/**
 * @param heights at least one
 * @param share 0 the lowest, 0.5 the middle, 1 the highest
 * @example rankedByTime([{ height: 1, seconds: 9 }, { height: 5, seconds: 1 }], 0.5) // 1
 */
export function rankedByTime(heights: readonly { height: number; seconds: Seconds }[], share: number): number {
  const whole = heights.reduce((sum, { seconds }) => sum + seconds, 0);
  let below = 0;
  for (const { height, seconds } of heights.toSorted((a, b) => a.height - b.height)) {
    below += seconds;
    if (below >= share * whole) return height;
  }
  return heights[0]!.height;
}
