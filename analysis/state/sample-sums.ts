/**
 * Means of any stretch of a log at once: running sums of its values, kept for every so many-th sample only,
 * so that ten million samples cost little memory.
 */

const blockLength = 64;

export interface SampleSums {
  readonly values: Float64Array;
  /** sum of all values less `origin` before sample 64·b, at b */
  readonly before: Float64Array;
  readonly origin: number;
}

/** @param values numbers, none NaN */
export function sampleSums(values: Float64Array): SampleSums {
  const origin = values[0] ?? 0;
  const before = new Float64Array(Math.floor(values.length / blockLength) + 1);
  let sum = 0;
  for (let b = 1; b < before.length; b++) {
    for (let i = (b - 1) * blockLength; i < b * blockLength; i++) sum += values[i]! - origin;
    before[b] = sum;
  }
  return { values, before, origin };
}

/**
 * Mean of samples from … to − 1; NaN for none.
 * @example meanOfSamples(sampleSums(Float64Array.of(12, 13, 20)), 0, 2) // 12.5
 */
export function meanOfSamples(sums: SampleSums, from: number, to: number): number {
  return sums.origin + (sumBefore(sums, to) - sumBefore(sums, from)) / (to - from);
}

function sumBefore({ values, before, origin }: SampleSums, end: number): number {
  const block = Math.floor(end / blockLength);
  let sum = before[block]!;
  for (let i = block * blockLength; i < end; i++) sum += values[i]! - origin;
  return sum;
}
