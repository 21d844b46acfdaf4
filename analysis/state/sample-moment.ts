/**
 * When each sample of a log was taken, as well as its stamps tell: whole-second stamps of a regular logger
 * say together what none of them says alone.
 */
import type { Samples } from "../log/sample.ts";
import type { Seconds } from "../units.ts";

export interface SampleMoments {
  /** since the first sample */
  readonly seconds: Float64Array;
  /** how far a moment may be off, one standard deviation */
  readonly uncertainty: Seconds;
  /** what the clock showed more than the first stamp says when the first sample was taken */
  readonly firstBeyondStamp: Seconds;
  readonly firstUncertainty: Seconds;
}

/** Stamps that lie so much closer together than they are coarse are worth putting on a straight line. */
const coarse = 0.15;

/**
 * Stamps are taken as cut off, not rounded: a sample was taken up to one step of the stamp later than it says.
 * Where they follow a regular interval within that step, the line through them gives the moments.
 */
export function momentsOf(samples: Samples): SampleMoments {
  const { seconds, stampSeconds, intervalSeconds } = samples;
  // Several samples a stamp: the reader has spread them over it already.
  const spread = intervalSeconds < 0.75 * stampSeconds;
  const alone = (spread ? intervalSeconds : stampSeconds) / Math.sqrt(12);
  const beyond = spread ? 0 : stampSeconds / 2;
  const asStamped = {
    seconds,
    uncertainty: stampSeconds / Math.sqrt(6),
    firstBeyondStamp: beyond,
    firstUncertainty: alone,
  };
  const n = seconds.length;
  if (n < 20 || stampSeconds < coarse * intervalSeconds) return { ...asStamped, uncertainty: alone };
  const line = regularLine(seconds);
  let squares = 0;
  for (let i = 0; i < n; i++) {
    const off = seconds[i]! - line.start - line.step * i;
    if (Math.abs(off) > 1.1 * stampSeconds) return asStamped;
    squares += off * off;
  }
  const scatter = Math.sqrt(squares / n);
  // Stamps in step with the interval all err alike: then the line is no better than one of them.
  const dithered = scatter > 0.5 * alone;
  return {
    seconds: Float64Array.from(seconds, (_, i) => line.step * i),
    uncertainty: (dithered ? 2 : 1) * (scatter / Math.sqrt(n)) + stampSeconds / 1e3,
    firstBeyondStamp: line.start + beyond,
    firstUncertainty: dithered ? (2 * scatter) / Math.sqrt(n) : alone,
  };
}

/** Least squares line of the stamps against their number. */
function regularLine(seconds: Float64Array): { start: Seconds; step: Seconds } {
  const n = seconds.length;
  const middle = (n - 1) / 2;
  let sum = 0;
  let product = 0;
  for (let i = 0; i < n; i++) {
    sum += seconds[i]!;
    product += (i - middle) * seconds[i]!;
  }
  const step = product / ((n * (n * n - 1)) / 12);
  return { start: sum / n - step * middle, step };
}
