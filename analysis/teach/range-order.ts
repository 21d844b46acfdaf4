/** The order of a meter's ranges: one that chooses them itself shows each value in the finest that holds it. */

/** Stray frames cost this much each, up to a manual meter's share. */
const strayCost = 0.6;
const mostStrayCost = 7;

/**
 * Frames that an autoranging meter would have shown on a finer range, for their value would have fitted there.
 * Whoever sets the range by hand makes such frames too: the cost has a limit.
 * @param exponents power of ten by frame, NaN where it is not known
 * @param sizes raw sizes by frame; NaN or Infinity where there is no number
 * @param ownPoint the number brings its decimal point along: its counts are not known
 * @returns nats
 */
export function disorder(exponents: Float64Array, sizes: Float64Array, ownPoint: boolean): number {
  const order = [...new Set(exponents)].filter(Number.isFinite).sort((a, b) => a - b);
  const fullest = fullestCounts(exponents, sizes, ownPoint);
  let strays = 0;
  let told = 0;
  for (let i = 0; i < sizes.length; i++) {
    const exponent = exponents[i]!;
    // Over-range is often sent as nought; nought in a coarse range tells nothing else.
    if (Number.isNaN(exponent) || !(sizes[i]! < Number.POSITIVE_INFINITY) || sizes[i] === 0) continue;
    told++;
    const finer = order[order.indexOf(exponent) - 1];
    if (finer !== undefined && sizes[i]! * 10 ** exponent < 0.8 * (fullest.get(finer) ?? 0)) strays++;
  }
  // What settles between two ranges.
  return Math.min(mostStrayCost, strayCost * Math.max(0, strays - 0.01 * told));
}

/** What each range can hold, in the unit of the table: as many counts as any range ever showed; nearly the most of its own where counts are not known. */
function fullestCounts(exponents: Float64Array, sizes: Float64Array, ownPoint: boolean): Map<number, number> {
  const own = new Map<number, number[]>();
  let most = 0;
  for (let i = 0; i < sizes.length; i++) {
    const exponent = exponents[i]!;
    const size = sizes[i]!;
    if (Number.isNaN(exponent) || !(size < Number.POSITIVE_INFINITY)) continue;
    most = Math.max(most, size);
    const list = own.get(exponent) ?? [];
    list.push(size);
    own.set(exponent, list);
  }
  return new Map(
    [...own].map(([exponent, list]) => {
      const high = list.sort((a, b) => a - b)[Math.floor((list.length - 1) * 0.98)]!;
      return [exponent, (ownPoint ? high : most) * 10 ** exponent];
    }),
  );
}
