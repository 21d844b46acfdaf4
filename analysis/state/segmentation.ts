/**
 * Cuts one log into stretches of one level each, slow drift allowed.
 * Goes in: a log's samples. Comes out: where each stretch begins and ends, its level, and the log's noise.
 */
import type { Samples } from "../log/sample.ts";
import { type Noise, noiseOf } from "./noise.ts";
import { meanOf, partition, type RunningSums, runningSums } from "./partition.ts";
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
/** Stretches at least this long are taken as stairs of one drift where straight lines through them meet within a share of the step. */
const driftSeconds = 1;
const fewestSamples = 6;
const driftShare = 0.35;
const slowSamples = 3;
const slowShare = 0.6;

/**
 * Stretches of one level in a log: least squares with a penalty for each stretch, then stairs that are only a slow drift joined.
 * @returns segments that cover all samples in order; none for none
 */
export function segmentsOf(samples: Samples): Segmentation {
  const { values } = samples;
  const noise = noiseOf(values, samples.resolution, samples.intervalSeconds);
  if (values.length === 0) return { segments: [], noise };
  const sums = runningSums(values, weightsOf(values.length, noise));
  const edges = joinDrift(sums, withPauses(samples, stepsOf(sums)), samples);
  const segments = edges.slice(1).map((to, k) => ({ from: edges[k]!, to, level: meanOf(sums, edges[k]!, to) }));
  return { segments, noise };
}

/** 1 / variance of each sample as it acts in a mean of many. */
function weightsOf(n: number, noise: Noise): Float64Array {
  const weights = new Float64Array(n);
  noise.along.forEach((scale, b) => {
    const end = b === noise.along.length - 1 ? n : (b + 1) * noise.blockLength;
    weights.fill(1 / (scale * noise.tie) ** 2, b * noise.blockLength, end);
  });
  return weights;
}

/**
 * Where a log steps.
 * @param sums of values weighted by 1 / variance
 * @returns rising indexes at which a new level begins
 */
export function stepsOf(sums: RunningSums): Int32Array {
  const n = sums.weights.length - 1;
  const penalty = stepPenalty(n);
  if (n <= exactUpTo) return partition(sums, penalty);
  const threshold = penalty / (n <= equalUpTo ? 5 : 2.5);
  return settlePlaces(sums, partition(sums, penalty, stepPlaces(sums, threshold)));
}

export const stepPenalty = (n: number): number => penaltyFactor * Math.log(Math.max(n, 8));

/** Moves each start to the best place between its neighbours, since the likely places are near it, not always on it. */
function settlePlaces(sums: RunningSums, starts: Int32Array): Int32Array {
  const { weights, products } = sums;
  const edges = [0, ...starts, weights.length - 1];
  const near = 200;
  const gain = (from: number, to: number) => (products[to]! - products[from]!) ** 2 / (weights[to]! - weights[from]!);
  for (let k = 1; k < edges.length - 1; k++) {
    const [left, here, right] = [edges[k - 1]!, edges[k]!, edges[k + 1]!];
    let most = -1;
    for (let i = Math.max(left + 1, here - near); i <= Math.min(right - 1, here + near); i++) {
      const both = gain(left, i) + gain(i, right);
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
  const pause = pauseSeconds(samples);
  const edges = new Set<number>([0, ...starts, seconds.length]);
  for (let i = 1; i < seconds.length; i++) if (seconds[i]! - seconds[i - 1]! > pause) edges.add(i);
  return [...edges].sort((a, b) => a - b);
}

/** Samples further apart than this have a pause of the log between them. */
export const pauseSeconds = (samples: Samples): number => Math.max(10 * samples.intervalSeconds, 5);

/** Leaves out the steps that are stairs of a slow drift, or the slopes of a regulator that hunts. */
function joinDrift(sums: RunningSums, edges: readonly number[], samples: Samples): number[] {
  return edges.filter((at, k) => {
    if (k === 0 || k === edges.length - 1) return true;
    if (samples.seconds[at]! - samples.seconds[at - 1]! > pauseSeconds(samples)) return true;
    const around = [edges[k - 1]!, at, edges[k + 1]!] as const;
    return !isStair(sums, around, samples) && !isSlow(sums, around, samples);
  });
}

/**
 * Whether two stretches are stairs of one drift: straight lines through them meet.
 * Short ones have to climb as a drift does: two levels in quick succession do not.
 */
function isStair(sums: RunningSums, [from, at, to]: readonly [number, number, number], samples: Samples): boolean {
  if (Math.min(at - from, to - at) < 3) return false;
  const step = meanOf(sums, at, to) - meanOf(sums, from, at);
  const before = ends(sums, from, at);
  const after = ends(sums, at, to);
  if (Math.abs(after.first - before.last) >= driftShare * Math.abs(step)) return false;
  const least = Math.max(fewestSamples, driftSeconds / Math.max(samples.intervalSeconds, 1e-9));
  if (at - from >= least && to - at >= least) return true;
  return (before.last - before.first) / step > driftShare && (after.last - after.first) / step > driftShare;
}

/** Whether a change takes its time: within a second on both sides there is little of it, and noise does not hide more. */
function isSlow(sums: RunningSums, [from, at, to]: readonly [number, number, number], samples: Samples): boolean {
  const width = Math.max(slowSamples, Math.ceil(driftSeconds / Math.max(samples.intervalSeconds, 1e-9)));
  if (Math.min(at - from, to - at) < width) return false;
  const step = Math.abs(meanOf(sums, at, to) - meanOf(sums, from, at));
  const jump = Math.abs(meanOf(sums, at, at + width) - meanOf(sums, at - width, at));
  const noise = Math.sqrt(2 / (sums.weights[at + width]! - sums.weights[at]!));
  return jump + noise < slowShare * step;
}

/** Both ends of a straight line through a stretch, from the means of its thirds: steps of a sample's noise matter little. */
function ends(sums: RunningSums, from: number, to: number): { first: number; last: number } {
  const third = Math.max(1, Math.floor((to - from) / 3));
  const slope = (meanOf(sums, to - third, to) - meanOf(sums, from, from + third)) / (to - from - third);
  const middle = meanOf(sums, from, to);
  const half = ((to - from) / 2) * slope;
  return { first: middle - half, last: middle + half };
}
