/**
 * How much a log's numbers scatter about a level, along the log: the scale by which a step is told from noise.
 * Goes in: values of a log that steps and drifts. Comes out: standard deviations in the log's own unit.
 */

import { median, medianInPlace, ranked } from "./median.ts";

export interface Noise {
  /** standard deviation of one sample about its level over the whole log, not below one count / √12 */
  readonly sample: number;
  /** how much wider a mean of neighbours scatters than independent samples would: the meter's filter ties them; ≥ 1 */
  readonly tie: number;
  /** samples in a block of `along` */
  readonly blockLength: number;
  /** standard deviation of one sample, block by block: a running engine adds its ripple */
  readonly along: Float64Array;
}

/** Median and lower quartile of |z| for a standard normal z. */
const medianAbsoluteNormal = 0.6744898;
const quartileAbsoluteNormal = 0.3186394;
const secondDifferenceWidth = Math.sqrt(6);
/** At most this many places of a log are looked at: the median of so many is good to a per cent. */
const places = 40_000;
/** In one block of the log so many say enough. */
const blockPlaces = 300;
/** Blocks of neighbours whose means are compared, three in a row within the time in which keying seldom steps. */
const tieSizes = [2, 4, 8, 16];
const tieSeconds = 3;
const mostTie = 4;
/** Noise is taken anew for each so many samples: enough for a figure good to a fifth. */
const shortestBlock = 50;
const mostBlocks = 2_000;
/** At shorter intervals every state has several samples. */
const leastStateSeconds = 0.3;
const clearlyMore = 1.3;

/**
 * Noise of a log from second differences (a − 2b + c)/√6 of neighbours, and of means of blocks of neighbours.
 * A straight drift cancels in them, and the median passes over the few that straddle a step.
 * Blocks straddle steps more often, so their lower quartile is taken.
 * @param values a log's values, any length
 * @param resolution one count of the display in the same unit, 0 where unknown
 * @param intervalSeconds from one sample to the next
 * @example noiseOf(Float64Array.from([12.4, 12.4, 12.4, 11.8, 11.8, 11.8]), 0.01, 1).sample // 0.00289
 * Source: difference-based variance estimation, Gasser, Sroka, Jennen-Steinmetz (1986), from memory; floor: GUM F.2.2.1
 */
export function noiseOf(values: Float64Array, resolution: number, intervalSeconds: number): Noise {
  const floor = resolution > 0 ? resolution / Math.sqrt(12) : smallestScale(values);
  const often = intervalSeconds < leastStateSeconds;
  const sample = Math.max(Math.min(middleScale(values, floor, often), twoLevelScale(values)), floor);
  return { sample, tie: tieOf(values, sample, intervalSeconds), ...noiseAlong(values, sample, floor, often) };
}

/** Noise of sample i. */
export const noiseAt = (noise: Noise, i: number): number =>
  noise.along[Math.min(Math.floor(i / noise.blockLength), noise.along.length - 1)]!;

/** Two levels are apart where the gap between them is so many times their own scatter. */
const clearGap = 6;
/** Longer logs have neighbours enough in one state. */
const mostSorted = 2_000;

/**
 * Scatter about two levels that lie far apart, where a slow log changes its state with nearly every sample;
 * infinite where the values are not of two levels.
 */
function twoLevelScale(values: Float64Array): number {
  const n = values.length;
  if (n < 6 || n > mostSorted) return Number.POSITIVE_INFINITY;
  const sorted = Float64Array.from(values).sort();
  let split = 2;
  for (let i = 2; i <= n - 2; i++) {
    if (sorted[i]! - sorted[i - 1]! > sorted[split]! - sorted[split - 1]!) split = i;
  }
  const gap = sorted[split]! - sorted[split - 1]!;
  const scatter = Math.sqrt((squaresAbout(sorted.subarray(0, split)) + squaresAbout(sorted.subarray(split))) / (n - 2));
  return gap > clearGap * scatter ? scatter : Number.POSITIVE_INFINITY;
}

function squaresAbout(values: Float64Array): number {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  return values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
}

/**
 * What neighbours and next neighbours say. Of a log that looks often the next where they scatter clearly more: a filter, or
 * a hum that meets the sampling, makes neighbours alike. Of a slow log the smallest: every other sample may be a state of its own.
 * @param often whether no state can come and go within two samples
 */
function middleScale(values: Float64Array, floor: number, often: boolean, most = places): number {
  const near = neighbourWidth(values, most);
  const next = medianInPlace(secondDifferences(values, 1, 2, most)) / secondDifferenceWidth;
  const first = often ? Number.NaN : medianInPlace(firstDifferences(values)) / Math.SQRT2;
  const told = often ? [next > clearlyMore * near ? next : near] : [near, next, first].filter((x) => !Number.isNaN(x));
  const scale = Math.min(...told) / medianAbsoluteNormal;
  return Number.isFinite(scale) ? scale : floor;
}

/** Median of the second differences of neighbours, as wide as that of single samples. */
const neighbourWidth = (values: Float64Array, most: number): number =>
  medianInPlace(secondDifferences(values, 1, 1, most)) / secondDifferenceWidth;

/** Standard deviation of one sample about what its neighbours say, without a floor: steps pass unnoticed. */
export const neighbourScatter = (values: Float64Array): number => neighbourWidth(values, places) / medianAbsoluteNormal;

/** Where differences are put, used again for every row of them: no two rows are needed at a time. */
const room = new Float64Array(2 * places);

/** |a − b| of neighbours: a drift stays in them, but a step spoils one of them where it spoils two second differences. */
function firstDifferences(values: Float64Array): Float64Array {
  const found = room.subarray(0, Math.max(Math.min(values.length - 1, places), 0));
  for (let i = 0; i < found.length; i++) found[i] = Math.abs(values[i + 1]! - values[i]!);
  return found;
}

function tieOf(values: Float64Array, sample: number, intervalSeconds: number): number {
  let tie = 1;
  for (const size of tieSizes) {
    if (values.length < 30 * size || 3 * size * intervalSeconds > tieSeconds) break;
    const found = secondDifferences(values, size, size);
    const scale = ranked(found, found.length >> 2) / (secondDifferenceWidth * quartileAbsoluteNormal);
    tie = Math.max(tie, Math.min((scale * Math.sqrt(size)) / sample, mostTie));
  }
  return tie;
}

/** Block by block, each the middle of itself and its neighbours; a short log is one block. */
function noiseAlong(
  values: Float64Array,
  sample: number,
  floor: number,
  often: boolean,
): Pick<Noise, "blockLength" | "along"> {
  const blockLength = Math.max(shortestBlock, Math.ceil(values.length / mostBlocks));
  const count = Math.floor(values.length / blockLength);
  if (count < 3) return { blockLength: Math.max(values.length, 1), along: Float64Array.of(sample) };
  const raw = Float64Array.from({ length: count }, (_, b) => {
    const end = b === count - 1 ? values.length : (b + 1) * blockLength;
    return Math.max(middleScale(values.subarray(b * blockLength, end), floor, often, blockPlaces), floor, sample / 5);
  });
  const near = (b: number) =>
    raw.subarray(Math.max(0, Math.min(b - 1, count - 3)), Math.max(3, Math.min(b + 2, count)));
  return { blockLength, along: raw.map((_, b) => median(near(b))) };
}

/** |a − 2b + c| of the means of three blocks that begin `apart` from each other, at places spread over the values. */
function secondDifferences(values: Float64Array, size: number, apart: number, most = places): Float64Array {
  const count = Math.max(values.length - 2 * apart - size + 1, 0);
  const stride = Math.max(1, Math.floor(count / most));
  const found = room.subarray(0, Math.ceil(count / stride));
  if (size === 1) {
    for (let i = 0, at = apart; i < found.length; i++, at += stride)
      found[i] = Math.abs(values[at - apart]! + values[at + apart]! - 2 * values[at]!);
    return found;
  }
  for (let i = 0, start = 0; start < count; start += stride, i++) {
    const middle = blockSum(values, start + apart, size);
    const outer = blockSum(values, start, size) + blockSum(values, start + 2 * apart, size);
    found[i] = Math.abs(outer - 2 * middle) / size;
  }
  return found;
}

function blockSum(values: Float64Array, start: number, size: number): number {
  let sum = 0;
  for (let i = start; i < start + size; i++) sum += values[i]!;
  return sum;
}

/** A log whose digits tell nothing: noise is at least what a double can carry. */
function smallestScale(values: Float64Array): number {
  let largest = 0;
  const stride = Math.max(1, Math.floor(values.length / places));
  for (let i = 0; i < values.length; i += stride) largest = Math.max(largest, Math.abs(values[i]!));
  return Math.max(largest * 1e-6, 1e-9);
}
