/**
 * Lays a log that hardly shows the keying over a group that does: at the right offset its level moves a little at every
 * one of the group's edges, too little to be seen at any one of them, enough to be seen at all together.
 */
import type { Seconds } from "../units.ts";
import { type ClockMatch, driftPrior, type EdgeTrain, lagOf, stampPrior, supplyScore } from "./clock-match.ts";
import { median } from "./median.ts";
import { lastSecond, type PreparedLog } from "./stretch.ts";

/** So long on either side of an edge is compared at most: slow drift stays out. */
const windowSeconds: Seconds = 6;
/** So many edges have to be covered, two transmissions: fewer fit anywhere. */
const leastEdges = 4;
/** More of them, taken evenly, say no more. */
const mostEdges = 80;
/** How many standard deviations all edges together have to stand out, and where the supply's steps meet as well; judgement. */
const leastHeight = 5;
const lowestHeight = 3;
/** The match is this much better than the next, natural-log units: these heights lean on more than edges do. */
const leastMargin = 4;
/** The rest is taken for edges that a log does not cover, to this factor. */
const mostUncovered = 1.5;
/** At one edge so many standard deviations count at most. */
const clipped = 6;
/** So many edges tell by their scatter how noisy they are, to within this factor. */
const manyEdges = 8;
const agreed = 1.5;
/** Edges scatter about the common height by at most so many standard deviations, root mean square. */
const mostScatter = 2.5;
const mostPlaces = 20_000;
const mostOffsets = 60_000;
const leastStep: Seconds = 0.05;
/** Tenths of a place: how finely an offset is told. */
const finest = 0.1;

/** An edge of the group, and how long the group's level stands before and after it. */
interface Contrast {
  readonly seconds: Seconds;
  /** 1 keyed, −1 released */
  readonly sign: number;
  readonly before: Seconds;
  readonly after: Seconds;
}

/** How far a log moves at the edges that it covers, all together, and how these scatter, in standard deviations. */
interface Height {
  readonly height: number;
  readonly scatter: number;
  readonly edges: number;
}

/** A log at even places, as running sums: entry k is of what stands before place k. */
interface EvenRow {
  readonly step: Seconds;
  readonly sums: Float64Array;
  readonly counts: Float64Array;
  /** standard deviation of one sample as it acts in a mean of many */
  readonly noise: number;
}

/**
 * @param reference the group's edges
 * @param log the other log, not yet placed
 * @param own its edges by itself: of these the supply's count
 * @param expectedStart where the stamps would place its first sample on the reference's clock
 * @param trustSeconds how far stamps are off as a rule
 * @returns null where no offset stands out, or more than one does
 */
export function matchFaint(
  reference: EdgeTrain,
  log: PreparedLog,
  own: EdgeTrain,
  expectedStart: Seconds,
  trustSeconds: Seconds,
): ClockMatch | null {
  const row = evenRow(log);
  const guard = Math.max(row.step, reference.intervalSeconds) / 2;
  const contrasts = contrastsOf(reference, guard + row.step);
  if (contrasts.length < leastEdges) return null;
  const widest = Math.max(...contrasts.map(({ before, after }) => Math.max(before, after)));
  const bySupply = supplyScore(reference, own);
  const prior = (start: Seconds) => stampPrior(start - expectedStart, trustSeconds) + bySupply(start);
  const all = reference.seconds + lastSecond(log);
  const coarse = startsBetween(-lastSecond(log), reference.seconds, Math.max(row.step, all / mostOffsets));
  const tried = Array.from(coarse, (start) => heightAt(row, contrasts, start, guard));
  const heights = tried.map(({ height }) => height);
  // Regular keying stands out at many wrong offsets: where all edges agree at the highest, they tell the noise themselves.
  const highest = tried[indexOfLargest(heights)]!;
  const chance = Math.max(1, 1.4826 * median(heights.map(Math.abs)));
  const scale = highest.edges >= manyEdges ? Math.min(chance, Math.max(1, agreed * highest.scatter)) : chance;
  const gainOf = (height: number, per = scale) => (Math.max(height, 0) / per) ** 2 / 2;
  const priors = coarse.map(prior);
  const worth = priors.map((each, i) => gainOf(heights[i]!) + each);
  const best = indexOfLargest(worth);
  const near = (start: Seconds) => Math.abs(start - coarse[best]!) <= widest;
  const found = tried[best]!;
  const height = found.height / scale;
  const stands = height > lowestHeight && height ** 2 / 2 + bySupply(coarse[best]!) > leastHeight ** 2 / 2;
  if (!stands || found.scatter > mostScatter * scale) return null;
  const rivals = priors.map((each, i) =>
    near(coarse[i]!) ? Number.NEGATIVE_INFINITY : gainOf(asIfCovering(tried[i]!, found.edges)) + each,
  );
  const margin = worth[best]! - rivals[indexOfLargest(rivals)]!;
  if (margin < leastMargin) return null;
  const fine = startsBetween(coarse[best]! - widest, coarse[best]! + widest, finest * row.step);
  const told = meanAndDeviation(
    fine,
    fine.map(
      (start) => gainOf(heightAt(row, contrasts, start, guard).height, Math.max(scale, found.scatter)) + prior(start),
    ),
  );
  const lag = lagOf(reference.intervalSeconds, log.samples.intervalSeconds);
  return {
    startSeconds: told.mean,
    startUncertainty: Math.hypot(told.deviation, lag, driftPrior * lastSecond(log)),
    rate: 1,
    matched: found.edges,
    margin,
  };
}

/** Edges beyond the log's beginning or end speak neither way: as high as the offset would stand with the rest like them. */
function asIfCovering({ height, edges }: Height, all: number): number {
  const more = Math.min(Math.max(all / Math.max(edges, 1), 1), mostUncovered);
  return height * Math.sqrt(more);
}

/** Values turned so that keying raises them, less the first. */
function evenRow(log: PreparedLog): EvenRow {
  const { samples, movement, noise } = log;
  const { seconds, values, intervalSeconds } = samples;
  const length = lastSecond(log);
  const step = Math.max(intervalSeconds, leastStep, length / mostPlaces);
  const places = Math.floor(length / step) + 1;
  const sums = new Float64Array(places + 1);
  const counts = new Float64Array(places + 1);
  for (let i = 0; i < seconds.length; i++) {
    const place = Math.floor(seconds[i]! / step) + 1;
    sums[place]! += movement.direction * (values[i]! - values[0]!);
    counts[place]! += 1;
  }
  for (let k = 1; k <= places; k++) {
    sums[k]! += sums[k - 1]!;
    counts[k]! += counts[k - 1]!;
  }
  return { step, sums, counts, noise: noise.sample * noise.tie };
}

/** The keying edges of a group that stand long enough to be compared; other edges end what is compared. */
function contrastsOf({ edges, seconds }: EdgeTrain, least: Seconds): Contrast[] {
  const all = edges.flatMap((edge, i) => {
    const before = Math.min(windowSeconds, edge.seconds - (edges[i - 1]?.seconds ?? 0));
    const after = Math.min(windowSeconds, (edges[i + 1]?.seconds ?? seconds) - edge.seconds);
    const compared = edge.keying && edge.kind !== 2 && Math.min(before, after) > least;
    return compared ? [{ seconds: edge.seconds, sign: edge.kind, before, after }] : [];
  });
  const stride = Math.ceil(all.length / mostEdges);
  return all.filter((_, i) => i % stride === 0);
}

/**
 * How far the log's level moves at all edges together under an offset, in standard deviations; 0 where too few are covered.
 * At no edge does more than `clipped` count: there an engine started, or another load was switched.
 */
function heightAt(row: EvenRow, contrasts: readonly Contrast[], start: Seconds, guard: Seconds): Height {
  const { step, counts, sums, noise } = row;
  const last = sums.length - 1;
  const away = guard / step;
  let [moved, squares, edges] = [0, 0, 0];
  // Every offset meets every edge here, millions of times in all.
  for (let e = 0; e < contrasts.length; e++) {
    const { seconds, sign, before, after } = contrasts[e]!;
    const at = (seconds - start) / step;
    const begin = at - before / step + away;
    const end = at + after / step - away;
    if (begin < 0 || end > last || at - away <= begin || end <= at + away) continue;
    const countBefore = upTo(counts, at - away) - upTo(counts, begin);
    const countAfter = upTo(counts, end) - upTo(counts, at + away);
    if (countBefore < 0.9 || countAfter < 0.9) continue;
    const levelBefore = (upTo(sums, at - away) - upTo(sums, begin)) / countBefore;
    const change = (upTo(sums, end) - upTo(sums, at + away)) / countAfter - levelBefore;
    const deviations = change / (noise * Math.sqrt(1 / countBefore + 1 / countAfter));
    const counted = Math.max(-clipped, Math.min(clipped, deviations));
    moved += sign * counted;
    squares += counted ** 2;
    edges++;
  }
  if (edges < leastEdges) return { height: 0, scatter: 0, edges };
  const height = moved / Math.sqrt(edges);
  return { height, scatter: Math.sqrt(Math.max(squares - height ** 2, 0) / (edges - 1)), edges };
}

/** What a row of running sums holds up to a place, its cell shared out evenly; the place lies within the row. */
function upTo(sums: Float64Array, at: number): number {
  const cell = Math.min(at | 0, sums.length - 2);
  return sums[cell]! + (at - cell) * (sums[cell + 1]! - sums[cell]!);
}

function startsBetween(from: Seconds, to: Seconds, step: Seconds): Float64Array {
  return Float64Array.from({ length: Math.floor((to - from) / step) + 1 }, (_, i) => from + i * step);
}

function indexOfLargest(row: ArrayLike<number>): number {
  let best = 0;
  for (let i = 1; i < row.length; i++) if (row[i]! > row[best]!) best = i;
  return best;
}

/** Of places with log weights. */
function meanAndDeviation(places: Float64Array, worth: Float64Array): { mean: number; deviation: number } {
  const most = worth[indexOfLargest(worth)]!;
  const weights = worth.map((w) => Math.exp(w - most));
  const whole = weights.reduce((sum, w) => sum + w, 0);
  const mean = places.reduce((sum, place, i) => sum + weights[i]! * place, 0) / whole;
  const variance = places.reduce((sum, place, i) => sum + weights[i]! * (place - mean) ** 2, 0) / whole;
  return { mean, deviation: Math.sqrt(variance) };
}
