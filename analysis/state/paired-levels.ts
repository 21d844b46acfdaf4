/**
 * By how much one volts log stands over another at the same moments: those at which the slower looked.
 * Means of a whole stretch would be of two times where one log looked but once, and a battery that sags moves meanwhile.
 */
import type { Seconds } from "../units.ts";
import { runEnd } from "./keyed-height.ts";
import { meanOfSamples } from "./sample-sums.ts";
import { type ClockedLog, lowerBound, type Stretch } from "./stretch.ts";

export interface PairedLevels {
  /** for each stretch, NaN where the slower log did not look while both showed one level */
  readonly levels: Float64Array;
  /** as each stretch begins and as it ends */
  readonly begins: Float64Array;
  readonly finishes: Float64Array;
}

/** A meter's filter is on its way for so long after a step. */
const settlingSeconds: Seconds = 0.6;
/** A stretch's ends are what lies within so long of them. */
const endSeconds: Seconds = 2.4;
/** Fewer looks than this say less of a level than all while both logs showed it. */
const fewLooks = 5;
/** Of so many looks and more, two means over the same time are as good as pairs. */
const manyLooks = 24;

/**
 * @param a place of one log in its group, and b of the other; volts of a less volts of b, each as it was clipped on
 * @param run stretches of one number are one level to both logs
 */
export function pairedLevels(
  group: readonly ClockedLog[],
  stretches: readonly Stretch[],
  run: Int32Array,
  a: number,
  b: number,
): PairedLevels {
  const swapped = group[b]!.log.samples.intervalSeconds > group[a]!.log.samples.intervalSeconds;
  const [slow, fast] = swapped ? [b, a] : [a, b];
  const pair = pairOf(group[slow]!, group[fast]!, swapped ? -1 : 1);
  const { levels, begins, finishes } = empty(stretches.length);
  for (let first = 0; first < run.length; ) {
    const last = runEnd(run, first, 1);
    const whole = looksWithin(stretches, slow, first, last, pair);
    for (let k = first; k <= last; k++) {
      const own = looksWithin(stretches, slow, k, k, pair);
      const [from, to] = own.to - own.from >= fewLooks ? [own.from, own.to] : [whole.from, whole.to];
      levels[k] = pair.over(from, to);
      const reach = Math.max(2, Math.round(endSeconds / pair.intervalSeconds));
      const long = to - from >= 2 * reach;
      begins[k] = long ? pair.over(from, from + reach) : levels[k]!;
      finishes[k] = long ? pair.over(to - reach, to) : levels[k]!;
    }
    first = last + 1;
  }
  return { levels, begins, finishes };
}

const empty = (count: number) => ({
  levels: new Float64Array(count),
  begins: new Float64Array(count),
  finishes: new Float64Array(count),
});

interface Pair {
  readonly intervalSeconds: Seconds;
  /** of the slower log's samples, those that lie this long after a step are at rest */
  readonly rest: number;
  /** mean of volts of a less volts of b at the slower log's samples from … to − 1 */
  readonly over: (from: number, to: number) => number;
}

function pairOf(slow: ClockedLog, fast: ClockedLog, way: 1 | -1): Pair {
  const { intervalSeconds, seconds } = slow.log.samples;
  const within = fast.log.samples.seconds;
  const near = Math.min(intervalSeconds / 2, fast.log.samples.intervalSeconds) + fast.uncertaintySeconds;
  const local = (at: number) => (slow.startSeconds + seconds[at]! * slow.rate - fast.startSeconds) / fast.rate;
  const slowSign = way * slow.log.movement.polarity;
  const fastSign = way * fast.log.movement.polarity;
  const between = (begin: Seconds, end: Seconds) => {
    const from = lowerBound(within, begin);
    const to = lowerBound(within, end + 1e-9);
    return to > from ? meanOfSamples(fast.log.sums, from, to) : interpolated(fast, (begin + end) / 2);
  };
  const over = (from: number, to: number) => {
    if (to <= from) return Number.NaN;
    const mean = slowSign * meanOfSamples(slow.log.sums, from, to);
    const half = intervalSeconds / 2;
    if (to - from >= manyLooks) return mean - fastSign * between(local(from) - half, local(to - 1) + half);
    let sum = 0;
    for (let i = from; i < to; i++) sum += between(local(i) - near, local(i) + near);
    return mean - (fastSign * sum) / (to - from);
  };
  return { intervalSeconds, rest: Math.max(1, Math.round(settlingSeconds / intervalSeconds)), over };
}

/** Between two samples; before the first and after the last as these. */
function interpolated({ log }: ClockedLog, at: Seconds): number {
  const { seconds } = log.samples;
  const { values } = log.sums;
  const after = Math.min(lowerBound(seconds, at), seconds.length - 1);
  const before = Math.max(after - 1, 0);
  const whole = seconds[after]! - seconds[before]!;
  const share = whole > 0 ? Math.min(Math.max((at - seconds[before]!) / whole, 0), 1) : 1;
  return values[before]! + share * (values[after]! - values[before]!);
}

/** The slower log's samples in stretches first … last, those left out in which a filter is still on its way, a quarter at most. */
function looksWithin(stretches: readonly Stretch[], slow: number, first: number, last: number, { rest }: Pair) {
  let from = Number.POSITIVE_INFINITY;
  let to = 0;
  for (let k = first; k <= last; k++) {
    const look = stretches[k]!.looks[slow]!;
    if (look.to <= look.from) continue;
    from = Math.min(from, look.from);
    to = Math.max(to, look.to);
  }
  const trim = Math.min(rest, Math.max(to - from, 0) >> 2);
  return { from: from + trim, to: to - trim };
}
