/**
 * Where a step could be: places at which neighbouring stretches differ, looked for at every width.
 * Optimal partitioning over these few places gives what it gives over all, in linear time for millions of samples.
 */
import { type RunningSums, weightBefore } from "./partition.ts";
import { blockEnd, blockOf } from "./sample-weights.ts";

/** Up to this width every place is looked at; wider windows are moved by an eighth of their width. */
const finestWidth = 16;
const strideShare = 8;
/** Windows up to this width lie in the processor's nearest memory together. */
const nearWidth = 1024;
/** Shorter blocks of weights hold few places that lie within one; a log of so few samples is near enough as a whole. */
const nearBlock = 8 * finestWidth;

/**
 * Rising indexes at which the mean of w samples after differs from that of w samples before, for w = 1, 2, 4 …,
 * by more than the threshold, each the place of largest difference near it.
 * @param threshold least saving in weighted squared deviations that a step must bring; > 0
 */
export function stepPlaces(sums: RunningSums, threshold: number): Int32Array {
  const n = sums.products.length - 1;
  const marks = new Uint8Array(n + 1);
  const peaks: PeakSearch[] = [];
  for (let width = 1; 2 * width <= n; width *= 2) peaks.push(newSearch(width));
  if (sums.weights.blockLength >= nearBlock) markNearPeaks(sums, peaks, threshold, marks);
  for (const search of peaks) {
    markPeaks(sums, search, n, threshold, marks);
    if (search.peak >= 0) marks[finest(sums, search)] = 1;
  }
  let count = 0;
  for (let i = 0; i <= n; i++) count += marks[i]!;
  const places = new Int32Array(count);
  for (let i = 0, p = 0; i <= n; i++) if (marks[i] === 1) places[p++] = i;
  return places;
}

/** Where the search for peaks at one width stands. */
interface PeakSearch {
  readonly width: number;
  readonly stride: number;
  /** the next place to look at */
  next: number;
  /** highest place since the last mark; −1: none */
  peak: number;
  height: number;
}

const newSearch = (width: number): PeakSearch => ({
  width,
  stride: width <= finestWidth ? 1 : width / strideShare,
  next: width,
  peak: -1,
  height: 0,
});

/** Saving of squared deviations by a step at i between windows of one width, weights taken as alike within them. */
function saving(sums: RunningSums, i: number, width: number): number {
  const { products } = sums;
  const difference = products[i + width]! - 2 * products[i]! + products[i - width]!;
  return (difference * difference) / weightAbout(sums, i, width);
}

function weightAbout(sums: RunningSums, i: number, width: number): number {
  return weightBefore(sums, i + width) - weightBefore(sums, i - width);
}

/**
 * All fine widths at once, as far as the windows of each lie in one block of weights: nearly all that is looked at is
 * looked at here. Then the next wider ones, so that what was read from memory for one is still near for the next.
 */
function markNearPeaks(sums: RunningSums, searches: readonly PeakSearch[], threshold: number, marks: Uint8Array): void {
  const { weights, products } = sums;
  const n = products.length - 1;
  const fine = searches.filter(({ width }) => width <= finestWidth);
  const wider = searches.filter(({ width }) => width > finestWidth && width <= nearWidth);
  for (let block = 0, from = 0; block < weights.each.length; block++) {
    const to = blockEnd(weights, block, n);
    const [first, last] = [from + finestWidth, to - finestWidth];
    from = to;
    if (first > last) continue;
    for (const search of fine) markPeaks(sums, search, first - 1, threshold, marks);
    const limit = threshold * 2 * weights.each[block]!;
    for (let i = standsOut(products, first, last, limit); i <= last; i = standsOut(products, i + 1, last, limit)) {
      for (const search of fine)
        if (difference(products, i, search.width) ** 2 >= limit * search.width) climb(sums, search, i, marks);
    }
    for (const search of fine) search.next = last + 1;
    for (const search of wider) markPeaks(sums, search, last, threshold, marks);
  }
}

const difference = (products: Float64Array, i: number, width: number): number =>
  products[i + width]! - 2 * products[i]! + products[i - width]!;

/** The first place from `i` to `last` at which any fine width exceeds its limit; last + 1 where none does. */
function standsOut(products: Float64Array, first: number, last: number, limit: number): number {
  for (let i = first; i <= last; i++) {
    const twice = 2 * products[i]!;
    const by1 = products[i + 1]! - twice + products[i - 1]!;
    const by2 = products[i + 2]! - twice + products[i - 2]!;
    const by4 = products[i + 4]! - twice + products[i - 4]!;
    const by8 = products[i + 8]! - twice + products[i - 8]!;
    const by16 = products[i + 16]! - twice + products[i - 16]!;
    if (by1 * by1 >= limit || by2 * by2 >= 2 * limit || by4 * by4 >= 4 * limit) return i;
    if (by8 * by8 >= 8 * limit || by16 * by16 >= 16 * limit) return i;
  }
  return last + 1;
}

/** Goes on to the places up to `end`. */
function markPeaks(sums: RunningSums, search: PeakSearch, end: number, threshold: number, marks: Uint8Array): void {
  const { weights, products } = sums;
  const { width, stride } = search;
  const n = products.length - 1;
  const last = Math.min(n - width, end);
  let i = search.next;
  while (i <= last) {
    // Where both windows lie in one block of weights all places share one limit; this loop sees every sample at every width.
    const block = blockOf(weights, i - width);
    const alikeTo = Math.min(last, blockEnd(weights, block, n) - width);
    const limit = threshold * (i <= alikeTo ? 2 * width * weights.each[block]! : weightAbout(sums, i, width));
    for (const to = Math.max(i, alikeTo); i <= to; i += stride) {
      const difference = products[i + width]! - 2 * products[i]! + products[i - width]!;
      if (difference * difference >= limit) climb(sums, search, i, marks);
    }
  }
  search.next = i;
}

/** Takes place i, which stands out, into the peak that it belongs to. */
function climb(sums: RunningSums, search: PeakSearch, i: number, marks: Uint8Array): void {
  const height = saving(sums, i, search.width);
  if (search.peak >= 0 && i - search.peak > search.width / 2) {
    marks[finest(sums, search)] = 1;
    search.peak = -1;
  }
  if (search.peak >= 0 && height <= search.height) return;
  search.peak = i;
  search.height = height;
}

/** The exact place of a peak found with a coarse stride. */
function finest(sums: RunningSums, { peak, width, stride }: PeakSearch): number {
  if (stride === 1) return peak;
  const { products, weights } = sums;
  const n = products.length - 1;
  const last = Math.min(n - width, peak + stride);
  let best = peak;
  let bestSquare = 0;
  let bestWeight = 1;
  for (let i = Math.max(width, peak - stride); i <= last; ) {
    // As saving() along places between two ends of blocks, where the weight about a place grows evenly.
    const [low, high] = [blockOf(weights, i - width), blockOf(weights, i + width)];
    const to = Math.min(last, blockEnd(weights, low, n) - 1 + width, blockEnd(weights, high, n + 1) - 1 - width);
    const grows = weights.each[high]! - weights.each[low]!;
    for (let weight = weightAbout(sums, i, width); i <= to; i++, weight += grows) {
      const difference = products[i + width]! - 2 * products[i]! + products[i - width]!;
      const square = difference * difference;
      if (square * bestWeight <= bestSquare * weight) continue;
      best = i;
      bestSquare = square;
      bestWeight = weight;
    }
  }
  return best;
}
