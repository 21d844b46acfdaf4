/**
 * A log by itself, before anybody asks what was measured where: when its samples were taken, how they scatter, where
 * they step. Most of the work on a big log, and no log's needs another's.
 */
import type { LogReading, Samples } from "../log/sample.ts";
import { countOf } from "./count.ts";
import type { Noise } from "./noise.ts";
import { momentsOf, type SampleMoments } from "./sample-moment.ts";
import { type SampleSums, sampleSums } from "./sample-sums.ts";
import { type Segment, segmentsOf } from "./segmentation.ts";
import { settle, withoutOutliers } from "./settling.ts";

export interface CutLog {
  /** with the moments at which they were taken in place of their stamps, and the display's count as resolution */
  readonly samples: Samples;
  readonly moments: SampleMoments;
  /** of values without outliers: single samples that jumped out of their stretch and back */
  readonly sums: SampleSums;
  readonly segments: readonly Segment[];
  readonly noise: Noise;
  /** mostly negative: where volts or amps should be positive they were taken the wrong way round */
  readonly turned: boolean;
}

/** What was read of a recording, and where its log was cut already what came of it. */
export interface ReadLog extends LogReading {
  readonly cut?: CutLog;
}

/**
 * Cuts logs one after the other; one without samples has no segments.
 * @param logs channels of one file share their clock, and its moments are then found once
 */
export function cutLogs(logs: readonly Samples[]): CutLog[] {
  const known = new Map<Float64Array, SampleMoments>();
  // One for all: a big log's would be thrown away when memory is shortest.
  const room = new Float64Array(1 + logs.reduce((most, { values }) => Math.max(most, values.length), 0));
  return logs.map((stamped) => {
    const moments = known.get(stamped.seconds) ?? momentsOf(stamped);
    known.set(stamped.seconds, moments);
    const resolution = countOf(stamped.values, stamped.resolution);
    const samples = { ...stamped, seconds: moments.seconds, resolution };
    const { segments, noise } = segmentsOf(samples, room);
    const settled = settle(segments, samples, noise);
    const sums = sampleSums(withoutOutliers(samples.values, settled.outliers));
    return { samples, moments, sums, segments: settled.segments, noise, turned: isTurned(samples.values) };
  });
}

/** By how much what is below nothing outdoes what is above, at its furthest and over all. */
const mostly = 3;
/** A value counts by its square, up to that of so many times the mean: what lasts tells, not one sample gone astray. */
const mostMeans = 8;

function isTurned(values: Float64Array): boolean {
  let [lowest, highest, sum] = [0, 0, 0];
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!;
    if (value < lowest) lowest = value;
    if (value > highest) highest = value;
    sum += Math.abs(value);
  }
  // Another current, or a clamp's zero, may lie below nothing as well.
  if (-lowest <= mostly * highest) return false;
  const most = (mostMeans * sum) / values.length;
  let [below, above] = [0, 0];
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!;
    const counted = Math.min(Math.abs(value), most) ** 2;
    if (value < 0) below += counted;
    else above += counted;
  }
  return below > mostly * above;
}
