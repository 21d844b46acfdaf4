/**
 * The level of one stretch of a log with its standard uncertainty: noise, the meter's filter and the display's steps allowed for.
 */
import type { Samples } from "../log/sample.ts";
import { medianInPlace } from "./median.ts";

export interface Level {
  readonly value: number;
  /** standard uncertainty of `value` */
  readonly uncertainty: number;
  /** samples that the level stands on, settling edges and outliers left out */
  readonly samples: number;
  /** change from start to end of the stretch; 0 where none can be seen */
  readonly drift: number;
}

/** A sample this many noise widths from its stretch is settling at an edge, or an outlier. */
const farOff = 4;
const mostRanked = 2_000;
/** Settling is looked for in at most this share of a stretch at either end. */
const edgeShare = 0.4;

/**
 * Level of the samples from … to − 1 of a log.
 * @param noise standard deviation of one sample of this log, in its unit; > 0
 * @throws {RangeError} when the stretch holds no sample
 */
export function levelOf(samples: Samples, from: number, to: number, noise: number): Level {
  if (to <= from) throw new RangeError(`levelOf: a stretch should hold a sample; got ${from} to ${to}`);
  const [first, last] = settled(samples.values, from, to, noise);
  const values = samples.values.subarray(first, last);
  const line = straightLine(samples.seconds.subarray(first, last), values, residualRoom(values.length));
  return { ...levelWithoutOutliers(values, line.residuals, samples.resolution, noise), drift: line.rise };
}

/**
 * Cuts settling off both ends: samples there that lie off the middle's scatter, as far in as they do without a break.
 * The sample at each edge goes in any case where there are enough: its meter may have averaged across the step.
 */
function settled(values: Float64Array, from: number, to: number, noise: number): [number, number] {
  const n = to - from;
  if (n < 4) return [from, to];
  const most = Math.max(1, Math.floor(n * edgeShare));
  const { centre, scatter } = middleOf(thinned(values, from + (n >> 2), to - (n >> 2)), noise);
  let first = from + 1;
  while (first < from + most && Math.abs(values[first]! - centre) > farOff * scatter) first++;
  let last = to - 1;
  while (last > to - most && Math.abs(values[last - 1]! - centre) > farOff * scatter) last--;
  return [first, last];
}

export interface Line {
  /** value units a second, 0 where there are fewer than five samples */
  readonly slope: number;
  readonly residuals: Float64Array;
  /** what the line rises from the first sample to the last; 0 where it does not stand out of the scatter */
  readonly rise: number;
}

/**
 * Least squares line through a stretch; a rise below three times its own uncertainty counts as none.
 * @param residuals where they are put
 */
export function straightLine(
  seconds: Float64Array,
  values: Float64Array,
  residuals: Float64Array = new Float64Array(values.length),
): Line {
  const n = values.length;
  const meanSeconds = mean(seconds);
  const meanValue = mean(values);
  let xx = 0;
  let xy = 0;
  for (let i = 0; i < n; i++) {
    const x = seconds[i]! - meanSeconds;
    xx += x * x;
    xy += x * (values[i]! - meanValue);
  }
  const slope = n >= 5 && xx > 0 ? xy / xx : 0;
  let square = 0;
  let product = 0;
  let before = 0;
  for (let i = 0; i < n; i++) {
    const residual = values[i]! - meanValue - slope * (seconds[i]! - meanSeconds);
    residuals[i] = residual;
    square += residual * residual;
    product += residual * before;
    before = residual;
  }
  const variance = square / Math.max(n - 2, 1);
  const slopeUncertainty = Math.sqrt((variance * factorOf(n, square, product)) / Math.max(xx, 1e-300));
  if (Math.abs(slope) > 3 * slopeUncertainty)
    return { slope, residuals, rise: slope * (seconds[n - 1]! - seconds[0]!) };
  for (let i = 0; i < n; i++) residuals[i] = values[i]! - meanValue;
  return { slope, residuals, rise: 0 };
}

/** Room for what is ranked, and for the residuals of most stretches, used again for every one. */
const room = new Float64Array(mostRanked);
const residualsAtOnce = new Float64Array(16_384);

const residualRoom = (count: number): Float64Array =>
  count <= residualsAtOnce.length ? residualsAtOnce.subarray(0, count) : new Float64Array(count);

/** A copy of every so many-th value of a row, in `room`: a median is as good from a few thousand. */
function thinned(values: Float64Array, from: number, to: number): Float64Array {
  const stride = Math.max(1, Math.ceil((to - from) / mostRanked));
  const some = room.subarray(0, Math.floor((to - from) / stride));
  for (let i = 0, at = from; i < some.length; i++, at += stride) some[i] = values[at]!;
  return some;
}

/**
 * Middle of a row, and standard deviation about it by the median of deviations, not below the log's noise.
 * @param row is used up
 */
function middleOf(row: Float64Array, noise: number): { centre: number; scatter: number } {
  const centre = medianInPlace(row);
  for (let i = 0; i < row.length; i++) row[i] = Math.abs(row[i]! - centre);
  return { centre, scatter: Math.max(noise, 1.4826 * medianInPlace(row)) };
}

/** Level of a row without its outliers. */
function levelWithoutOutliers(values: Float64Array, residuals: Float64Array, resolution: number, noise: number) {
  const { centre, scatter } = middleOf(thinned(residuals, 0, residuals.length), noise);
  const farthest = (farOff + 1) * scatter;
  // A value of the middle, so that sums of squares lose no digits.
  const origin = values[values.length >> 1]!;
  let n = 0;
  let sum = 0;
  let square = 0;
  let residualSquare = 0;
  let product = 0;
  let before = 0;
  for (let i = 0; i < values.length; i++) {
    const residual = residuals[i]!;
    if (Math.abs(residual - centre) > farthest) continue;
    const off = values[i]! - origin;
    n++;
    sum += off;
    square += off * off;
    residualSquare += residual * residual;
    product += residual * before;
    before = residual;
  }
  const spread = n >= 3 ? Math.sqrt(residualSquare / (n - 1)) : 0;
  // Few samples say little of their own scatter: the log's noise stands in, as if seen in four samples more.
  const variance = ((n - 1) * spread ** 2 + 4 * noise ** 2) / (n + 3);
  const typeA = Math.sqrt((variance * factorOf(n, residualSquare, product)) / n);
  const rounding = roundingUncertainty(resolution, Math.sqrt(Math.max(square - (sum * sum) / n, 0) / n));
  return { value: origin + sum / n, uncertainty: Math.hypot(typeA, rounding), samples: n };
}

/**
 * Standard uncertainty left by rounding to counts in a mean of many samples.
 * Noise well above a count averages it out; without noise all samples err alike.
 * @param resolution one count, ≥ 0
 * @param scatter standard deviation of the rounded values, same unit, ≥ 0
 * Source: count / √12, GUM F.2.2.1; how noise averages it out, Widrow and Kollár, Quantization Noise (2008), from memory
 * @example roundingUncertainty(0.01, 0) // 0.00289
 */
export function roundingUncertainty(resolution: number, scatter: number): number {
  if (!(resolution > 0)) return 0;
  const alone = Math.max(scatter ** 2 - resolution ** 2 / 12, 0);
  return (resolution / Math.sqrt(12)) * Math.exp((-2 * Math.PI ** 2 * alone) / resolution ** 2);
}

/**
 * By how much autocorrelation widens the variance of a mean: n / effective n.
 * First-order autoregressive, (1 + r)/(1 − r) with r the correlation of neighbours; r is corrected for its bias in short
 * rows and never taken as negative, since a mean of few samples is not known to be better than that of independent ones.
 * Source: metrology.md section 4 (from memory there); bias of r about (1 + 4r)/n, Kendall (1954), from memory
 * @param residuals deviations from the level, in order
 */
export function correlationFactor(residuals: ArrayLike<number>): number {
  let square = 0;
  let product = 0;
  for (let i = 0; i < residuals.length; i++) {
    square += residuals[i]! ** 2;
    if (i > 0) product += residuals[i]! * residuals[i - 1]!;
  }
  return factorOf(residuals.length, square, product);
}

/** @param product sum of what each residual times the one before it comes to */
function factorOf(n: number, square: number, product: number): number {
  if (n < 8 || square === 0) return 1;
  const raw = product / square;
  const r = Math.min(Math.max(raw + (1 + 4 * raw) / n, 0), 1 - 1 / n);
  return Math.min((1 + r) / (1 - r), n);
}

function mean(values: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i]!;
  return sum / values.length;
}
