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
  const fullest = fullestOfFiner(exponents, sizes, ownPoint);
  let strays = 0;
  let told = 0;
  for (let i = 0; i < sizes.length; i++) {
    // Over-range is often sent as nought; nought in a coarse range tells nothing else.
    if (Number.isNaN(exponents[i]!) || !(sizes[i]! < Number.POSITIVE_INFINITY) || sizes[i] === 0) continue;
    told++;
    if (sizes[i]! < fullest[exponents[i]! + lowestExponent]!) strays++;
  }
  // What settles between two ranges.
  return Math.min(mostStrayCost, strayCost * Math.max(0, strays - 0.01 * told));
}

/** Exponents lie between these. */
const lowestExponent = 16;
const exponentSpan = 2 * lowestExponent + 1;
/** How full a finer range may be to hold a value for sure. */
const surelyHeld = 0.8;

/**
 * By exponent, from -16: the size below which a value, in its own counts, would have fitted the next finer range. Each range
 * holds as many counts as any ever showed; nearly the most of its own where counts are not known.
 */
function fullestOfFiner(exponents: Float64Array, sizes: Float64Array, ownPoint: boolean): Float64Array {
  const own = Array.from({ length: exponentSpan }, (): number[] => []);
  const used = new Uint8Array(exponentSpan);
  let most = 0;
  for (let i = 0; i < sizes.length; i++) {
    const place = exponents[i]! + lowestExponent;
    if (Number.isNaN(place)) continue;
    used[place] = 1;
    if (!(sizes[i]! < Number.POSITIVE_INFINITY)) continue;
    most = Math.max(most, sizes[i]!);
    if (ownPoint) own[place]!.push(sizes[i]!);
    else if (own[place]!.length === 0) own[place]!.push(0);
  }
  const limits = new Float64Array(exponentSpan);
  let finer = -1;
  for (let place = 0; place < exponentSpan; place++) {
    if (!used[place]) continue;
    if (finer >= 0 && own[finer]!.length > 0)
      limits[place] = surelyHeld * (ownPoint ? nearlyMost(own[finer]!) : most) * 10 ** (finer - place);
    finer = place;
  }
  return limits;
}

const nearlyMost = (sizes: number[]): number => sizes.sort((a, b) => a - b)[Math.floor((sizes.length - 1) * 0.98)]!;
