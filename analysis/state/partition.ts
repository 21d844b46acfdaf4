/**
 * Optimal partitioning: the cut of a row of numbers into stretches of one level each that has the least
 * squared deviation plus a penalty per stretch. Comes out: where the stretches begin.
 */

/**
 * Exact optimal partitioning with pruning (PELT).
 * Cost of a stretch: squared deviations from its mean. Up to the order of n² where there are few steps.
 * @param values numbers, none NaN
 * @param penalty cost of one more stretch, in squared units of the values; > 0
 * @param candidates places where a stretch may begin, rising, within 1 … n − 1; every place where left out
 * @returns rising indexes at which a new stretch begins, the first stretch's 0 not among them
 * Source: Killick, Fearnhead, Eckley (2012), J. Am. Stat. Assoc. 107, 1590; from memory
 * @example partition(Float64Array.from([0, 0, 0, 5, 5, 5]), 1) // [3]
 */
export function partition(values: Float64Array, penalty: number, candidates?: Int32Array): Int32Array {
  const sums = prefixSums(values);
  return partitionSums(sums, penalty, candidates ?? everyPlace(values.length));
}

/** Running sums of the values less the first: sums[i] covers values before i. A large common level then costs no digits. */
export function prefixSums(values: Float64Array): Float64Array {
  const n = values.length;
  const origin = n > 0 ? values[0]! : 0;
  const sums = new Float64Array(n + 1);
  let total = 0;
  for (let i = 0; i < n; i++) {
    total += values[i]! - origin;
    sums[i + 1] = total;
  }
  return sums;
}

/**
 * The same on running sums. Squares of the values are common to all partitions, so the gain of a stretch,
 * sum² / length, is all that is compared.
 */
export function partitionSums(sums: Float64Array, penalty: number, candidates: Int32Array): Int32Array {
  const n = sums.length - 1;
  if (n < 2 || candidates.length === 0) return new Int32Array(0);
  const places = Int32Array.from([0, ...candidates, n]);
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
      const sum = sums[end]! - sums[start]!;
      const cost = best[alive[a]!]! - (sum * sum) / (end - start);
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

function everyPlace(n: number): Int32Array {
  return Int32Array.from({ length: Math.max(n - 1, 0) }, (_, i) => i + 1);
}

/** Cost of a partition as `partition` counts it, up to the squares that all partitions share. */
export function partitionCost(values: Float64Array, penalty: number, starts: ArrayLike<number>): number {
  const sums = prefixSums(values);
  const edges = [0, ...Array.from(starts), values.length];
  let cost = 0;
  for (let k = 1; k < edges.length; k++) {
    const length = edges[k]! - edges[k - 1]!;
    const sum = sums[edges[k]!]! - sums[edges[k - 1]!]!;
    cost += penalty - (sum * sum) / length;
  }
  return cost;
}
