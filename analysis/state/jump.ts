/**
 * What of a step happened at once. A set that is keyed draws its current from one moment to the next; a regulator that
 * hunts and a battery that recovers pass the same levels slowly.
 * Goes in: a log and a moment. Comes out: the jump there, a slope common to both sides taken out.
 */
import type { Seconds } from "../units.ts";
import type { CutLog } from "./cut-log.ts";
import { noiseAt } from "./noise.ts";
import { lowerBound } from "./stretch.ts";

export interface Jump {
  readonly height: number;
  /** one standard deviation; infinite where too few samples stand beside the moment */
  readonly uncertainty: number;
}

/** Looked at on either side, or so many samples of a slow meter. */
const sideSeconds: Seconds = 2.4;
const sideSamples = 4.5;
/** After a step a meter's filter is on its way so long, or for a sample. */
const filterSeconds: Seconds = 0.3;
const fewestSamples = 3;
/** At most so many samples of a side are asked. */
const mostSamples = 200;
const unknown: Jump = { height: 0, uncertainty: Number.POSITIVE_INFINITY };

/**
 * Least squares of level, slope and jump; what is left over is taken with its correlation from sample to sample.
 * @param at on the log's own clock
 * @param from where on this clock the side before may begin at the earliest
 * @param to where the side after has to end
 */
export function jumpAt({ samples, sums, noise }: CutLog, at: Seconds, from: Seconds, to: Seconds): Jump {
  const { seconds, intervalSeconds, resolution } = samples;
  const side = Math.max(sideSeconds, sideSamples * intervalSeconds);
  const gap = Math.max(filterSeconds, intervalSeconds);
  const before = [
    lowerBound(seconds, Math.max(from, at - side)),
    lowerBound(seconds, at - 0.4 * intervalSeconds),
  ] as const;
  const after = [lowerBound(seconds, at + gap), lowerBound(seconds, Math.min(to, at + gap + side))] as const;
  if (before[1] - before[0] < fewestSamples || after[1] - after[0] < fewestSamples) return unknown;
  const x: number[] = [];
  const y: number[] = [];
  const stride = Math.ceil(Math.max(before[1] - before[0], after[1] - after[0]) / mostSamples);
  for (let i = before[0]; i < before[1]; i += stride) push(i);
  const first = x.length;
  for (let i = after[0]; i < after[1]; i += stride) push(i);
  return fitted(x, y, first, Math.hypot(noiseAt(noise, before[1]), resolution / Math.sqrt(12)));

  function push(i: number): void {
    x.push(seconds[i]! - at);
    y.push(sums.values[i]!);
  }
}

/** Slope within the sides, then the jump between their middles less what the slope explains. */
function fitted(x: readonly number[], y: readonly number[], first: number, noise: number): Jump {
  const n = x.length;
  const [xa, ya, xb, yb] = [mean(x, 0, first), mean(y, 0, first), mean(x, first, n), mean(y, first, n)];
  let [xx, xy] = [0, 0];
  for (let i = 0; i < n; i++) {
    const dx = x[i]! - (i < first ? xa : xb);
    xx += dx * dx;
    xy += dx * (y[i]! - (i < first ? ya : yb));
  }
  const slope = xy / xx;
  let [squares, products, last] = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    const left = y[i]! - (i < first ? ya : yb) - slope * (x[i]! - (i < first ? xa : xb));
    squares += left * left;
    if (i > 0) products += left * last;
    last = left;
  }
  const correlation = Math.min(Math.max(products / Math.max(squares, 1e-30), 0), mostCorrelation);
  const variance = Math.max(squares / (n - 3), noise ** 2) * ((1 + correlation) / (1 - correlation));
  return {
    height: yb - ya - slope * (xb - xa),
    uncertainty: Math.sqrt(variance * (1 / first + 1 / (n - first) + (xb - xa) ** 2 / xx)),
  };
}

const mostCorrelation = 0.8;

function mean(values: readonly number[], from: number, to: number): number {
  let sum = 0;
  for (let i = from; i < to; i++) sum += values[i]!;
  return sum / (to - from);
}
