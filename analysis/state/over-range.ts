/**
 * Spans in which a meter across part of the loop showed over-range: more than its range stood there, which no sound
 * part loses. An open contact does it; a mark or two at a step are the meter changing its range.
 */
import type { Samples } from "../log/sample.ts";
import type { Seconds } from "../units.ts";

export interface OverRange {
  /** index of the first sample after the span */
  readonly index: number;
  readonly start: Seconds;
  readonly end: Seconds;
}

const leastMarks = 3;
const leastSeconds: Seconds = 0.4;

/** Spans of over-range between two samples, in order of time; rows without a number count as such. */
export function overRangeIn({ seconds, gapSeconds, intervalSeconds }: Samples): OverRange[] {
  const found: OverRange[] = [];
  let at = 0;
  for (let g = 0; g < gapSeconds.length; ) {
    while (at < seconds.length && seconds[at]! <= gapSeconds[g]!) at++;
    if (at === seconds.length) break;
    const first = g;
    while (g < gapSeconds.length && gapSeconds[g]! < seconds[at]!) g++;
    const start = gapSeconds[first]! - intervalSeconds / 2;
    const end = gapSeconds[g - 1]! + intervalSeconds / 2;
    if (at > 0 && g - first >= leastMarks && end - start >= leastSeconds) found.push({ index: at, start, end });
    if (g === first) g++;
  }
  return found;
}
