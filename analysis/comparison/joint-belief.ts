/**
 * Belief over two rounds at once: what was wrong, what is wrong now, and which parts have changed between.
 * Goes in: each round's own belief. Comes out: pairs of hypotheses, fitted together over what is the same thing in both.
 */
import { fitLaplace, type LaplaceFit } from "../inference/laplace.ts";
import { solveLowerInPlace } from "../inference/linear-algebra.ts";
import type { Belief, Posterior } from "../inference/posterior.ts";
import { readingTail } from "../inference/prior.ts";
import { otherSetShare, otherSizeShare, touchedShare, transitionTo } from "./between-visits.ts";
import { type Changes, placesOf, sameFault, tiesOf } from "./same-thing.ts";
import { startOfTied, type TiedRounds, tiedRounds } from "./tied-rounds.ts";

export interface JointBelief {
  readonly before: Belief;
  readonly after: Belief;
  readonly changes: Changes;
  /** of the changed parts, those that were mended or are said to have been changed, by index */
  readonly renewed: ReadonlySet<number>;
  readonly rounds: TiedRounds;
  readonly fit: LaplaceFit;
  /** 0 to 1; over all joint beliefs they sum to 1 */
  readonly probability: number;
}

/** Pairs this far behind the best in ln probability, and those past the first so many, are not fitted. */
const hopelessLead = 7;
const mostPairs = 40;
/**
 * A pair is also looked at with one thing changed that its hypotheses do not name, where a quick estimate gives that
 * these odds against the pair as it is, and these against the best pair of all.
 */
const worthVarying = { againstItself: 0.03, againstBest: 0.01 } as const;

type Weighed = Omit<JointBelief, "probability"> & { readonly logWeight: number };
interface Pair {
  readonly before: Belief;
  readonly after: Belief;
  readonly logPrior: number;
}

/** @param changed parts that the job says were changed between the rounds, by index */
export function believeBoth(before: Posterior, after: Posterior, changed: ReadonlySet<number>): JointBelief[] {
  const weighed = likelyPairs(before, after, changed).flatMap((pair) =>
    sizeVariants(pair).map((one) => weigh(one, changed)),
  );
  const most = Math.max(...weighed.map(({ logWeight }) => logWeight));
  const varied = weighed.flatMap((one) => variants(one, most));
  return normalise([...weighed, ...varied]);
}

function normalise(weighed: readonly Weighed[]): JointBelief[] {
  const most = Math.max(...weighed.map(({ logWeight }) => logWeight));
  const total = weighed.reduce((sum, { logWeight }) => sum + Math.exp(logWeight - most), 0);
  return weighed
    .map(({ logWeight, ...joint }) => ({ ...joint, probability: Math.exp(logWeight - most) / total }))
    .sort((a, b) => b.probability - a.probability);
}

/** Pairs by what each round says alone and by how one leads to the other. */
function likelyPairs(before: Posterior, after: Posterior, changed: ReadonlySet<number>): Pair[] {
  const lead = (belief: Belief) => Math.log(belief.probability / belief.priorProbability);
  const transition = transitionTo(after, changed);
  const pairs = before.beliefs
    .filter(({ probability }) => probability > Math.exp(-hopelessLead) * before.beliefs[0]!.probability)
    .flatMap((was) =>
      after.beliefs.map((is) => {
        const logPrior = Math.log(was.priorProbability) + Math.log(transition(was.hypothesis, is.hypothesis));
        return { before: was, after: is, logPrior, logWeight: logPrior + lead(was) + lead(is) };
      }),
    )
    .sort((a, b) => b.logWeight - a.logWeight);
  return pairs.slice(0, mostPairs).filter(({ logWeight }) => logWeight > pairs[0]!.logWeight - hopelessLead);
}

/** A fault that is still there is as large as it was, or has another size. */
function sizeVariants(pair: Pair): (Pair & { faultSizes: boolean })[] {
  const kept = pair.before.hypothesis.faults.filter((fault) =>
    pair.after.hypothesis.faults.some((one) => sameFault(one, fault)),
  );
  if (kept.length === 0) return [{ ...pair, faultSizes: false }];
  const other = otherSizeShare(kept);
  return [
    { ...pair, faultSizes: false, logPrior: pair.logPrior + Math.log(1 - other) },
    { ...pair, faultSizes: true, logPrior: pair.logPrior + Math.log(other) },
  ];
}

function weigh({ before, after, logPrior, faultSizes }: Pair & { faultSizes: boolean }, changed: ReadonlySet<number>) {
  const renewed = new Set([...changed, ...mendedParts(before, after)]);
  return fitted({ before, after, renewed, changes: { parts: renewed, faultSizes, set: false } }, logPrior);
}

/** Parts that a repair has renewed: the joint that was at fault and is not, the wires that were not as declared. */
function mendedParts(before: Belief, after: Belief): number[] {
  const mended = before.hypothesis.faults.filter(
    (fault) => !after.hypothesis.faults.some((one) => sameFault(one, fault)),
  );
  const { isWire } = after.model.setting;
  return mended.flatMap(({ cause, part }) => {
    if (cause === "conductor-not-as-declared") return isWire.flatMap((is, index) => (is ? [index] : []));
    return part >= 0 ? [part] : [];
  });
}

function fitted(pair: Pick<JointBelief, "before" | "after" | "renewed" | "changes">, logPrior: number): Weighed {
  const { before, after, changes } = pair;
  const ties = tiesOf(before, after, changes);
  const rounds = tiedRounds(before.model, after.model, ties);
  const start = startOfTied(rounds, ties, before.fit.optimum, after.fit.optimum);
  const fit = fitLaplace(rounds, start, { tail: readingTail, near: true });
  // Each round's own evidence is the fit's with nothing tied; what its hypothesis explains beside the fit stays.
  const beside = [before, after].reduce(
    (sum, belief) => sum + Math.log(belief.probability / belief.priorProbability) - belief.fit.logEvidence,
    0,
  );
  return { ...pair, rounds, fit, logWeight: logPrior + beside + fit.logEvidence };
}

/** One thing more that may have changed: the unknown of the later round that it frees, and how often that is met. */
interface OneMore {
  readonly place: number;
  readonly share: number;
  readonly changes: Changes;
}

function oneMore({ after, changes }: Weighed): OneMore[] {
  const { expected, isWire, chassis } = after.model.setting;
  const parts = expected.flatMap((_, part): OneMore[] => {
    if (changes.parts.has(part)) return [];
    const share = isWire[part] || part === chassis ? touchedShare.other : touchedShare.joint;
    return [{ place: part, share, changes: { ...changes, parts: new Set([...changes.parts, part]) } }];
  });
  const { transmit } = placesOf(after).amps;
  return [...parts, { place: transmit, share: otherSetShare, changes: { ...changes, set: true } }];
}

/** The same pair with one thing more changed, for each that its readings speak for. */
function variants(one: Weighed, most: number): Weighed[] {
  const { rounds, fit, logWeight, ...pair } = one;
  return oneMore(one).flatMap(({ place, share, changes }) => {
    const own = rounds.ownPlaces[place]!;
    const ownShare = rounds.ownShares[place]!;
    if (own < 0 || ownShare === 1) return [];
    const odds = share * evidenceForChange(fit, own, ownShare);
    if (odds < worthVarying.againstItself || logWeight + Math.log(odds) < most + Math.log(worthVarying.againstBest))
      return [];
    const varied = fitted({ ...pair, changes }, 0);
    return [{ ...varied, logWeight: logWeight - fit.logEvidence + Math.log(share) + varied.fit.logEvidence }];
  });
}

/**
 * How much likelier the readings become where one unknown's own share may be as wide as the unknown itself: what the
 * readings alone say of it is normal with mean m and variance v (the fit without its prior), so that the two evidences
 * are densities of N(0, s² + v) and N(0, 1 + v) at m.
 */
function evidenceForChange({ optimum, precisionFactor }: LaplaceFit, place: number, ownShare: number): number {
  const size = optimum.length;
  const unit = new Float64Array(size);
  unit[place] = 1;
  solveLowerInPlace(precisionFactor, size, unit);
  const variance = unit.reduce((sum, value) => sum + value * value, 0);
  if (variance > 0.999) return 1;
  const saidVariance = (ownShare ** 2 * variance) / (1 - variance);
  const said = (ownShare * optimum[place]!) / (1 - variance);
  const density = (wide: number) =>
    Math.exp((-said * said) / (2 * (wide + saidVariance))) / Math.sqrt(wide + saidVariance);
  return density(1) / density(ownShare ** 2);
}
