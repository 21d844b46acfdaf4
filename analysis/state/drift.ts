/**
 * Joins stretches that are stairs of one slow drift: a battery recovering, a surface charge fading, a regulator hunting,
 * a joint warming. A bent line (a parabola) through several stretches is weighed against as many levels.
 */
import type { Samples } from "../log/sample.ts";
import { pauseSeconds } from "./pause-of-log.ts";
import { blockEnd, blockOf, type SampleWeights } from "./sample-weights.ts";

/** A drift lasts at least this long and this many samples: what is quicker is a step. */
const leastSeconds = 2.5;
const leastSamples = 7;
/** At most so many stairs make one drift. */
const mostStairs = 60;

/** Σ w·xᵖ and Σ w·xᵖ·y of a stretch, and Σ w·y². */
interface Moments {
  readonly x: readonly [number, number, number, number, number];
  readonly xy: readonly [number, number, number];
  readonly yy: number;
}

/**
 * Leaves out of the edges those that are stairs of a drift: the cheapest mixture of levels and bent lines.
 * @param edges rising sample indexes, 0 first and the number of samples last
 * @param weights 1 / variance of each sample
 * @param penalty cost of one more stretch, as in the partition that found the edges
 */
export function joinDrift(
  samples: Samples,
  weights: SampleWeights,
  edges: readonly number[],
  penalty: number,
): number[] {
  const stairs = edges.slice(1).map((to, k) => momentsOf(samples, weights, edges[k]!, to));
  const count = stairs.length;
  const bend = (2 * penalty) / 3;
  const best = new Float64Array(count + 1);
  const before = new Int32Array(count + 1);
  for (let end = 1; end <= count; end++) {
    best[end] = best[end - 1]! + levelCost(stairs[end - 1]!) + penalty;
    before[end] = end - 1;
    let sum = stairs[end - 1]!;
    for (let start = end - 2; start >= Math.max(0, end - mostStairs); start--) {
      if (pausesAt(samples, edges[start + 1]!)) break;
      sum = add(sum, stairs[start]!);
      if (!mayDrift(samples, edges[start]!, edges[end]!)) continue;
      const cost = best[start]! + bentCost(sum) + penalty + bend;
      if (cost >= best[end]!) continue;
      best[end] = cost;
      before[end] = start;
    }
  }
  const kept = [edges[count]!];
  for (let end = count; end > 0; end = before[end]!) kept.push(edges[before[end]!]!);
  return kept.reverse();
}

function pausesAt({ seconds, intervalSeconds }: Samples, at: number): boolean {
  return seconds[at]! - seconds[at - 1]! > pauseSeconds(intervalSeconds);
}

const mayDrift = ({ seconds }: Samples, from: number, to: number): boolean =>
  to - from >= leastSamples && seconds[to - 1]! - seconds[from]! >= leastSeconds;

function momentsOf({ seconds, values }: Samples, weights: SampleWeights, from: number, to: number): Moments {
  // Centred and scaled to the whole log, so that fourth powers stay near one.
  const last = seconds[seconds.length - 1]!;
  const half = Math.max(last / 2, 1e-9);
  const origin = values[0]!;
  // Ten million samples pass here: nine plain numbers are faster than rows of them.
  let [x0, x1, x2, x3, x4, xy0, xy1, xy2, yy] = [0, 0, 0, 0, 0, 0, 0, 0, 0];
  for (let i = from, block = blockOf(weights, from); i < to; block++) {
    const w = weights.each[block]!;
    for (const end = Math.min(to, blockEnd(weights, block, values.length)); i < end; i++) {
      const t = (seconds[i]! - half) / half;
      const y = values[i]! - origin;
      const wt = w * t;
      const wtt = wt * t;
      x0 += w;
      x1 += wt;
      x2 += wtt;
      x3 += wtt * t;
      x4 += wtt * t * t;
      xy0 += w * y;
      xy1 += wt * y;
      xy2 += wtt * y;
      yy += w * y * y;
    }
  }
  return { x: [x0, x1, x2, x3, x4], xy: [xy0, xy1, xy2], yy };
}

function add(a: Moments, b: Moments): Moments {
  return {
    x: [a.x[0] + b.x[0], a.x[1] + b.x[1], a.x[2] + b.x[2], a.x[3] + b.x[3], a.x[4] + b.x[4]],
    xy: [a.xy[0] + b.xy[0], a.xy[1] + b.xy[1], a.xy[2] + b.xy[2]],
    yy: a.yy + b.yy,
  };
}

const levelCost = ({ x, xy, yy }: Moments): number => Math.max(yy - xy[0] ** 2 / x[0], 0);

/** Weighted squared deviations from the best parabola, by taking out level, slope and bend one after another (Gram–Schmidt). */
function bentCost({ x, xy, yy }: Moments): number {
  const centre = x[1] / x[0];
  const slopeSquare = x[2] - centre * x[1];
  const slope = xy[1] - centre * xy[0];
  let cost = yy - xy[0] ** 2 / x[0];
  if (slopeSquare <= 0) return Math.max(cost, 0);
  cost -= slope ** 2 / slopeSquare;
  const squareOnLevel = x[2] / x[0];
  const squareOnSlope = (x[3] - centre * x[2]) / slopeSquare;
  const bendSquare = x[4] - squareOnLevel * x[2] - squareOnSlope * (x[3] - centre * x[2]);
  const bend = xy[2] - squareOnLevel * xy[0] - squareOnSlope * slope;
  if (bendSquare > 1e-12 * x[0]) cost -= bend ** 2 / bendSquare;
  return Math.max(cost, 0);
}
