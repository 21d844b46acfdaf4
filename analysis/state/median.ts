/**
 * The middle of a row of numbers, and any other rank of it, found without sorting the whole row.
 */

/** Middle value; of an even number the mean of the middle two; NaN for none. Leaves the values as they are. */
export const median = (values: ArrayLike<number>): number => medianInPlace(new Float64Array(values));

/** The same of a row whose order may change. */
export function medianInPlace(row: Float64Array): number {
  if (row.length === 0) return Number.NaN;
  const half = row.length >> 1;
  const upper = ranked(row, half);
  if (row.length % 2 === 1) return upper;
  let lower = row[0]!;
  for (let i = 1; i < half; i++) if (row[i]! > lower) lower = row[i]!;
  return (lower + upper) / 2;
}

/**
 * The value that would stand at an index if the row were sorted; what is smaller is moved before it, what is larger behind.
 * Source: Hoare (1961), Commun. ACM 4, 321 (Algorithm 65), from memory; the pivot is the middle of three
 * @param row numbers, none NaN; its order changes
 * @param rank 0 … length − 1
 * @example ranked(Float64Array.of(5, 1, 4), 1) // 4
 */
export function ranked(row: Float64Array, rank: number): number {
  let low = 0;
  let high = row.length;
  while (high - low > 1) {
    const pivot = middleOfThree(row[low]!, row[(low + high) >> 1]!, row[high - 1]!);
    const smaller = gatherSmaller(row, low, high, pivot);
    if (rank < smaller) {
      high = smaller;
      continue;
    }
    const larger = gatherEqual(row, smaller, high, pivot);
    // Without one that equals it the pivot is no number.
    if (rank < larger || larger === low) return pivot;
    low = larger;
  }
  return row[rank]!;
}

/**
 * Moves what is smaller than the pivot to the front of low … high − 1. Every number is moved, whatever it is: noise
 * compares now so, now so, and a branch on it would be guessed wrong every other time.
 * @returns where the others begin
 */
function gatherSmaller(row: Float64Array, low: number, high: number, pivot: number): number {
  let end = low;
  for (let i = low; i < high; i++) {
    const value = row[i]!;
    row[i] = row[end]!;
    row[end] = value;
    end += +(value < pivot);
  }
  return end;
}

/** The same for what equals it, where nothing is smaller. */
function gatherEqual(row: Float64Array, low: number, high: number, pivot: number): number {
  let end = low;
  for (let i = low; i < high; i++) {
    const value = row[i]!;
    row[i] = row[end]!;
    row[end] = value;
    end += +(value === pivot);
  }
  return end;
}

const middleOfThree = (a: number, b: number, c: number): number =>
  Math.max(Math.min(a, b), Math.min(Math.max(a, b), c));
