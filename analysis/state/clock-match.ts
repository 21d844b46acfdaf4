/**
 * Lays one log's edges over another's: the clock offset and drift under which most of them meet.
 */
import type { Seconds } from "../units.ts";
import type { ClockEdge } from "./edge-train.ts";
import { isSupplyChange, leastSupplyStep } from "./group-train.ts";
import { lowerBound } from "./stretch.ts";

export interface EdgeTrain {
  readonly edges: readonly ClockEdge[];
  /** length of the log */
  readonly seconds: Seconds;
  readonly intervalSeconds: Seconds;
}

export interface ClockMatch {
  /** on the reference's clock: when the other log's first sample was taken */
  readonly startSeconds: Seconds;
  readonly startUncertainty: Seconds;
  /** reference seconds in one second of the other log */
  readonly rate: number;
  readonly matched: number;
  /** by how much this match is better than the next, natural-log units */
  readonly margin: number;
}

/** Clocks of meters drift by tens to hundreds of parts per million (method.md section 3); beyond this it is no clock. */
export const driftPrior = 120e-6;
const mostDrift = 600e-6;
/** Matched edges lie within this many standard uncertainties. */
const reach = 3;
/** What it costs that two logs of one round hardly overlap. */
const apartCost = 6;
/** Two supply steps of one height: seldom by chance. */
const supplyGain = 1;
/** How far a meter's own lag may be, as a share of its interval and in seconds; judgement. */
const lagShare = 0.2;
const lagSeconds: Seconds = 0.05;
/** Share of true edges that are found in a log. */
const seen = 0.85;
/** Share of edges that go the other way in another log: a contact that opens takes the load down and lets the battery up. */
const turned = 0.1;
/** So many offsets are tried in full. */
const mostCandidates = 600;
const worthOfMeeting = 2;

/**
 * The best match of two edge trains; null where no two edges meet.
 * @param expectedStart where the stamps would place the other log's first sample on the reference's clock
 * @param trustSeconds how far stamps are off as a rule: they only break ties
 */
export function matchClocks(
  reference: EdgeTrain,
  other: EdgeTrain,
  expectedStart: Seconds,
  trustSeconds: Seconds,
): ClockMatch | null {
  const prior = (start: Seconds) => stampPrior(start - expectedStart, trustSeconds);
  const [countedReference, countedOther] = [counted(reference), counted(other)];
  const tried = Array.from(candidateStarts(reference, other, prior))
    .map((start) => ({ start, score: scoreOf(countedReference, countedOther, start) + prior(start) }))
    .sort((a, b) => b.score - a.score);
  const best = tried[0];
  if (best === undefined) return null;
  const fitted = fit(countedReference, other, best.start);
  if (fitted === null) return null;
  const apart = 3 * tolerance(reference.edges, other.edges) + mostDrift * other.seconds;
  const rival = tried.find((each) => Math.abs(each.start - best.start) > apart);
  const startUncertainty = Math.hypot(fitted.startUncertainty, lagOf(reference.intervalSeconds, other.intervalSeconds));
  return {
    ...fitted,
    startUncertainty,
    margin: rival === undefined ? best.score + 5 : best.score - Math.max(rival.score, 0),
  };
}

/**
 * How much better than chance the steps of the supply alone meet under an offset, natural-log units: a crank, and charging
 * that begins or ends, are seen where keying hardly is.
 */
export function supplyScore(reference: EdgeTrain, other: EdgeTrain): (start: Seconds) => number {
  const only = ({ edges, ...train }: EdgeTrain) => counted({ ...train, edges: edges.filter(isSupplyChange) });
  const [a, b] = [only(reference), only(other)];
  if (a.edges.length === 0 || b.edges.length === 0) return () => 0;
  return (start) => scoreOf(a, b, start);
}

/** How likely clocks are to be so far apart, natural-log units: most are set, some by the hour, some never. */
export const stampPrior = (apart: Seconds, trustSeconds: Seconds): number =>
  -0.7 * Math.log(1 + Math.abs(apart) / trustSeconds);

/** A meter's filter, and the moment within its interval that a stamp stands for, are common to all its edges. */
export const lagOf = (oneInterval: Seconds, otherInterval: Seconds): Seconds =>
  Math.hypot(lagShare * oneInterval, lagShare * otherInterval, lagSeconds);

/** Offsets under which at least one edge meets one of its kind; of very many the most promising. */
function candidateStarts(reference: EdgeTrain, other: EdgeTrain, prior: (start: Seconds) => number): Float64Array {
  const all: Seconds[] = [];
  for (const a of reference.edges) for (const b of other.edges) if (sameKind(a, b)) all.push(a.seconds - b.seconds);
  const starts = Float64Array.from(all).sort();
  const near = tolerance(reference.edges, other.edges);
  const apart = starts.filter((start, i) => i === 0 || start - starts[i - 1]! > near / 32);
  return apart.length <= mostCandidates ? apart : promising(starts, apart, near + mostDrift * other.seconds, prior);
}

/** Offsets that have many others beside them: there many edges meet. What each edge that meets is worth at least stands against the prior. */
function promising(
  all: Float64Array,
  apart: Float64Array,
  near: Seconds,
  prior: (start: Seconds) => number,
): Float64Array {
  const worth = Array.from(apart, (start) => {
    const meeting = lowerBound(all, start + near) - lowerBound(all, start - near);
    return { start, worth: worthOfMeeting * meeting + prior(start) };
  });
  worth.sort((a, b) => b.worth - a.worth);
  return Float64Array.from(worth.slice(0, mostCandidates), ({ start }) => start);
}

function tolerance(a: readonly ClockEdge[], b: readonly ClockEdge[]): Seconds {
  const typical = (edges: readonly ClockEdge[]) =>
    edges.reduce((sum, edge) => sum + edge.uncertainty, 0) / edges.length;
  return Math.hypot(typical(a), typical(b));
}

interface Pair {
  readonly a: ClockEdge;
  readonly b: ClockEdge;
}

/** A train with what is asked of it for every offset. */
interface CountedTrain extends EdgeTrain {
  readonly at: Float64Array;
  /** for each kind how many edges of it come before each edge, and in all */
  readonly before: ReadonlyMap<number, Int32Array>;
  /** the same for steps of the supply */
  readonly supplyBefore: Int32Array;
  /** the largest uncertainty of an edge */
  readonly vaguest: Seconds;
}

function counted(train: EdgeTrain): CountedTrain {
  const { edges } = train;
  const countOf = (counts: (edge: ClockEdge) => boolean) => {
    const row = new Int32Array(edges.length + 1);
    edges.forEach((edge, i) => {
      row[i + 1] = row[i]! + (counts(edge) ? 1 : 0);
    });
    return row;
  };
  const kinds = [...new Set(edges.map((edge) => edge.kind))];
  const before = new Map(kinds.map((kind) => [kind, countOf((edge) => edge.kind === kind)]));
  const supplyBefore = countOf(({ supplyStep }) => Math.abs(supplyStep ?? 0) > leastSupplyStep);
  const vaguest = edges.reduce((most, { uncertainty }) => Math.max(most, uncertainty), 0);
  return { ...train, at: Float64Array.from(edges, (edge) => edge.seconds), before, supplyBefore, vaguest };
}

/** Edges of a train between two moments: how many, and how many of a kind. */
function within({ at, before, supplyBefore }: CountedTrain, from: Seconds, to: Seconds) {
  const first = lowerBound(at, from);
  const last = Math.max(first, lowerBound(at, to));
  const ofKind = (kind: number) => (before.get(kind)?.[last] ?? 0) - (before.get(kind)?.[first] ?? 0);
  return { count: last - first, ofKind, supplySteps: Math.max(supplyBefore[last]! - supplyBefore[first]!, 1) };
}

/** Edges that meet under an offset, each used once, the nearest first come. */
function pairs(reference: CountedTrain, other: EdgeTrain, start: Seconds, rate: number, driftSlack: number): Pair[] {
  const found: Pair[] = [];
  let from = 0;
  for (const b of other.edges) {
    const at = start + b.seconds * rate;
    const slack = driftSlack * b.seconds;
    // Both trains rise: what lies too far back for this edge does so for all that follow but for their own doubt.
    const earliest = at - reach * Math.hypot(reference.vaguest, b.uncertainty) - slack;
    while (from < reference.edges.length && reference.edges[from]!.seconds < earliest) from++;
    let best = -1;
    let bestDistance = Number.POSITIVE_INFINITY;
    for (let i = from; i < reference.edges.length; i++) {
      const a = reference.edges[i]!;
      const allowed = reach * Math.hypot(a.uncertainty, b.uncertainty) + slack;
      if (a.seconds > at + allowed) break;
      const distance = Math.abs(a.seconds - at) + (sameKind(a, b) ? 0 : allowed / 2);
      if (distance > allowed || distance >= bestDistance) continue;
      best = i;
      bestDistance = distance;
    }
    if (best < 0) continue;
    found.push({ a: reference.edges[best]!, b });
    from = best + 1;
  }
  return found;
}

/**
 * How much better than chance the edges meet, natural-log units: judged by the train that has fewer in the time that both
 * cover, since a fan or a hunting regulator adds steps to the other. Each edge that meets one gains by how seldom chance
 * would do it; each that meets none costs.
 */
function scoreOf(reference: CountedTrain, other: CountedTrain, start: Seconds): number {
  const slack = 2 * tolerance(reference.edges, other.edges);
  const inReference = within(reference, start + slack, start + other.seconds - slack);
  const inOther = within(other, slack - start, reference.seconds - start - slack);
  const few = Math.min(inReference.count, inOther.count);
  const many = inReference.count <= inOther.count ? inOther : inReference;
  const common = Math.min(reference.seconds, start + other.seconds) - Math.max(0, start);
  const met = pairs(reference, other, start, 1, mostDrift);
  let score = 0;
  for (const { a, b } of met) {
    const u = Math.hypot(a.uncertainty, b.uncertainty, (mostDrift / 2) * b.seconds);
    const same = sameKind(a, b);
    const supply = sameSupplyStep(a, b);
    const alike = supply ? many.supplySteps : same ? many.ofKind(a.kind) : many.count;
    const byChance = 1 - Math.exp((-alike * 2 * reach * u) / Math.max(common, u));
    score += Math.log((same ? seen : turned) / Math.max(byChance, 1e-3)) + (same && a.kind === 2 ? 1 : 0);
    if (supply) score += supplyGain;
    score += 0.5 - Math.min((a.seconds - b.seconds - start) ** 2 / (2 * u * u), 4);
  }
  const apart = 1 - common / Math.min(reference.seconds, other.seconds);
  return score - apartCost * apart + Math.max(few - met.length, 0) * Math.log(1 - seen);
}

/** A slow log shows a crank as no more than charging that begins. */
const sameKind = (a: ClockEdge, b: ClockEdge): boolean => a.kind === b.kind || sameSupplyStep(a, b);

/** Charging that begins or ends: seldom in a log, and as high at the load as at the battery. */
function sameSupplyStep(a: ClockEdge, b: ClockEdge): boolean {
  if (a.supplyStep === null || b.supplyStep === null) return false;
  const least = Math.min(Math.abs(a.supplyStep), Math.abs(b.supplyStep));
  return least > leastSupplyStep && Math.abs(a.supplyStep - b.supplyStep) < 0.3 * least;
}

/** Offset and drift by weighted least squares over matched edges, re-matched as they settle; far ones count less (Huber). */
function fit(reference: CountedTrain, other: EdgeTrain, begin: Seconds): Omit<ClockMatch, "margin"> | null {
  let start = begin;
  let rate = 1;
  let uncertainty = 0;
  let matched = 0;
  for (let pass = 0; pass < 6; pass++) {
    const met = pairs(reference, other, start, rate, pass === 0 ? mostDrift : 0);
    if (met.length === 0) return null;
    const line = weightedLine(met, start, rate);
    start = line.start;
    rate = line.rate;
    uncertainty = line.uncertainty;
    matched = met.length;
  }
  return { startSeconds: start, startUncertainty: uncertainty, rate, matched };
}

function weightedLine(met: readonly Pair[], start: Seconds, rate: number) {
  let [s, sx, sxx, sy, sxy, chi] = [0, 0, 0, 0, 0, 0];
  for (const { a, b } of met) {
    const u = Math.hypot(a.uncertainty, b.uncertainty);
    const miss = (a.seconds - start - rate * b.seconds) / u;
    const w = Math.min(1, 1.5 / Math.max(Math.abs(miss), 1e-9)) / (u * u);
    const y = a.seconds - b.seconds;
    s += w;
    sx += w * b.seconds;
    sxx += w * b.seconds * b.seconds;
    sy += w * y;
    sxy += w * b.seconds * y;
    chi += Math.min(miss * miss, 9);
  }
  sxx += 1 / driftPrior ** 2;
  const det = s * sxx - sx * sx;
  const scatter = met.length > 2 ? Math.max(1, chi / (met.length - 1)) : 1;
  return {
    start: (sxx * sy - sx * sxy) / det,
    rate: 1 + (s * sxy - sx * sy) / det,
    uncertainty: Math.sqrt((scatter * sxx) / det),
  };
}
