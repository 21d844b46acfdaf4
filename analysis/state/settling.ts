/**
 * Segments that are no state of their own: the moment of passing from one level to the next, and single samples that
 * jump out and back. The first are given to their neighbours, the second are kept apart.
 */
import type { Samples } from "../log/sample.ts";
import type { Seconds } from "../units.ts";
import { type Noise, noiseAt } from "./noise.ts";
import type { Segment } from "./segmentation.ts";

/** A passing lasts at most this long, or two samples where the meter is slow. */
const passingSeconds: Seconds = 1.5;
const passingSamples = 2;
/** To a level that is itself as short it lasts less: that level has to be left again. */
const momentSeconds: Seconds = 0.25;
const levelSamples = 3;
/** A level is held for so long, in so many samples, its halves within this share of the whole way. */
const restSeconds: Seconds = 0.7;
const restSamples = 4;
const restShare = 0.04;
/** A sample has left a level where it is this share of the step away, and out of the noise. */
const onsetShare = 0.1;
/** Within this share of a step from either end a level has all but arrived. */
const nearEnd = 0.15;
/** At intervals up to this a single sample is no state: nobody keys so briefly, no engine cranks so briefly. */
const outlierInterval: Seconds = 0.5;
/** At intervals below this whatever segments it stands between. */
const glitchInterval: Seconds = 0.15;
/** A sample gone astray leaves nothing behind: the next is back to within this share of the way. */
const atOnceShare = 0.02;

export interface Settled {
  readonly segments: readonly Segment[];
  /** single samples that jumped out of their stretch and back, by index */
  readonly outliers: readonly number[];
}

/** Gives passings and outliers to the stretches beside them. */
export function settle(segments: readonly Segment[], samples: Samples, noise: Noise): Settled {
  const outliers: number[] = [];
  const kept = joinOutliers(segments, samples, noise, outliers);
  return { segments: fromOnset(dividePassings(kept, samples, noise), samples, noise), outliers };
}

/** Values with each outlier given its neighbour's; the row itself where there are none. */
export function withoutOutliers(values: Float64Array, outliers: readonly number[]): Float64Array {
  if (outliers.length === 0) return values;
  const clean = values.slice();
  for (const at of outliers) clean[at] = values[at - 1]!;
  return clean;
}

function joinOutliers(segments: readonly Segment[], samples: Samples, noise: Noise, outliers: number[]): Segment[] {
  if (samples.intervalSeconds > outlierInterval) return [...segments];
  const joined: Segment[] = [];
  for (let k = 0; k < segments.length; k++) {
    const here = segments[k]!;
    const before = joined[joined.length - 1];
    const after = segments[k + 1];
    if (
      before !== undefined &&
      after !== undefined &&
      here.to - here.from === 1 &&
      isOutlier(before, here, after, samples, noise)
    ) {
      outliers.push(here.from);
      joined[joined.length - 1] = joinLevels(before, after);
      k++;
    } else joined.push(here);
  }
  return joined;
}

function isOutlier(before: Segment, here: Segment, after: Segment, samples: Samples, noise: Noise): boolean {
  const { values, intervalSeconds } = samples;
  // Of a fast meter the samples beside it tell, whatever level they are on the way to.
  const fast = intervalSeconds < glitchInterval;
  const [a, b] = fast ? [values[here.from - 1]!, values[here.to]!] : [before.level, after.level];
  const height = Math.min(Math.abs(here.level - a), Math.abs(here.level - b));
  const own = noiseAt(noise, here.from);
  if ((here.level - a) * (here.level - b) <= 0 || Math.abs(a - b) > Math.max(0.2 * height, 3 * own)) return false;
  if (fast) return true;
  if (!standsBeside(before) || !standsBeside(after)) return false;
  // A slower one may show a crank in one sample: the battery is then some time on its way back.
  const left = Math.abs(values[here.to]! - before.level);
  return intervalSeconds <= momentSeconds || left < Math.max(atOnceShare * height, 4 * own * noise.tie);
}

const standsBeside = ({ from, to }: Segment): boolean => to - from >= 2;

function joinLevels(a: Segment, b: Segment): Segment {
  const weightA = a.to - a.from;
  const weightB = b.to - b.from;
  return { from: a.from, to: b.to, level: (a.level * weightA + b.level * weightB) / (weightA + weightB) };
}

/** Short segments that lead from one standing level to the next are the passing between them: cut where it is half way. */
function dividePassings(segments: readonly Segment[], samples: Samples, noise: Noise): Segment[] {
  const result: Segment[] = [];
  for (let k = 0; k < segments.length; k++) {
    const before = result[result.length - 1];
    const after = before === undefined ? -1 : passingEnd(segments, k, before, samples, noise);
    if (before === undefined || after < 0) {
      result.push(segments[k]!);
      continue;
    }
    const next = segments[after]!;
    const cut = halfWay(before, next, samples.values);
    result[result.length - 1] = { ...before, to: cut };
    result.push({ ...next, from: cut });
    k = after;
  }
  return result;
}

/** Index of the standing segment that the short ones from k on lead to; −1 where they lead to none. */
function passingEnd(segments: readonly Segment[], k: number, before: Segment, samples: Samples, noise: Noise): number {
  let end = k;
  while (end < segments.length && isShort(segments, k, end, samples)) end++;
  for (; end > k; end--) {
    const after = segments[end];
    if (after === undefined) continue;
    const stands = turns(segments, end) || after.to - after.from >= levelSamples;
    if (isShort(segments, end, end, samples) && !(stands && isMoment(segments, k, end, samples))) continue;
    const levels = [before, ...segments.slice(k, end), after];
    if (segments.slice(k, end).some((between) => rests(between, before, after, samples, noise))) continue;
    const slow = samples.intervalSeconds > outlierInterval;
    if (leads(levels, noiseAt(noise, before.to) * noise.tie) && (!slow || halfWays(levels) <= 1)) return end;
  }
  return -1;
}

/** Whether what leads from segment k to segment end is a sample or two, too little to be a level of its own. */
function isMoment(segments: readonly Segment[], k: number, end: number, { seconds }: Samples): boolean {
  const [from, to] = [segments[k]!.from, segments[end]!.from];
  return to - from === 1 || seconds[to - 1]! - seconds[from]! < momentSeconds;
}

/** Whether a level between two others is held: a filter on its way, or a set coming up, moves on all the while. */
function rests({ from, to, level }: Segment, before: Segment, after: Segment, samples: Samples, noise: Noise): boolean {
  const whole = after.level - before.level;
  const share = (level - before.level) / whole;
  if (to - from < restSamples || share < nearEnd || share > 1 - nearEnd) return false;
  if (samples.seconds[to - 1]! - samples.seconds[from]! < restSeconds) return false;
  const middle = (from + to) >> 1;
  const moved = meanBetween(samples.values, middle, to) - meanBetween(samples.values, from, middle);
  return Math.abs(moved) < restShare * Math.abs(whole) + (3 * noiseAt(noise, from) * noise.tie) / Math.sqrt(to - from);
}

function meanBetween(values: Float64Array, from: number, to: number): number {
  let sum = 0;
  for (let i = from; i < to; i++) sum += values[i]!;
  return sum / (to - from);
}

/** Where levels turn back they were not on their way: however short, a level was reached. */
function turns(segments: readonly Segment[], k: number): boolean {
  const [before, here, after] = [segments[k - 1], segments[k]!, segments[k + 1]];
  return before !== undefined && after !== undefined && (here.level - before.level) * (here.level - after.level) > 0;
}

/** Whether segments first … last together last no longer than a passing. */
function isShort(segments: readonly Segment[], first: number, last: number, samples: Samples): boolean {
  const from = segments[first]!.from;
  const to = segments[last]!.to;
  if (to - from <= passingSamples) return true;
  return samples.seconds[to - 1]! - samples.seconds[from]! + samples.intervalSeconds <= passingSeconds;
}

/** Whether levels go one way from the first to the last, with no more between than noise allows. */
function leads(levels: readonly Segment[], noise: number): boolean {
  const whole = levels[levels.length - 1]!.level - levels[0]!.level;
  if (Math.abs(whole) < 4 * noise) return false;
  const way = Math.sign(whole);
  return (
    levels.every((segment, i) => i === 0 || (segment.level - levels[i - 1]!.level) * way > -3 * noise) &&
    levels
      .slice(1, -1)
      .every(({ level }) => (level - levels[0]!.level) / whole > 0 && (level - levels[0]!.level) / whole < 1)
  );
}

/** Samples between the first and the last level that are near neither: a slow meter has one, more are a state. */
function halfWays(levels: readonly Segment[]): number {
  const first = levels[0]!.level;
  const whole = levels[levels.length - 1]!.level - first;
  const between = levels.slice(1, -1).filter(({ level }) => Math.abs((level - first) / whole - 0.5) < 0.5 - nearEnd);
  return between.reduce((sum, { from, to }) => sum + to - from, 0);
}

function halfWay(before: Segment, after: Segment, values: Float64Array): number {
  const middle = (before.level + after.level) / 2;
  const rising = after.level > before.level;
  for (let i = before.to; i < after.from; i++) if (rising ? values[i]! > middle : values[i]! < middle) return i;
  return after.from;
}

/**
 * Moves each step to the first sample that has left the level before it: a filter begins to answer at once,
 * however long it takes to arrive.
 */
function fromOnset(segments: readonly Segment[], samples: Samples, noise: Noise): Segment[] {
  const { seconds, values } = samples;
  const moved = [...segments];
  for (let k = 1; k < moved.length; k++) {
    const [before, here] = [moved[k - 1]!, moved[k]!];
    const whole = here.level - before.level;
    const least = Math.max(onsetShare * Math.abs(whole), 3.5 * noiseAt(noise, before.to) * noise.tie);
    let at = here.from;
    const left = (i: number) => (values[i]! - before.level) * Math.sign(whole) > least;
    const mayLeave = (i: number) => i > before.from + 1 && seconds[here.from]! - seconds[i - 1]! <= passingSeconds;
    while (mayLeave(at) && left(at - 1)) at--;
    if (at === here.from) continue;
    moved[k - 1] = { ...before, to: at };
    moved[k] = { ...here, from: at };
  }
  return moved;
}
