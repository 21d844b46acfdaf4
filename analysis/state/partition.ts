/**
 * Optimal partitioning: the cut of a row of numbers into stretches of one level each that has the least
 * weighted squared deviation plus a penalty per stretch. Comes out: where the stretches begin.
 */

/** Running sums of a row: entry i covers what stands before i. Values are taken less the first, so that a large level costs no digits. */
export interface RunningSums {
  readonly weights: Float64Array;
  readonly products: Float64Array;
  readonly origin: number;
}

/**
 * @param values numbers, none NaN
 * @param weights 1 / variance of each value, > 0; all alike where left out
 */
export function runningSums(values: Float64Array, weights?: Float64Array): RunningSums {
  const n = values.length;
  const origin = n > 0 ? values[0]! : 0;
  const sums = { weights: new Float64Array(n + 1), products: new Float64Array(n + 1), origin };
  let weight = 0;
  let product = 0;
  for (let i = 0; i < n; i++) {
    const w = weights === undefined ? 1 : weights[i]!;
    weight += w;
    product += w * (values[i]! - origin);
    sums.weights[i + 1] = weight;
    sums.products[i + 1] = product;
  }
  return sums;
}

/** Weighted mean of from … to − 1. */
export function meanOf(sums: RunningSums, from: number, to: number): number {
  return sums.origin + (sums.products[to]! - sums.products[from]!) / (sums.weights[to]! - sums.weights[from]!);
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
  const { weights, products } = sums;
  const n = weights.length - 1;
  if (n < 2) return new Int32Array(0);
  const places = withEnds(candidates, n);
  const best = new Float64Array(places.length);
  const before = new Int32Array(places.length);
  best[0] = -penalty;
  let alive = new Int32Array(places.length);
  let spare = new Int32Array(places.length);
  const reach = new Float64Array(places.length);
  let aliveCount = 1;
  for (let j = 1; j < places.length; j++) {
    const end = places[j]!;
    let least = Number.POSITIVE_INFINITY;
    for (let a = 0; a < aliveCount; a++) {
      const start = places[alive[a]!]!;
      const product = products[end]! - products[start]!;
      const cost = best[alive[a]!]! - (product * product) / (weights[end]! - weights[start]!);
      reach[a] = cost;
      if (cost < least) {
        least = cost;
        before[j] = alive[a]!;
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
  const { weights, products } = sums;
  const edges = [0, ...Array.from(starts), weights.length - 1];
  let cost = 0;
  for (let k = 1; k < edges.length; k++) {
    const product = products[edges[k]!]! - products[edges[k - 1]!]!;
    cost += penalty - (product * product) / (weights[edges[k]!]! - weights[edges[k - 1]!]!);
  }
  return cost;
}
