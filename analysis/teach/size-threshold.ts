/** Bits that say no more than that the number is small or large: a display's range beside a number that is the same in all. */
import type { Levels } from "./stream-evidence.ts";

/**
 * Nats that a bit parts the sizes at a threshold: all levels at which it is up lie on one side of all others. A sign, or any
 * bit that does not go by the size, does so by chance only, once among the ways to choose as many of the levels.
 * @param track by frame, 0 or 1
 * @param sizes by frame; NaN or Infinity where there is none
 * @returns 0 where the sizes overlap
 */
export function thresholdEvidence(track: Uint8Array, sizes: Float64Array, { jumps }: Pick<Levels, "jumps">): number {
  const least = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY];
  const most = [0, 0];
  const levels = [0, 0];
  let last = -1;
  for (let i = 0; i < sizes.length; i++) {
    if (!(sizes[i]! < Number.POSITIVE_INFINITY)) continue;
    const state = track[i]!;
    least[state] = Math.min(least[state]!, sizes[i]!);
    most[state] = Math.max(most[state]!, sizes[i]!);
    if (last < 0 || track[last] !== state || (jumps[i] && !jumps[last])) levels[state]!++;
    last = i;
  }
  if (levels[0] === 0 || levels[1] === 0) return 0;
  const parted = most[0]! < least[1]! || most[1]! < least[0]!;
  return parted ? Math.max(0, logChoices(levels[0]! + levels[1]!, levels[1]!) - Math.log(2)) : 0;
}

function logChoices(all: number, chosen: number): number {
  let sum = 0;
  for (let i = 1; i <= chosen; i++) sum += Math.log((all - chosen + i) / i);
  return sum;
}
