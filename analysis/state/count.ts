/**
 * One count of a display as its numbers show it: an export may write more digits than the meter has.
 */

/** Coarser counts that displays have, as multiples of the last digit written. */
const multiples = [10, 5, 2] as const;
const mostSeen = 4_000;

/**
 * @param written the last digit written, in the values' unit; 0 where unknown
 * @returns the coarsest count on which every value lies, ≥ `written`; `written` where all values are alike
 * @example countOf(Float64Array.from([12.45, 12.46, 12.41]), 0.001) // 0.01
 */
export function countOf(values: Float64Array, written: number): number {
  if (!(written > 0)) return written;
  const stride = Math.max(1, Math.floor(values.length / mostSeen));
  for (const multiple of multiples) {
    const count = multiple * written;
    const lie = (at: number) => Math.abs(values[at]! / count - Math.round(values[at]! / count)) < 1e-4;
    let moves = false;
    let at = 0;
    for (; at < values.length && lie(at); at += stride) moves ||= values[at] !== values[0];
    if (at >= values.length) return moves ? count : written;
  }
  return written;
}
