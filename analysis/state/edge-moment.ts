/**
 * When a step of a log happened. A meter's filter answers a step at once and arrives late, and a step that is small beside
 * the noise is seen later still: of all moments at which it may have come those count that explain the samples about it.
 * Goes in: one log, and the sample at which it was found to have stepped. Comes out: the moment, with how surely.
 */
import type { Seconds } from "../units.ts";
import type { CutLog } from "./cut-log.ts";
import type { Sight } from "./movement.ts";
import { noiseAt } from "./noise.ts";
import { segmentOf } from "./segmentation.ts";

export interface EdgeMoment {
  /** on the log's own clock */
  readonly seconds: Seconds;
  /** one standard deviation, of the step within this log; how well its stamps are known is not in it */
  readonly uncertainty: Seconds;
}

/** Time constants of a meter's filter, taken as of one pole; none to the slowest that is common, by judgement. */
const filters: readonly Seconds[] = [0, 0.04, 0.08, 0.12, 0.18, 0.26, 0.4, 0.6];
/** Few are slower than this. */
const usualFilter: Seconds = 0.2;
/** What is not explained by one pole: share of a step. */
const shapeShare = 0.04;
/** One step of another shape says no more than this against a filter, in squared standard deviations. */
const mostSquares = 60;
/** Share of a step by which volts give way in the second after it: a battery's do, what follows the current does not. */
const giveWayShares: Readonly<Record<Sight, number>> = { battery: 0.2, load: 0.2, drop: 0.03, current: 0.03 };
/** A step is found at most so late, and so early. */
const lateSeconds: Seconds = 0.9;
const earlySeconds: Seconds = 0.5;
/** Faster logs tell the moment of a step to within a few milliseconds as it is. */
const fastest: Seconds = 0.02;
/** So many steps tell a filter, and so many moments are tried for each from sample to sample. */
const mostEdges = 10;
const finest = 6;
/** Samples before and after a step are asked for so long, and so many of them at least. */
const sideSeconds: Seconds = 1.8;
const fewestSide = 4;

/** The moments of a log's steps; each is worked out when it is first asked for. */
export function edgeMomentsOf(log: CutLog, sight: Sight): (index: number) => EdgeMoment {
  const giveWay = giveWayShares[sight];
  let filter: Seconds | undefined;
  const known = new Map<number, EdgeMoment>();
  return (index) => {
    const found = known.get(index);
    if (found !== undefined) return found;
    filter ??= filterOf(log, giveWay);
    const edge = log.samples.intervalSeconds < fastest ? null : edgeAt(log, index, giveWay);
    const moment = edge === null ? betweenSamples(log, index) : momentOf(log, edge, filter);
    known.set(index, moment);
    return moment;
  };
}

/** A step came between two samples, and nothing says when. */
function betweenSamples({ samples: { seconds, intervalSeconds } }: CutLog, index: number): EdgeMoment {
  const [before, after] = [seconds[index - 1]!, seconds[index]!];
  return { seconds: (before + after) / 2, uncertainty: Math.max(after - before, intervalSeconds) / Math.sqrt(12) };
}

/** A step, and the samples that may tell when it came. */
interface Edge {
  readonly from: number;
  readonly to: number;
  /** moments at which it may have come */
  readonly earliest: Seconds;
  readonly latest: Seconds;
  /** about what the step comes to, and what its samples scatter by */
  readonly step: number;
  readonly variance: number;
  /** share of the step by which it goes on in the second after it */
  readonly giveWay: number;
}

/** The step at a sample that begins a segment; null where the samples beside it are not of one piece. */
function edgeAt(log: CutLog, index: number, giveWay: number): Edge | null {
  const { samples, noise, segments } = log;
  const { seconds, resolution, intervalSeconds } = samples;
  const k = segmentOf(log.segments, index);
  const [left, right] = [segments[k - 1], segments[k]];
  if (left === undefined || right === undefined || right.from !== index) return null;
  const reach = Math.max(fewestSide, Math.round(sideSeconds / intervalSeconds));
  const from = Math.max(left.from, index - reach);
  const to = Math.min(right.to, index + reach);
  if (seconds[to - 1]! - seconds[from]! > missing * intervalSeconds * (to - from)) return null;
  const own = Math.hypot(noiseAt(noise, index), resolution / Math.sqrt(12));
  const step = right.level - left.level;
  if (!(Math.abs(step) > own) || index - from < 2 || to - index < 2) return null;
  const early = Math.max(from + 1, index - 1 - Math.ceil(lateSeconds / intervalSeconds));
  return {
    from,
    to,
    earliest: seconds[Math.min(early, index - 1)]!,
    latest: seconds[Math.max(index, Math.min(to - 2, index + Math.ceil(earlySeconds / intervalSeconds)))]!,
    step,
    giveWay,
    variance: own ** 2 + (shapeShare * step) ** 2,
  };
}

/** Of samples further apart than so many intervals some are missing. */
const missing = 1.6;

/**
 * Squares left over, in variances, where a step came at a moment behind a filter: level before, height, and the slope
 * with which a battery gives way after it are those that fit best.
 */
function squaresOf({ samples, sums }: CutLog, edge: Edge, filter: Seconds, at: Seconds): number {
  const { from, to, step, variance } = edge;
  const origin = sums.values[from]!;
  // Normal equations of 1, share and slope; how much a battery gives way is known beforehand to about a share of the step.
  let [n, s, t, ss, st, y, sy, ty, yy] = [0, 0, 0, 0, 0, 0, 0, 0, 0];
  let tt = variance / (edge.giveWay * step) ** 2;
  for (let i = from; i < to; i++) {
    const since = Math.max(samples.seconds[i]! - at, 0);
    const share = since === 0 ? 0 : filter > 0 ? 1 - Math.exp(-since / filter) : 1;
    const value = sums.values[i]! - origin;
    n++;
    s += share;
    t += since;
    ss += share * share;
    st += share * since;
    tt += since * since;
    y += value;
    sy += share * value;
    ty += since * value;
    yy += value * value;
  }
  const [a, b, c] = [ss - (s * s) / n, st - (s * t) / n, tt - (t * t) / n];
  const [p, q] = [sy - (s * y) / n, ty - (t * y) / n];
  const determinant = a * c - b * b;
  const explained =
    determinant > 1e-12 * a * c
      ? (p * (c * p - b * q) + q * (a * q - b * p)) / determinant
      : (q * q) / Math.max(c, 1e-12);
  return Math.max(yy - (y * y) / n - explained, 0) / variance;
}

/** Every moment at which an edge may have come, with its likelihood. */
function weighed(
  log: CutLog,
  edge: Edge,
  filter: Seconds,
): {
  moments: Float64Array;
  weights: Float64Array;
  least: number;
} {
  const pitch = log.samples.intervalSeconds / finest;
  const count = Math.max(1, Math.round((edge.latest - edge.earliest) / pitch));
  const moments = Float64Array.from(
    { length: count },
    (_, i) => edge.earliest + ((i + 0.5) * (edge.latest - edge.earliest)) / count,
  );
  const squares = moments.map((at) => squaresOf(log, edge, filter, at));
  const least = squares.reduce((a, b) => Math.min(a, b));
  // What scatters more than it should is no better known than it scatters.
  const scale = Math.max(1, least / Math.max(edge.to - edge.from - 4, 1));
  return { moments, weights: squares.map((each) => Math.exp((least - each) / (2 * scale))), least };
}

function momentOf(log: CutLog, edge: Edge, filter: Seconds): EdgeMoment {
  const { moments, weights } = weighed(log, edge, filter);
  let [sum, mean, square] = [0, 0, 0];
  for (let i = 0; i < moments.length; i++) {
    const since = moments[i]! - edge.earliest;
    sum += weights[i]!;
    mean += weights[i]! * since;
    square += weights[i]! * since * since;
  }
  mean /= sum;
  const pitch = (edge.latest - edge.earliest) / moments.length;
  return {
    seconds: edge.earliest + mean,
    uncertainty: Math.sqrt(Math.max(square / sum - mean * mean, 0) + pitch ** 2 / 12),
  };
}

/** The filter that explains a log's clearest steps best, whenever each of them came. */
function filterOf(log: CutLog, giveWay: number): Seconds {
  if (log.samples.intervalSeconds < fastest) return 0;
  const edges = log.segments
    .slice(1)
    .flatMap(({ from }) => edgeAt(log, from, giveWay) ?? [])
    .map((edge) => ({ edge, clarity: edge.step ** 2 / edge.variance }))
    .sort((a, b) => b.clarity - a.clarity)
    .slice(0, mostEdges);
  let best = filters[0]!;
  let most = Number.NEGATIVE_INFINITY;
  for (const filter of filters) {
    let evidence = -((filter / usualFilter) ** 2) / 2;
    for (const { edge } of edges) {
      const { weights, least } = weighed(log, edge, filter);
      evidence +=
        Math.log(weights.reduce((sum, weight) => sum + weight, 0) / weights.length) - Math.min(least, mostSquares) / 2;
    }
    if (evidence <= most) continue;
    most = evidence;
    best = filter;
  }
  return best;
}
