/**
 * Where a step could be: places at which neighbouring stretches differ, looked for at every width.
 * Optimal partitioning over these few places gives what it gives over all, in linear time for millions of samples.
 */

/** Up to this width every place is looked at; wider windows are moved by an eighth of their width. */
const finestWidth = 16;
const strideShare = 8;

/**
 * Rising indexes at which the mean of w samples after differs from that of w samples before, for w = 1, 2, 4 …,
 * by more than the threshold, each the place of largest difference near it.
 * @param sums running sums of the values, as `prefixSums` makes them
 * @param threshold least saving in squared deviations that a step of that width must bring; > 0
 */
export function stepPlaces(sums: Float64Array, threshold: number): Int32Array {
  const n = sums.length - 1;
  const places: number[] = [];
  for (let width = 1; 2 * width <= n; width *= 2) {
    const stride = width <= finestWidth ? 1 : width / strideShare;
    collectPeaks(sums, width, stride, threshold, places);
  }
  return Int32Array.from([...new Set(places)].sort((a, b) => a - b));
}

function collectPeaks(sums: Float64Array, width: number, stride: number, threshold: number, places: number[]): void {
  const last = sums.length - 1 - width;
  const least = Math.sqrt(2 * width * threshold);
  let peak = -1;
  let peakHeight = 0;
  for (let i = width; i <= last; i += stride) {
    const height = Math.abs(sums[i + width]! - 2 * sums[i]! + sums[i - width]!);
    if (height < least) continue;
    if (peak >= 0 && i - peak > width / 2) {
      places.push(finest(sums, peak, width, stride));
      peak = -1;
    }
    if (peak < 0 || height > peakHeight) {
      peak = i;
      peakHeight = height;
    }
  }
  if (peak >= 0) places.push(finest(sums, peak, width, stride));
}

/** The exact place of a peak found with a coarse stride. */
function finest(sums: Float64Array, peak: number, width: number, stride: number): number {
  let best = peak;
  let bestHeight = 0;
  const last = sums.length - 1 - width;
  for (let i = Math.max(width, peak - stride); i <= Math.min(last, peak + stride); i++) {
    const height = Math.abs(sums[i + width]! - 2 * sums[i]! + sums[i - width]!);
    if (height > bestHeight) {
      best = i;
      bestHeight = height;
    }
  }
  return best;
}
