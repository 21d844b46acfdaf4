/**
 * A display of 6000 counts shows up to 5999: a number that stands still on the round count past its last one, and that nothing
 * else comes near, is how some firmware says over-range, whether anybody typed it or not.
 */

/** First figures of the counts that displays are sold with (common practice, from memory). */
const firstFigures = [1, 2, 2.2, 3, 3.2, 4, 5, 6, 6.6, 8];
const fewestCounts = 2000;
/** What stands within this share below it would be a reading that only happens to come near; a display that creeps passes there. */
const clearShare = 0.02;
const passingShare = 0.05;

/**
 * @param raw by frame; NaN or Infinity where there is no number
 * @param countSize display counts to one raw unit
 * @param special raw numbers that mean something already
 * @returns the raw number, positive; null where the stream has none
 */
export function fullCount(raw: Float64Array, countSize: number, special: readonly number[]): number | null {
  let most = 0;
  for (const x of raw) if (Number.isFinite(x) && !special.includes(x)) most = Math.max(most, Math.abs(x));
  if (!isFull(most * countSize)) return null;
  let times = 0;
  let lasting = 0;
  let near = 0;
  for (let i = 0; i < raw.length; i++) {
    const size = Math.abs(raw[i]!);
    if (size === most) {
      times++;
      if (i > 0 && Math.abs(raw[i - 1]!) === most) lasting++;
    } else if (size > (1 - clearShare) * most && !special.includes(raw[i]!)) near++;
  }
  return lasting > 0 && near <= passingShare * times && times < 0.5 * raw.length ? most : null;
}

function isFull(measured: number): boolean {
  const counts = Math.round(measured);
  if (counts < fewestCounts || Math.abs(measured - counts) > 1e-5 * counts) return false;
  const figures = counts / 10 ** Math.floor(Math.log10(counts) + 1e-9);
  return firstFigures.some((first) => Math.abs(figures - first) < 1e-6);
}
