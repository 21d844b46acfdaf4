/**
 * How much a log's numbers scatter about a level: the scale by which a step is told from noise.
 * Goes in: values of a log that steps and drifts. Comes out: a standard deviation in the log's own unit.
 */

export interface Noise {
  /** standard deviation of one sample about its level, not below one count / √12 */
  readonly sample: number;
  /** the same as it acts on a mean of many neighbours: larger where the meter's filter ties samples together */
  readonly longRun: number;
}

/** Median of |z| for a standard normal z. */
const medianAbsoluteNormal = 0.6744898;
/** At most this many places of a log are looked at: the median of so many is good to a per cent. */
const places = 40_000;
/** Lower quartile of |z| for a standard normal z. */
const quartileAbsoluteNormal = 0.3186394;
/** Blocks of neighbours whose means are compared, three in a row within the time in which keying seldom steps. */
const blockSizes = [2, 4, 8, 16];
const blocksSeconds = 3;

/**
 * Noise of a log from second differences (a − 2b + c)/√6 of neighbours, and of means of blocks of neighbours.
 * A straight drift cancels in them, and the median passes over the few that straddle a step.
 * Blocks straddle steps more often, so their lower quartile is taken.
 * @param values a log's values, any length
 * @param intervalSeconds from one sample to the next
 * @param resolution one count of the display in the same unit, 0 where unknown
 * @example noiseOf(Float64Array.from([12.4, 12.4, 12.4, 11.8, 11.8, 11.8]), 0.01).sample // 0.00289
 * Source: difference-based variance estimation, Gasser, Sroka, Jennen-Steinmetz (1986), from memory; floor: GUM F.2.2.1
 */
export function noiseOf(values: Float64Array, resolution: number, intervalSeconds = 0): Noise {
  const floor = resolution > 0 ? resolution / Math.sqrt(12) : smallestScale(values);
  const sample = Math.max(median(secondDifferences(values, 1)) / (Math.sqrt(6) * medianAbsoluteNormal), floor);
  let longRun = sample;
  for (const size of blockSizes) {
    if (values.length < 30 * size || 3 * size * intervalSeconds > blocksSeconds) break;
    const scale = lowerQuartile(secondDifferences(values, size)) / (Math.sqrt(6) * quartileAbsoluteNormal);
    longRun = Math.max(longRun, Math.min(scale * Math.sqrt(size), 5 * sample));
  }
  return { sample, longRun };
}

/** |a − 2b + c| of the means of three blocks in a row, at places spread over the log. */
function secondDifferences(values: Float64Array, size: number): Float64Array {
  const span = 3 * size;
  const count = Math.max(values.length - span + 1, 0);
  if (count === 0) return Float64Array.of(0);
  const stride = Math.max(1, Math.floor(count / places));
  const found = new Float64Array(Math.ceil(count / stride));
  for (let i = 0, start = 0; start < count; start += stride, i++) {
    const middle = blockSum(values, start + size, size);
    const outer = blockSum(values, start, size) + blockSum(values, start + 2 * size, size);
    found[i] = Math.abs(outer - 2 * middle) / size;
  }
  return found;
}

function blockSum(values: Float64Array, start: number, size: number): number {
  let sum = 0;
  for (let i = start; i < start + size; i++) sum += values[i]!;
  return sum;
}

const lowerQuartile = (values: Float64Array): number => Float64Array.from(values).sort()[values.length >> 2]!;

/** A log whose digits tell nothing: noise is at least what a double can carry. */
function smallestScale(values: Float64Array): number {
  let largest = 0;
  const stride = Math.max(1, Math.floor(values.length / places));
  for (let i = 0; i < values.length; i += stride) largest = Math.max(largest, Math.abs(values[i]!));
  return Math.max(largest * 1e-6, 1e-9);
}

/** Middle value; of an even number the mean of the middle two; NaN for none. Sorts a copy. */
export function median(values: ArrayLike<number>): number {
  if (values.length === 0) return Number.NaN;
  const sorted = Float64Array.from(values).sort();
  const half = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[half]! : (sorted[half - 1]! + sorted[half]!) / 2;
}
