/**
 * Stretches of time in which nothing steps in any log of a group: the atoms that get a state.
 * Goes in: logs cut into segments, with their clocks. Comes out: common stretches with each log's level in them.
 */
import type { Recording } from "../job/job.ts";
import type { Seconds } from "../units.ts";
import type { CutLog } from "./cut-log.ts";
import type { EdgeMoment } from "./edge-moment.ts";
import type { Movement } from "./movement.ts";
import { noiseAt } from "./noise.ts";
import type { OverRange } from "./over-range.ts";
import { meanOfSamples, type SampleSums } from "./sample-sums.ts";
import { segmentOf } from "./segmentation.ts";

/** A log cut into stretches, with what its recording says of it. */
export interface PreparedLog extends CutLog {
  readonly recording: Recording;
  readonly movement: Movement;
  /** of a log across part of the loop, in order of time; none of others */
  readonly overRange: readonly OverRange[];
  /** when each step of the log came, by the sample that begins a segment */
  readonly edgeMoment: (index: number) => EdgeMoment;
}

/** A log with its place on the group's clock: group seconds = startSeconds + local seconds × rate. */
export interface ClockedLog {
  readonly log: PreparedLog;
  readonly startSeconds: Seconds;
  readonly rate: number;
  readonly uncertaintySeconds: Seconds;
}

/** What one log shows in one stretch: samples from … to − 1; none where from ≥ to. */
export interface Look {
  readonly from: number;
  readonly to: number;
  /** the log's own segment that covers the stretch, by number; −1 where the log has a pause or has not begun or has ended */
  readonly segment: number;
  /** of the samples in the stretch where there are enough, else of the segment; NaN where there is none */
  readonly level: number;
  /** the level as the stretch begins and as it ends: a drift in between is no step */
  readonly begin: number;
  readonly finish: number;
  readonly uncertainty: number;
  /** the log showed over-range all through */
  readonly overRange: boolean;
}

export interface Stretch {
  /** on the group's clock */
  readonly start: Seconds;
  readonly end: Seconds;
  /** when the step came that it begins with, as all logs that show it say together */
  readonly began: EdgeMoment;
  /** one for each log of the group, in order */
  readonly looks: readonly Look[];
}

interface Boundary {
  readonly seconds: Seconds;
  readonly halfWidth: Seconds;
  /** for each log of the group the sample that is the first after the step, −1 where it shows none */
  readonly index: Int32Array;
  /** sign of the step in the direction of keying, as the load's volts and as all else shows it: a contact that opens parts them; 0 where not seen */
  readonly signs: { load: number; other: number };
  /** when it came, as each log that shows it says */
  readonly moments: EdgeMoment[];
}

export function stretchesOf(group: readonly ClockedLog[]): Stretch[] {
  const boundaries = commonBoundaries(group);
  const start = Math.min(...group.map((each) => each.startSeconds));
  const end = Math.max(...group.map((each) => each.startSeconds + lastSecond(each.log) * each.rate));
  const edges = [start, ...boundaries.map((boundary) => boundary.seconds), end];
  const lookers = group.map(lookerOf);
  return edges.slice(1).map((stop, k) => ({
    start: edges[k]!,
    end: stop,
    began: k === 0 ? { seconds: start, uncertainty: 0 } : together(boundaries[k - 1]!.moments),
    looks: group.map((_, i) => lookers[i]!(edgeOf(boundaries[k - 1], i, start), edgeOf(boundaries[k], i, end))),
  }));
}

/** Moments weighed by how surely they are known; what lies too far from the surest is of another step. */
function together(moments: readonly EdgeMoment[]): EdgeMoment {
  const surest = moments.reduce((best, each) => (each.uncertainty < best.uncertainty ? each : best));
  let [weights, sum] = [0, 0];
  for (const { seconds, uncertainty } of moments) {
    const off = seconds - surest.seconds;
    if (Math.abs(off) > otherStep * Math.hypot(uncertainty, surest.uncertainty)) continue;
    const weight = 1 / Math.max(uncertainty, 1e-6) ** 2;
    weights += weight;
    sum += weight * off;
  }
  return { seconds: surest.seconds + sum / weights, uncertainty: 1 / Math.sqrt(weights) };
}

/** Moments so many standard deviations apart are of two steps. */
const otherStep = 3;

/** When the last sample was taken, on the log's own clock; 0 where there is none. */
export const lastSecond = ({ samples }: PreparedLog): Seconds => samples.seconds[samples.seconds.length - 1] ?? 0;

interface Edge {
  readonly seconds: Seconds;
  readonly index: number;
  /** the log's own step, or none of its own: then samples near it may lie on either side */
  readonly outer: boolean;
}

function edgeOf(boundary: Boundary | undefined, log: number, outerSeconds: Seconds): Edge {
  if (boundary === undefined) return { seconds: outerSeconds, index: -1, outer: true };
  return { seconds: boundary.seconds, index: boundary.index[log]!, outer: false };
}

function lookerOf({ log, startSeconds, rate, uncertaintySeconds }: ClockedLog): (from: Edge, to: Edge) => Look {
  const { seconds, values, resolution, intervalSeconds, stampSeconds } = log.samples;
  const { sums } = log;
  const slack = 2 * uncertaintySeconds + Math.min(stampSeconds, intervalSeconds);
  const local = (at: Seconds) => (at - startSeconds) / rate;
  const first = (edge: Edge) =>
    edge.outer ? 0 : edge.index >= 0 ? edge.index : lowerBound(seconds, local(edge.seconds) + slack);
  const after = (edge: Edge) =>
    edge.outer ? values.length : edge.index >= 0 ? edge.index : lowerBound(seconds, local(edge.seconds) - slack);
  const own = log.segments;
  return (fromEdge, toEdge) => {
    const from = first(fromEdge);
    const to = Math.max(from, after(toEdge));
    const middle = local((fromEdge.seconds + toEdge.seconds) / 2);
    const overRange = log.overRange.some(({ start, end }) => middle > start && middle < end);
    const segment = overRange ? -1 : segmentAt(log, fromEdge, toEdge, middle);
    const enough = to - from >= fewSamples || segment < 0;
    const [low, high] = enough ? [from, to] : [own[segment]!.from, own[segment]!.to];
    const trim = trimOf(high - low, intervalSeconds);
    const n = high - low - 2 * trim;
    const level = n > 0 ? meanOfSamples(sums, low + trim, high - trim) : Number.NaN;
    const noise = noiseAt(log.noise, (low + high) >> 1) * log.noise.tie;
    const uncertainty = Math.hypot(noise / Math.sqrt(Math.max(n, 1)), resolution / Math.sqrt(12));
    const ends = n > 0 ? endLevels(log, sums, low, high, level, noise) : { begin: level, finish: level };
    return { from, to, segment, level, ...ends, uncertainty, overRange };
  };
}

/** Samples left out at either end of a stretch: those in which a meter's filter is still on its way, a quarter of it at most. */
function trimOf(count: number, intervalSeconds: Seconds): number {
  const settling = Math.max(1, Math.round(settlingSeconds / Math.max(intervalSeconds, 1e-9)));
  return Math.min(settling, count >> 2);
}

/** At either end so much is settling, and the level is taken from what lies within the next so many seconds. */
const settlingSeconds: Seconds = 0.6;
const endSeconds: Seconds = 2.4;

/** Levels near both ends of a stretch where they differ clearly from its mean, else the mean. */
function endLevels(log: PreparedLog, sums: SampleSums, from: number, to: number, level: number, noise: number) {
  const { intervalSeconds } = log.samples;
  const skip = Math.max(1, Math.round(settlingSeconds / Math.max(intervalSeconds, 1e-9)));
  const reach = Math.max(skip + 2, Math.round(endSeconds / Math.max(intervalSeconds, 1e-9)));
  if (to - from < 2 * reach) return { begin: level, finish: level };
  const near = (low: number, high: number) => {
    const mean = meanOfSamples(sums, low, high);
    return Math.abs(mean - level) > (3 * noise) / Math.sqrt(high - low) ? mean : level;
  };
  return { begin: near(from + skip, from + reach), finish: near(to - reach, to - skip) };
}

/** Fewer samples than this say less of a level than the whole segment that they are part of. */
const fewSamples = 5;

/** Samples further apart than so many intervals have something missing between them: over-range, as a rule. */
const missingSamples = 2.5;

/** The segment that a log's own edges name, else the one in the middle of the stretch. */
function segmentAt(log: PreparedLog, from: Edge, to: Edge, middle: Seconds): number {
  const { seconds, intervalSeconds } = log.samples;
  if (from.index >= 0) return segmentOf(log.segments, from.index);
  if (to.index > 0) return segmentOf(log.segments, to.index - 1);
  const after = lowerBound(seconds, middle);
  if (after === 0) return seconds[0]! - middle <= intervalSeconds ? 0 : -1;
  if (after === seconds.length) return middle - seconds[after - 1]! <= intervalSeconds ? log.segments.length - 1 : -1;
  if (seconds[after]! - seconds[after - 1]! > missingSamples * intervalSeconds) return -1;
  return segmentOf(log.segments, middle - seconds[after - 1]! < seconds[after]! - middle ? after - 1 : after);
}

/** First index whose value is not below x. */
export function lowerBound(rising: Float64Array, x: number): number {
  let low = 0;
  let high = rising.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (rising[middle]! < x) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Steps of all logs on the group's clock; one step seen by several logs is one boundary, timed by the fastest of them. */
function commonBoundaries(group: readonly ClockedLog[]): Boundary[] {
  const order = group.map((_, i) => i).sort((a, b) => interval(group[a]!) - interval(group[b]!));
  let found: Boundary[] = [];
  for (const i of order) {
    const seen = new Rising(found);
    const fresh: Boundary[] = [];
    for (const step of ownSteps(group[i]!, i, group.length)) {
      const near = seen.nearest(step);
      if (near === undefined) fresh.push(step);
      else {
        near.index[i] = step.index[i]!;
        near.moments.push(...step.moments);
        near.signs.load ||= step.signs.load;
        near.signs.other ||= step.signs.other;
      }
    }
    found = fresh.length === 0 ? found : [...found, ...fresh].sort((a, b) => a.seconds - b.seconds);
  }
  return found;
}

const interval = ({ log }: ClockedLog): Seconds => log.samples.intervalSeconds;

function ownSteps(
  { log, startSeconds, rate, uncertaintySeconds }: ClockedLog,
  place: number,
  count: number,
): Boundary[] {
  const { seconds, stampSeconds, intervalSeconds } = log.samples;
  const onGroupClock = ({ seconds: own, uncertainty }: EdgeMoment): EdgeMoment => ({
    seconds: startSeconds + own * rate,
    uncertainty: Math.hypot(uncertainty, log.moments.uncertainty, uncertaintySeconds),
  });
  const boundary = (at: number, before: Seconds, after: Seconds, sign: number, moment: EdgeMoment): Boundary => {
    const index = new Int32Array(count).fill(-1);
    index[place] = at;
    return {
      seconds: startSeconds + ((before + after) / 2) * rate,
      halfWidth: (after - before) / 2 + intervalSeconds + Math.min(stampSeconds, 1) + 2 * uncertaintySeconds,
      index,
      signs: log.movement.sight === "load" ? { load: sign, other: 0 } : { load: 0, other: sign },
      moments: [onGroupClock(moment)],
    };
  };
  const open = new Set(log.overRange.map((span) => span.index));
  const steps = log.segments.slice(1).flatMap((segment, k) => {
    const sign = Math.sign(segment.level - log.segments[k]!.level) * log.movement.direction;
    const at = segment.from;
    return open.has(at) ? [] : [boundary(at, seconds[at - 1]!, seconds[at]!, sign, log.edgeMoment(at))];
  });
  if (open.size === 0) return steps;
  const between = (at: Seconds): EdgeMoment => ({ seconds: at, uncertainty: intervalSeconds / Math.sqrt(12) });
  const spans = log.overRange.flatMap(({ index, start, end }) => [
    boundary(index, start, start, 1, between(start)),
    boundary(index, end, end, -1, between(end)),
  ]);
  return [...steps, ...spans].sort((a, b) => a.seconds - b.seconds);
}

/** Whether two steps that may be one go different ways where they were seen alike. */
const disagree = ({ signs: a }: Boundary, { signs: b }: Boundary): boolean =>
  a.load * b.load < 0 || a.other * b.other < 0;

/** Boundaries in order of time, each given away once. */
class Rising {
  private readonly given = new Set<Boundary>();
  private readonly seconds: Float64Array;
  private readonly widest: Seconds;

  constructor(private readonly boundaries: readonly Boundary[]) {
    this.seconds = Float64Array.from(boundaries, (boundary) => boundary.seconds);
    this.widest = boundaries.reduce((most, { halfWidth }) => Math.max(most, halfWidth), 0);
  }

  /** The boundary that may be the same step: nearest, one that steps the other way counted as further off. */
  nearest(step: Boundary): Boundary | undefined {
    const reach = step.halfWidth + this.widest;
    let best: Boundary | undefined;
    let bestDistance = Number.POSITIVE_INFINITY;
    for (let i = lowerBound(this.seconds, step.seconds - reach); i < this.boundaries.length; i++) {
      const other = this.boundaries[i]!;
      if (other.seconds > step.seconds + reach) break;
      const distance = Math.abs(other.seconds - step.seconds) + (disagree(other, step) ? step.halfWidth / 2 : 0);
      if (distance > step.halfWidth + other.halfWidth || distance >= bestDistance || this.given.has(other)) continue;
      best = other;
      bestDistance = distance;
    }
    if (best !== undefined) this.given.add(best);
    return best;
  }
}
