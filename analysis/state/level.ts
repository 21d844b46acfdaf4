/**
 * The level of one stretch of a log with its standard uncertainty: noise, the meter's filter and the display's steps allowed for.
 */
import type { Samples } from "../log/sample.ts";
import type { Seconds } from "../units.ts";
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
/** So few samples show no scatter of their own. */
const fewSamples = 3;
/** Of the way that a meter has gone so far, what may be left of it, as a standard uncertainty. */
const openShare = 0.5;
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
  const seconds = samples.seconds.subarray(first, last);
  const values = samples.values.subarray(first, last);
  if (values.length <= fewSamples && spreadOf(values) > farOff * noise)
    return levelOnTheWay(samples, first, last, noise);
  const line = straightLine(seconds, values);
  return { ...levelWithoutOutliers(seconds, values, line, samples.resolution, noise), drift: line.rise };
}

const spreadOf = (values: Float64Array): number => Math.max(...values) - Math.min(...values);

/**
 * Two or three samples further apart than noise puts them: the meter was on its way. Two that agree are the level; else it
 * is the one furthest from what stands before and after, and the way may not be at its end.
 */
function levelOnTheWay(samples: Samples, first: number, last: number, noise: number): Level {
  const { values } = samples;
  for (let i = first; i + 2 <= last; i++) {
    if (last - first > 2 && Math.abs(values[i]! - values[i + 1]!) <= farOff * noise)
      return levelOf(samples, i, i + 2, noise);
  }
  const beside = [values[first - 1], values[last]].filter((value) => value !== undefined);
  const outside = beside.length > 0 ? beside : [values[first]!];
  const way = (value: number) => Math.max(...outside.map((other) => Math.abs(value - other)));
  const value = values.subarray(first, last).reduce((one, other) => (way(other) > way(one) ? other : one));
  const uncertainty = Math.max(spreadOf(values.subarray(first, last)), way(value) * openShare);
  return { value, uncertainty, samples: last - first, drift: 0 };
}

/**
 * Cuts settling off both ends: samples there that lie off the middle's scatter, as far in as they do without a break.
 * The sample at each edge goes in any case where there are enough: its meter may have averaged across the step.
 */
function settled(values: Float64Array, from: number, to: number, noise: number): [number, number] {
  const n = to - from;
  if (n < 4) return [from, to];
  const most = Math.max(1, Math.floor(n * edgeShare));
  const inner = thinned(values, from + (n >> 2), to - (n >> 2));
  const [low, high] = ordered(values[from + 1]!, values[to - 2]!);
  if (surelyNearMiddle(inner, low, high, farOff * noise)) return [from + 1, to - 1];
  const { centre, scatter } = middleOf(inner, noise);
  let first = from + 1;
  while (first < from + most && Math.abs(values[first]! - centre) > farOff * scatter) first++;
  let last = to - 1;
  while (last > to - most && Math.abs(values[last - 1]! - centre) > farOff * scatter) last--;
  return [first, last];
}

const ordered = (a: number, b: number): [number, number] => (a < b ? [a, b] : [b, a]);

export interface Line {
  /** value units a second, 0 where there are fewer than five samples */
  readonly slope: number;
  /** squared deviations from the line of that slope */
  readonly squares: number;
  /** the slope, or 0 where its rise does not stand out of the scatter */
  readonly tilt: number;
  /** what the line rises from the first sample to the last; 0 where it does not stand out of the scatter */
  readonly rise: number;
  readonly meanSeconds: Seconds;
  readonly meanValue: number;
}

/** Least squares line through a stretch; a rise below three times its own uncertainty counts as none. */
export function straightLine(seconds: Float64Array, values: Float64Array): Line {
  const n = values.length;
  let sumSeconds = 0;
  let sumValues = 0;
  for (let i = 0; i < n; i++) {
    sumSeconds += seconds[i]!;
    sumValues += values[i]!;
  }
  const meanSeconds = sumSeconds / n;
  const meanValue = sumValues / n;
  let xx = 0;
  let xy = 0;
  for (let i = 0; i < n; i++) {
    const x = seconds[i]! - meanSeconds;
    xx += x * x;
    xy += x * (values[i]! - meanValue);
  }
  const slope = n >= 5 && xx > 0 ? xy / xx : 0;
  let squares = 0;
  let product = 0;
  let before = 0;
  for (let i = 0; i < n; i++) {
    const residual = values[i]! - meanValue - slope * (seconds[i]! - meanSeconds);
    squares += residual * residual;
    product += residual * before;
    before = residual;
  }
  const variance = squares / Math.max(n - 2, 1);
  const slopeUncertainty = Math.sqrt((variance * factorOf(n, squares, product)) / Math.max(xx, 1e-300));
  const tilt = Math.abs(slope) > 3 * slopeUncertainty ? slope : 0;
  const rise = tilt === 0 ? 0 : tilt * (seconds[n - 1]! - seconds[0]!);
  return { slope, squares, tilt, rise, meanSeconds, meanValue };
}

/** Room for what is ranked, used again for every stretch. */
const room = new Float64Array(mostRanked);

/** Every so many-th value from … to − 1, in `room`: a median is as good from a few thousand. */
function thinned(values: Float64Array, from: number, to: number): Float64Array {
  const stride = strideFor(to - from);
  const some = room.subarray(0, Math.floor((to - from) / stride));
  for (let i = 0, at = from; i < some.length; i++, at += stride) some[i] = values[at]!;
  return some;
}

const strideFor = (count: number): number => Math.max(1, Math.ceil(count / mostRanked));

/** The same of deviations from a line. */
function thinnedResiduals(seconds: Float64Array, values: Float64Array, line: Line): Float64Array {
  const stride = strideFor(values.length);
  const some = room.subarray(0, Math.floor(values.length / stride));
  for (let i = 0, at = 0; i < some.length; i++, at += stride) some[i] = residual(line, seconds[at]!, values[at]!);
  return some;
}

/** How far a value lies from the line, taken as level where its rise counts as none. */
const residual = ({ tilt, meanSeconds, meanValue }: Line, seconds: Seconds, value: number): number =>
  value - meanValue - tilt * (seconds - meanSeconds);

/**
 * Whether low … high surely lies within a distance of a row's middle value, without looking for it: a median is never
 * further from the mean than one standard deviation.
 * Source: Hotelling and Solomons (1932), Ann. Math. Stat. 3, 141, from memory
 */
function surelyNearMiddle(row: Float64Array, low: number, high: number, distance: number): boolean {
  let sum = 0;
  for (let i = 0; i < row.length; i++) sum += row[i]!;
  const mean = sum / row.length;
  let squares = 0;
  for (let i = 0; i < row.length; i++) squares += (row[i]! - mean) ** 2;
  const medianReach = Math.sqrt(squares / row.length);
  return (Math.max(high - mean, mean - low) + medianReach) * (1 + 1e-9) < distance;
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

/** Level of a stretch without its outliers: samples far from the middle of all deviations from its line. */
function levelWithoutOutliers(
  seconds: Float64Array,
  values: Float64Array,
  line: Line,
  resolution: number,
  noise: number,
) {
  const some = thinnedResiduals(seconds, values, line);
  const all = sumsWithin(seconds, values, line, 0, Number.POSITIVE_INFINITY);
  if (surelyNearMiddle(some, all.least, all.greatest, (farOff + 1) * noise)) return levelOfSums(all, resolution, noise);
  const { centre, scatter } = middleOf(some, noise);
  return levelOfSums(sumsWithin(seconds, values, line, centre, (farOff + 1) * scatter), resolution, noise);
}

/** Of the samples whose deviation from the line is near enough to `centre`. */
interface Sums {
  readonly count: number;
  /** a value of the middle, so that sums of squares lose no digits */
  readonly origin: number;
  /** of the values less `origin` */
  readonly sum: number;
  readonly square: number;
  readonly residualSquare: number;
  /** of what each residual times the one before it comes to */
  readonly product: number;
  readonly least: number;
  readonly greatest: number;
}

function sumsWithin(seconds: Float64Array, values: Float64Array, line: Line, centre: number, farthest: number): Sums {
  const origin = values[values.length >> 1]!;
  let count = 0;
  let sum = 0;
  let square = 0;
  let residualSquare = 0;
  let product = 0;
  let before = 0;
  let least = Number.POSITIVE_INFINITY;
  let greatest = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < values.length; i++) {
    const off = residual(line, seconds[i]!, values[i]!);
    if (Math.abs(off - centre) > farthest) continue;
    const value = values[i]! - origin;
    count++;
    sum += value;
    square += value * value;
    residualSquare += off * off;
    product += off * before;
    before = off;
    least = Math.min(least, off);
    greatest = Math.max(greatest, off);
  }
  return { count, origin, sum, square, residualSquare, product, least, greatest };
}

function levelOfSums({ count, origin, sum, square, residualSquare, product }: Sums, resolution: number, noise: number) {
  const spread = count >= 3 ? Math.sqrt(residualSquare / (count - 1)) : 0;
  // Few samples say little of their own scatter: the log's noise stands in, as if seen in four samples more.
  const variance = ((count - 1) * spread ** 2 + 4 * noise ** 2) / (count + 3);
  const typeA = Math.sqrt((variance * factorOf(count, residualSquare, product)) / count);
  const rounding = roundingUncertainty(resolution, Math.sqrt(Math.max(square - (sum * sum) / count, 0) / count));
  return { value: origin + sum / count, uncertainty: Math.hypot(typeA, rounding), samples: count };
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
