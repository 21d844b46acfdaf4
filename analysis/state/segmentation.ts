/**
 * Cuts one log into stretches of one level each, slow drift allowed.
 * Goes in: a log's samples. Comes out: where each stretch begins and ends, its level, and the log's noise.
 */
import type { Samples } from "../log/sample.ts";
import { joinDrift } from "./drift.ts";
import { type Noise, noiseOf } from "./noise.ts";
import { meanOf, partition, type RunningSums, runningSums, weightBefore } from "./partition.ts";
import { pauseSeconds } from "./pause-of-log.ts";
import type { SampleWeights } from "./sample-weights.ts";
import { stepPlaces } from "./step-places.ts";

export interface Segment {
  /** index of the first sample */
  readonly from: number;
  /** index after the last sample */
  readonly to: number;
  readonly level: number;
}

export interface Segmentation {
  readonly segments: readonly Segment[];
  readonly noise: Noise;
}

/** Up to this many samples the exact partition is fast enough; above, it is made over likely places only. */
const exactUpTo = 2_000;
/** Up to this many, places are taken as likely so readily that the partition is the exact one. */
const equalUpTo = 20_000;
/** Penalty of a stretch in units of ln n; 3 is the modified Bayes criterion (Zhang, Siegmund 2007, from memory). */
const penaltyFactor = 3;
/**
 * Stretches of one level in a log: least squares with a penalty for each stretch, then stairs that are only a slow drift joined.
 * @param room for running sums, one number longer than the log or more
 * @returns segments that cover all samples in order; none for none
 */
export function segmentsOf(samples: Samples, room?: Float64Array): Segmentation {
  const { values } = samples;
  const noise = noiseOf(values, samples.resolution, samples.intervalSeconds);
  if (values.length === 0) return { segments: [], noise };
  const weights = weightsOf(noise);
  const sums = runningSums(values, weights, room);
  const edges = joinDrift(samples, weights, withPauses(samples, stepsOf(sums)), stepPenalty(values.length));
  const segments = edges.slice(1).map((to, k) => ({ from: edges[k]!, to, level: meanOf(sums, edges[k]!, to) }));
  return { segments, noise };
}

/** 1 / variance of each sample as it acts in a mean of many. */
function weightsOf({ along, tie, blockLength }: Noise): SampleWeights {
  return { blockLength, each: along.map((scale) => 1 / (scale * tie) ** 2) };
}

/**
 * Where a log steps.
 * @param sums of values weighted by 1 / variance
 * @returns rising indexes at which a new level begins
 */
export function stepsOf(sums: RunningSums): Int32Array {
  const n = sums.products.length - 1;
  const penalty = stepPenalty(n);
  if (n <= exactUpTo) return partition(sums, penalty);
  const threshold = penalty / (n <= equalUpTo ? 5 : 2.5);
  return settlePlaces(sums, partition(sums, penalty, stepPlaces(sums, threshold)));
}

export const stepPenalty = (n: number): number => penaltyFactor * Math.log(Math.max(n, 8));

/** Moves each start to the best place between its neighbours, since the likely places are near it, not always on it. */
function settlePlaces(sums: RunningSums, starts: Int32Array): Int32Array {
  const { products } = sums;
  const edges = [0, ...starts, products.length - 1];
  const near = 200;
  for (let k = 1; k < edges.length - 1; k++) {
    const [left, here, right] = [edges[k - 1]!, edges[k]!, edges[k + 1]!];
    const [leftWeight, rightWeight] = [weightBefore(sums, left), weightBefore(sums, right)];
    let most = -1;
    for (let i = Math.max(left + 1, here - near); i <= Math.min(right - 1, here + near); i++) {
      const weight = weightBefore(sums, i);
      const both =
        (products[i]! - products[left]!) ** 2 / (weight - leftWeight) +
        (products[right]! - products[i]!) ** 2 / (rightWeight - weight);
      if (both > most) {
        most = both;
        edges[k] = i;
      }
    }
  }
  return Int32Array.from(edges.slice(1, -1));
}

/** A pause in the log ends a stretch: nobody knows what happened meanwhile. */
function withPauses(samples: Samples, starts: Int32Array): number[] {
  const { seconds } = samples;
  const pause = pauseSeconds(samples.intervalSeconds);
  const edges = new Set<number>([0, ...starts, seconds.length]);
  for (let i = 1; i < seconds.length; i++) if (seconds[i]! - seconds[i - 1]! > pause) edges.add(i);
  return [...edges].sort((a, b) => a - b);
}

/** The segment that a sample begins or is in, by its place. */
export function segmentOf(segments: readonly Segment[], sample: number): number {
  let low = 0;
  let high = segments.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (segments[middle]!.from <= sample) low = middle;
    else high = middle - 1;
  }
  return low;
}
