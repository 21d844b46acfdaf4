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

/** Stamps that lie so close to the line, in steps of the stamp, are on it but for rounding: they are the moments. */
const onTheLine = 1e-4;

/** A step of more intervals than this has rows missing in it, unless the stamps are too coarse to say. */
const missingRows = 2.5;

/**
 * Stamps are taken as cut off, not rounded: a sample was taken up to one step of the stamp later than it says.
 * Where they follow a regular interval within that step, the line through them gives the moments.
 */
export function momentsOf(samples: Samples): SampleMoments {
  const { seconds, stampSeconds, intervalSeconds } = samples;
  // Several samples a stamp: the reader has spread them over it already.
  const spread = isSpread(stampSeconds, intervalSeconds);
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
  const places = placesOf(samples);
  const line = regularLine(seconds, places);
  let squares = 0;
  let farthest = 0;
  for (let i = 0; i < n; i++) {
    const off = seconds[i]! - line.start - line.step * (places === null ? i : places[i]!);
    const away = Math.abs(off);
    if (away > farthest) farthest = away;
    squares += off * off;
  }
  if (farthest > 1.1 * stampSeconds) return asStamped;
  const scatter = Math.sqrt(squares / n);
  // Stamps in step with the interval all err alike: then the line is no better than one of them.
  const dithered = scatter > 0.5 * alone;
  return {
    seconds: farthest < onTheLine * stampSeconds ? seconds : placed(places, line.step, n),
    uncertainty: (dithered ? 2 : 1) * (scatter / Math.sqrt(n)) + stampSeconds / 1e3,
    firstBeyondStamp: line.start + beyond,
    firstUncertainty: dithered ? (2 * scatter) / Math.sqrt(n) : alone,
  };
}

function placed(places: Float64Array | null, step: Seconds, count: number): Float64Array {
  const seconds = new Float64Array(count);
  for (let i = 0; i < count; i++) seconds[i] = step * (places === null ? i : places[i]!);
  return seconds;
}

/**
 * The number of each sample in the regular row, rows that are missing counted; null where none is and each is its own.
 * Where the reader has spread several samples over a stamp, only the first stamp's are not at their place:
 * it was cut by the log's beginning.
 */
function placesOf({ seconds, stampSeconds, intervalSeconds }: Samples): Float64Array | null {
  const stampRows = stampSeconds / intervalSeconds;
  const regular = missingRows + (isSpread(stampSeconds, intervalSeconds) ? 0 : stampRows);
  if (stepsUpTo(seconds, regular * intervalSeconds * (1 - 1e-9))) return null;
  let places: Float64Array | null = null;
  for (let i = 1; i < seconds.length; i++) {
    const rows = (seconds[i]! - seconds[i - 1]!) / intervalSeconds;
    const first = seconds[i - 1]! - seconds[0]! < stampSeconds && rows < stampRows + 1;
    const missing = rows > regular && !first && Math.round(rows) > 1;
    if (missing && places === null) places = Float64Array.from({ length: seconds.length }, (_, k) => k);
    if (places !== null) places[i] = places[i - 1]! + (missing ? Math.round(rows) : 1);
  }
  return places;
}

function stepsUpTo(seconds: Float64Array, longest: Seconds): boolean {
  for (let i = 1; i < seconds.length; i++) if (seconds[i]! - seconds[i - 1]! > longest) return false;
  return true;
}

const isSpread = (stampSeconds: Seconds, intervalSeconds: Seconds): boolean => intervalSeconds < 0.75 * stampSeconds;

/** Least squares line of the stamps against their number. */
function regularLine(seconds: Float64Array, places: Float64Array | null): { start: Seconds; step: Seconds } {
  const n = seconds.length;
  const meanPlace = places === null ? (n - 1) / 2 : meanOf(places);
  const first = seconds[0]!;
  let sum = 0;
  let product = 0;
  let square = 0;
  for (let i = 0; i < n; i++) {
    const off = (places === null ? i : places[i]!) - meanPlace;
    const since = seconds[i]! - first;
    sum += since;
    product += off * since;
    square += off * off;
  }
  const step = product / square;
  return { start: first + sum / n - step * meanPlace, step };
}

function meanOf(numbers: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < numbers.length; i++) sum += numbers[i]!;
  return sum / numbers.length;
}
