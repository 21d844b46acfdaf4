/**
 * Segments that are no state of their own: the moment of passing from one level to the next, and single samples that
 * jump out and back. The first are given to their neighbours, the second are kept apart.
 */
import type { Samples } from "../log/sample.ts";
import type { Seconds } from "../units.ts";
import { type Noise, noiseAt } from "./noise.ts";
import type { Segment } from "./segmentation.ts";

/** A passing lasts at most this long, or two samples where the meter is slow. */
const passingSeconds: Seconds = 1;
const passingSamples = 2;
/** At intervals up to this a single sample is no state: nobody keys so briefly, no engine cranks so briefly. */
const outlierInterval: Seconds = 0.5;

export interface Settled {
  readonly segments: readonly Segment[];
  /** single samples that jumped out of their stretch and back, by index */
  readonly outliers: readonly number[];
}

/** Gives passings and outliers to the stretches beside them. */
export function settle(segments: readonly Segment[], samples: Samples, noise: Noise): Settled {
  const outliers: number[] = [];
  const kept = joinOutliers(segments, samples, noise, outliers);
  return { segments: dividePassings(kept, samples, noise), outliers };
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
      isOutlier(before, here, after, noise)
    ) {
      outliers.push(here.from);
      joined[joined.length - 1] = joinLevels(before, after);
      k++;
    } else joined.push(here);
  }
  return joined;
}

function isOutlier(before: Segment, here: Segment, after: Segment, noise: Noise): boolean {
  const height = Math.min(Math.abs(here.level - before.level), Math.abs(here.level - after.level));
  const sameSide = (here.level - before.level) * (here.level - after.level) > 0;
  const long = before.to - before.from >= 2 && after.to - after.from >= 2;
  return (
    sameSide && long && Math.abs(before.level - after.level) < Math.max(0.2 * height, 3 * noiseAt(noise, here.from))
  );
}

function joinLevels(a: Segment, b: Segment): Segment {
  const weightA = a.to - a.from;
  const weightB = b.to - b.from;
  return { from: a.from, to: b.to, level: (a.level * weightA + b.level * weightB) / (weightA + weightB) };
}

/** A short segment whose level lies between its neighbours' is the passing from one to the other: cut where it is half way. */
function dividePassings(segments: readonly Segment[], samples: Samples, noise: Noise): Segment[] {
  const result = [...segments];
  for (let k = 1; k < result.length - 1; k++) {
    const [before, here, after] = [result[k - 1]!, result[k]!, result[k + 1]!];
    if (!isPassing(before, here, after, samples, noise)) continue;
    const cut = halfWay(before, here, after, samples.values);
    result.splice(k - 1, 3, { ...before, to: cut }, { ...after, from: cut });
    k--;
  }
  return result;
}

function isPassing(before: Segment, here: Segment, after: Segment, samples: Samples, noise: Noise): boolean {
  const { seconds, intervalSeconds } = samples;
  if (Math.abs(after.level - before.level) < 4 * noiseAt(noise, here.from)) return false;
  const short =
    here.to - here.from <= passingSamples && intervalSeconds <= outlierInterval
      ? true
      : here.to - here.from === 1 || seconds[here.to - 1]! - seconds[here.from]! + intervalSeconds <= passingSeconds;
  const longer = Math.min(before.to - before.from, after.to - after.from) > here.to - here.from;
  return short && longer && (here.level - before.level) * (after.level - here.level) > 0;
}

function halfWay(before: Segment, here: Segment, after: Segment, values: Float64Array): number {
  const middle = (before.level + after.level) / 2;
  const rising = after.level > before.level;
  for (let i = here.from; i < here.to; i++) if (rising ? values[i]! > middle : values[i]! < middle) return i;
  return here.to;
}
