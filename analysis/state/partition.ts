/**
 * Optimal partitioning: the cut of a row of numbers into stretches of one level each that has the least
 * weighted squared deviation plus a penalty per stretch. Comes out: where the stretches begin.
 */
import { alike, blockEnd, blockOf, type SampleWeights, weightBeforeBlocks } from "./sample-weights.ts";

/** Running sums of a row: entry i covers what stands before i. Values are taken less the first, so that a large level costs no digits. */
export interface RunningSums {
  readonly products: Float64Array;
  readonly weights: SampleWeights;
  /** what the samples before each block of `weights` weigh */
  readonly before: Float64Array;
  readonly origin: number;
}

/** What the samples before i weigh together. */
export function weightBefore({ weights, before }: RunningSums, i: number): number {
  const block = blockOf(weights, i);
  return before[block]! + (i - block * weights.blockLength) * weights.each[block]!;
}

/**
 * @param values numbers, none NaN
 * @param weights 1 / variance of each value, > 0; all alike where left out
 * @param room where the sums are put, one number longer than the row or more; it must stay as it is while they are used
 */
export function runningSums(
  values: Float64Array,
  weights: SampleWeights = alike(values.length),
  room: Float64Array = new Float64Array(values.length + 1),
): RunningSums {
  const n = values.length;
  const origin = n > 0 ? values[0]! : 0;
  const products = room.subarray(0, n + 1);
  let product = 0;
  products[0] = 0;
  for (let i = 0, block = 0; i < n; block++) {
    const weight = weights.each[block]!;
    for (const end = blockEnd(weights, block, n); i < end; i++) {
      product += weight * (values[i]! - origin);
      products[i + 1] = product;
    }
  }
  return { products, weights, before: weightBeforeBlocks(weights), origin };
}

/** Weighted mean of from … to − 1. */
export function meanOf(sums: RunningSums, from: number, to: number): number {
  return (
    sums.origin + (sums.products[to]! - sums.products[from]!) / (weightBefore(sums, to) - weightBefore(sums, from))
  );
}

/**
 * Exact optimal partitioning with pruning (PELT).
 * Squares of the values are common to all partitions, so the gain of a stretch, (Σ w·x)² / Σ w, is all that is compared.
 * Takes up to the order of n² where there are few steps.
 * @param penalty cost of one more stretch, in units of weight × value²; > 0
 * @param candidates places where a stretch may begin, rising, within 1 … n − 1; every place where left out
 * @returns rising indexes at which a new stretch begins, the first stretch's 0 not among them
 * Source: Killick, Fearnhead, Eckley (2012), J. Am. Stat. Assoc. 107, 1590; from memory
 * @example partition(runningSums(Float64Array.from([0, 0, 0, 5, 5, 5])), 1) // [3]
 */
export function partition(sums: RunningSums, penalty: number, candidates?: Int32Array): Int32Array {
  const n = sums.products.length - 1;
  if (n < 2) return new Int32Array(0);
  const places = withEnds(candidates, n);
  // Of the places only, side by side: each is met again and again.
  const products = Float64Array.from(places, (place) => sums.products[place]!);
  const weights = Float64Array.from(places, (place) => weightBefore(sums, place));
  const best = new Float64Array(places.length);
  const before = new Int32Array(places.length);
  best[0] = -penalty;
  let alive = new Int32Array(places.length);
  let spare = new Int32Array(places.length);
  const reach = new Float64Array(places.length);
  let aliveCount = 1;
  for (let j = 1; j < places.length; j++) {
    let least = Number.POSITIVE_INFINITY;
    for (let a = 0; a < aliveCount; a++) {
      const start = alive[a]!;
      const product = products[j]! - products[start]!;
      const cost = best[start]! - (product * product) / (weights[j]! - weights[start]!);
      reach[a] = cost;
      if (cost < least) {
        least = cost;
        before[j] = start;
      }
    }
    best[j] = least + penalty;
    // A start that is behind by more than the penalty can never win again.
    let kept = 0;
    for (let a = 0; a < aliveCount; a++) if (reach[a]! <= best[j]!) spare[kept++] = alive[a]!;
    spare[kept++] = j;
    [alive, spare] = [spare, alive];
    aliveCount = kept;
  }
  const starts: number[] = [];
  for (let j = before[places.length - 1]!; j > 0; j = before[j]!) starts.push(places[j]!);
  return Int32Array.from(starts.reverse());
}

function withEnds(candidates: Int32Array | undefined, n: number): Int32Array {
  if (candidates === undefined) return Int32Array.from({ length: n + 1 }, (_, i) => i);
  return Int32Array.from([0, ...candidates, n]);
}

/** Cost of a partition as `partition` counts it, up to the squares that all partitions share. */
export function partitionCost(sums: RunningSums, penalty: number, starts: ArrayLike<number>): number {
  const { products } = sums;
  const edges = [0, ...Array.from(starts), products.length - 1];
  let cost = 0;
  for (let k = 1; k < edges.length; k++) {
    const product = products[edges[k]!]! - products[edges[k - 1]!]!;
    cost += penalty - (product * product) / (weightBefore(sums, edges[k]!) - weightBefore(sums, edges[k - 1]!));
  }
  return cost;
}
