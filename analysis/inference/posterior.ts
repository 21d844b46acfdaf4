/**
 * Belief over every hypothesis of a round, from its readings (method.md section 6).
 * Goes in: job, expected parts, readings. Comes out: hypotheses with their probability, most probable first.
 */
import type { Job } from "../job/job.ts";
import type { ExpectedPart } from "../loop/expected-part.ts";
import type { Reading } from "../reading/reading.ts";
import { alikeParts } from "./alike-parts.ts";
import type { Condition } from "./condition.ts";
import { type FittedHypothesis, type HypothesisFitter, hypothesisFitter } from "./fitted-hypothesis.ts";
import { type FaultPrior, faultPrior, type Hypothesis, pairOf } from "./hypothesis.ts";
import type { LaplaceFit } from "./laplace.ts";
import type { LoopModel } from "./loop-model.ts";
import { twoFaultShare } from "./prior.ts";
import { prepareRound, type RoundSetting } from "./round-setting.ts";
import { shiftEvidence } from "./shift-evidence.ts";
import { usableReadings } from "./usable-readings.ts";

export interface Belief {
  readonly hypothesis: Hypothesis;
  readonly model: LoopModel;
  /** made when it is first asked for, where a like hypothesis stands for this one */
  readonly fit: LaplaceFit;
  /** 0 to 1; over all beliefs they sum to 1 */
  readonly probability: number;
  /** the same before the readings were seen */
  readonly priorProbability: number;
}

export interface Posterior {
  readonly setting: RoundSetting;
  readonly beliefs: readonly Belief[];
}

/** A pair is looked at where one of its two is among the so many kinds of single fault that explain the readings best. */
const pairSeeds = 8;

interface Weighed {
  readonly hypothesis: Hypothesis;
  /** ln of prior times likelihood, of levels and of shifts seen; not normalised */
  readonly logWeight: number;
  readonly fitted: () => FittedHypothesis;
}

type WeightedFault = FaultPrior["faults"][number];
interface Single {
  readonly fault: WeightedFault;
  readonly fitted: FittedHypothesis;
  readonly weighed: Weighed;
}

/**
 * @param asked conditions that will be asked about, though no reading was taken in them
 * @returns beliefs whose probabilities sum to 1
 */
export function believe(
  job: Job,
  expected: readonly ExpectedPart[],
  taken: readonly Reading[],
  asked: readonly Condition[],
): Posterior {
  const readings = usableReadings(job, taken);
  const setting = prepareRound(job, expected, readings, asked);
  const prior = faultPrior(job, readings);
  const fitter = hypothesisFitter(setting);
  const weigh = weigher(setting);
  const kinds = kindsOf(setting, prior);
  const none = fitter.alone({ faults: [], prior: prior.soundWeight }, null);
  const fits = fromTheBest([none, ...kinds.map(([first]) => fitter.alone(singleOf(first!), none))], fitter);
  const weighAll = ([none, ...likes]: readonly FittedHypothesis[]) => {
    const singles = kinds.map((kind, k) => singlesOf(kind, likes[k]!, fitter, weigh));
    const pairs = pairsOf(prior, fitter, singles, weigh);
    return { weighed: [weigh(none!), ...singles.flat().map(({ weighed }) => weighed), ...pairs], pairs };
  };
  let all = weighAll(fits);
  const pair = likeliest(all.pairs)?.fitted();
  // A pair may have found what each of its faults alone stopped short of.
  if (pair !== undefined && isAhead(pair, bestOf(fits))) {
    const again = fromAnother(fits, pair, fitter);
    if (again.some((fit, k) => isAhead(fit, fits[k]!))) all = weighAll(again);
  }
  return { setting, beliefs: normalise(all.weighed) };
}

const likeliest = (weighed: readonly Weighed[]): Weighed | undefined =>
  weighed.reduce((one, other) => (other.logWeight > one.logWeight ? other : one), weighed[0]!);

/** Faults in kinds that the readings have on the same side. */
function kindsOf(setting: RoundSetting, { faults }: FaultPrior): WeightedFault[][] {
  const side = alikeParts(setting);
  const kinds = new Map<string, WeightedFault[]>();
  for (const fault of faults) {
    const key = `${fault.cause} ${fault.part < 0 ? "" : side[fault.part]}`;
    kinds.set(key, [...(kinds.get(key) ?? []), fault]);
  }
  return [...kinds.values()];
}

const singleOf = (fault: WeightedFault): Hypothesis => ({
  faults: [fault],
  prior: fault.weight * (1 - twoFaultShare),
});

/** @param like the fit of the first of them */
function singlesOf(
  kind: readonly WeightedFault[],
  like: FittedHypothesis,
  fitter: HypothesisFitter,
  weigh: Weigh,
): Single[] {
  return kind.map((fault, place) => {
    const fitted = place === 0 ? like : fitter.beside(singleOf(fault), like);
    return { fault, fitted, weighed: weigh(fitted) };
  });
}

/** Turns in which every fit is tried from where the best stands, while one comes out better by so much in ln probability. */
const mostTurns = 3;
const worthATurn = 0.5;

/** A fit may have stopped short of what another has found of the source, the load and what else hangs on them. */
function fromTheBest(fits: readonly FittedHypothesis[], fitter: HypothesisFitter): readonly FittedHypothesis[] {
  let all = fits;
  for (let turn = 0; turn < mostTurns; turn++) {
    const best = bestOf(all);
    all = fromAnother(all, best, fitter);
    if (!isAhead(bestOf(all), best)) break;
  }
  return all;
}

const bestOf = (fits: readonly FittedHypothesis[]): FittedHypothesis =>
  fits.reduce((one, other) => (other.fit.cost < one.fit.cost ? other : one));

const isAhead = (one: FittedHypothesis, other: FittedHypothesis): boolean => one.fit.cost < other.fit.cost - worthATurn;

const fromAnother = (
  fits: readonly FittedHypothesis[],
  other: FittedHypothesis,
  fitter: HypothesisFitter,
): FittedHypothesis[] => fits.map((fit) => (fit === other ? fit : fitter.again(fit, other)));

/** Every pair of two kinds, one of them among the likeliest. */
function pairsOf(
  { faults }: FaultPrior,
  fitter: HypothesisFitter,
  kinds: readonly (readonly Single[])[],
  weigh: Weigh,
): Weighed[] {
  const total = faults.reduce((sum, fault) => sum + fault.weight, 0);
  const most = (kind: readonly Single[]) => Math.max(...kind.map(({ weighed }) => coarse(weighed.logWeight)));
  const ranked = kinds.toSorted((a, b) => most(b) - most(a));
  return ranked
    .slice(0, pairSeeds)
    .flatMap((first, rank) =>
      ranked.slice(rank).flatMap((second) => pairsOfKinds(total, fitter, first, second, weigh)),
    );
}

/**
 * One pair of two kinds is fitted; the others are as much likelier or less likely as their faults are alone, and are fitted
 * when somebody asks for it.
 */
function pairsOfKinds(
  totalWeight: number,
  fitter: HypothesisFitter,
  first: readonly Single[],
  second: readonly Single[],
  weigh: Weigh,
): Weighed[] {
  const pairs = first.flatMap((a, index) =>
    (first === second ? second.slice(index + 1) : second).flatMap((b) => {
      const hypothesis = pairOf(a.fault, b.fault, totalWeight);
      return hypothesis === null ? [] : [{ hypothesis, a, b }];
    }),
  );
  const [like, ...others] = pairs;
  if (like === undefined) return [];
  const together = fitter.together(like.hypothesis, [like.a.fitted, like.b.fitted]);
  return [
    weigh(together),
    ...others.map(({ hypothesis, a, b }) => {
      const beside =
        a.fitted.logLikelihood - like.a.fitted.logLikelihood + b.fitted.logLikelihood - like.b.fitted.logLikelihood;
      const logLikelihood = together.logLikelihood + beside;
      return weigh({ hypothesis, logLikelihood }, () => fitter.beside(hypothesis, together));
    }),
  ];
}

type Weigh = ReturnType<typeof weigher>;

/** Weighs hypotheses of one round. */
function weigher(setting: RoundSetting) {
  const shifts = shiftEvidence(setting);
  return (estimate: Pick<FittedHypothesis, "hypothesis" | "logLikelihood">, fit?: () => FittedHypothesis): Weighed => {
    const { hypothesis, logLikelihood } = estimate;
    let known = fit === undefined ? (estimate as FittedHypothesis) : null;
    return {
      hypothesis,
      logWeight: Math.log(hypothesis.prior) + logLikelihood + shifts(hypothesis),
      fitted() {
        known ??= fit!();
        return known;
      },
    };
  };
}

function normalise(weighed: readonly Weighed[]): Belief[] {
  const most = Math.max(...weighed.map(({ logWeight }) => logWeight));
  const total = weighed.reduce((sum, { logWeight }) => sum + Math.exp(logWeight - most), 0);
  const priorTotal = weighed.reduce((sum, { hypothesis }) => sum + hypothesis.prior, 0);
  return weighed
    .map(({ hypothesis, logWeight, fitted }) => ({
      hypothesis,
      get model() {
        return fitted().model;
      },
      get fit() {
        return fitted().fit;
      },
      probability: Math.exp(logWeight - most) / total,
      priorProbability: hypothesis.prior / priorTotal,
    }))
    .sort((a, b) => coarse(b.probability) - coarse(a.probability));
}

/** Joints that no reading tells apart are equal but for the last digits, which differ between machines: they keep the loop's order. */
const coarse = (value: number): number => Math.round(value * 1e6);
