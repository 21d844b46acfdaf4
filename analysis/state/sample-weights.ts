/**
 * How much each sample of a log counts: 1 / variance, alike within each block of the log, so that ten million of them
 * are a few thousand numbers.
 */

export interface SampleWeights {
  /** samples in a block; the last one reaches to the end, however long */
  readonly blockLength: number;
  /** weight of one sample, block by block; > 0 */
  readonly each: Float64Array;
}

export const alike = (n: number, weight = 1): SampleWeights => ({
  blockLength: Math.max(n, 1),
  each: Float64Array.of(weight),
});

export const blockOf = ({ blockLength, each }: SampleWeights, i: number): number =>
  Math.min(Math.floor(i / blockLength), each.length - 1);

/** Index after the last sample of a block, in a log of n. */
export const blockEnd = ({ blockLength, each }: SampleWeights, block: number, n: number): number =>
  block === each.length - 1 ? n : (block + 1) * blockLength;

/** What the samples before each block weigh together. */
export function weightBeforeBlocks({ blockLength, each }: SampleWeights): Float64Array {
  const before = new Float64Array(each.length);
  for (let b = 1; b < each.length; b++) before[b] = before[b - 1]! + blockLength * each[b - 1]!;
  return before;
}
