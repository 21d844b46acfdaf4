/**
 * Cuts one log into stretches of one level each, slow drift allowed.
 * Goes in: a log's samples. Comes out: where each stretch begins and ends, its level, and the log's noise.
 */
import type { Samples } from "../log/sample.ts";
import { type Noise, noiseOf } from "./noise.ts";
import { partition, partitionSums, prefixSums } from "./partition.ts";
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
/** Penalty of a stretch in units of noise² × ln n; 3 is the modified Bayes criterion (Zhang, Siegmund 2007, from memory). */
const penaltyFactor = 3;
/** Stretches at least this long are taken as stairs of one drift where straight lines through them meet within a share of the step. */
const driftSeconds = 1;
const fewestSamples = 6;
const driftShare = 0.35;

/**
 * Stretches of one level in a log: least squares with a penalty for each stretch, then stairs that are only a slow drift joined.
 * @param samples a log; none for none
 * @returns segments that cover all samples in order
 */
export function segmentsOf(samples: Samples): Segmentation {
  const { values } = samples;
  const noise = noiseOf(values, samples.resolution, samples.intervalSeconds);
  if (values.length === 0) return { segments: [], noise };
  const sums = prefixSums(values);
  const starts = stepsOf(values, sums, noise.longRun);
  const edges = joinDrift(sums, withGaps(samples, starts), samples);
  const segments = edges
    .slice(1)
    .map((to, k) => ({ from: edges[k]!, to, level: values[0]! + mean(sums, edges[k]!, to) }));
  return { segments, noise };
}

/**
 * Where a log steps, noise given.
 * @param noise standard deviation of a sample about its level; > 0
 * @returns rising indexes at which a new level begins
 */
export function stepsOf(values: Float64Array, sums: Float64Array, noise: number): Int32Array {
  const penalty = stepPenalty(values.length, noise);
  if (values.length <= exactUpTo) return partition(values, penalty);
  const threshold = penalty / (values.length <= 20_000 ? 5 : 2.5);
  const starts = partitionSums(sums, penalty, stepPlaces(sums, threshold));
  return settlePlaces(sums, starts);
}

export const stepPenalty = (n: number, noise: number): number => penaltyFactor * Math.log(Math.max(n, 8)) * noise ** 2;

/** Moves each start to the best place between its neighbours, since the likely places are near it, not always on it. */
function settlePlaces(sums: Float64Array, starts: Int32Array): Int32Array {
  const edges = [0, ...starts, sums.length - 1];
  const near = 200;
  for (let k = 1; k < edges.length - 1; k++) {
    const [left, here, right] = [edges[k - 1]!, edges[k]!, edges[k + 1]!];
    let most = -1;
    for (let i = Math.max(left + 1, here - near); i <= Math.min(right - 1, here + near); i++) {
      const a = sums[i]! - sums[left]!;
      const b = sums[right]! - sums[i]!;
      const gain = (a * a) / (i - left) + (b * b) / (right - i);
      if (gain > most) {
        most = gain;
        edges[k] = i;
      }
    }
  }
  return Int32Array.from(edges.slice(1, -1));
}

/** A pause in the log ends a stretch: nobody knows what happened meanwhile. */
function withGaps(samples: Samples, starts: Int32Array): number[] {
  const { seconds, intervalSeconds } = samples;
  const pause = Math.max(10 * intervalSeconds, 5);
  const edges = new Set<number>([0, ...starts, seconds.length]);
  for (let i = 1; i < seconds.length; i++) if (seconds[i]! - seconds[i - 1]! > pause) edges.add(i);
  return [...edges].sort((a, b) => a - b);
}

/** Leaves out the steps that are stairs of a slow drift. */
function joinDrift(sums: Float64Array, edges: readonly number[], samples: Samples): number[] {
  const joined = [edges[0]!];
  for (let k = 1; k < edges.length - 1; k++) {
    const before = joined[joined.length - 1]!;
    if (!isDrift(sums, [before, edges[k]!, edges[k + 1]!], samples)) joined.push(edges[k]!);
  }
  joined.push(edges[edges.length - 1]!);
  return joined;
}

/** Whether two stretches are stairs of one drift: long enough to judge, and straight lines through them meet. */
function isDrift(sums: Float64Array, edges: readonly [number, number, number], samples: Samples): boolean {
  const [from, at, to] = edges;
  const least = Math.max(fewestSamples, driftSeconds / Math.max(samples.intervalSeconds, 1e-9));
  if (at - from < least || to - at < least) return false;
  const step = mean(sums, at, to) - mean(sums, from, at);
  const before = ends(sums, from, at);
  const after = ends(sums, at, to);
  return Math.abs(after.first - before.last) < driftShare * Math.abs(step);
}

const mean = (sums: Float64Array, from: number, to: number): number => (sums[to]! - sums[from]!) / (to - from);

/** Both ends of a straight line through a stretch, from the means of its thirds: steps of a sample's noise matter little. */
function ends(sums: Float64Array, from: number, to: number): { first: number; last: number } {
  const third = Math.max(1, Math.floor((to - from) / 3));
  const slope = (mean(sums, to - third, to) - mean(sums, from, from + third)) / (to - from - third);
  const middle = mean(sums, from, to);
  const half = ((to - from) / 2) * slope;
  return { first: middle - half, last: middle + half };
}
