/**
 * Belief over every hypothesis of a round, from its readings (method.md section 6).
 * Goes in: job, expected parts, readings. Comes out: hypotheses with their probability, most probable first.
 */
import type { Job } from "../job/job.ts";
import type { ExpectedPart } from "../loop/expected-part.ts";
import type { Reading } from "../reading/reading.ts";
import type { Condition } from "./condition.ts";
import { type Fault, faultPrior, type Hypothesis, pairOf } from "./hypothesis.ts";
import { type FitOptions, fitLaplace, type LaplaceFit, withIdleUnknown } from "./laplace.ts";
import { type LoopModel, loopModel } from "./loop-model.ts";
import { openedDeviations, readingTail, shiftLimit, shiftSeen, twoFaultShare } from "./prior.ts";
import { prepareRound, type RoundSetting } from "./round-setting.ts";
import type { EngineGuess } from "./unknown.ts";
import { isPulsed, usableReadings } from "./usable-readings.ts";

export interface Belief {
  readonly hypothesis: Hypothesis;
  readonly model: LoopModel;
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

/** A pair is looked at where one of its two is among the singles that explain the readings best. */
const pairSeeds = 8;

/** This far behind the best in ln probability, a hypothesis has none to speak of. */
const hopelessLead = 60;

interface Weighed extends Omit<Belief, "probability" | "priorProbability"> {
  readonly guess: EngineGuess;
  /** ln of the marginal likelihood of the readings' levels */
  readonly logLikelihood: number;
  /** ln of prior times likelihood, of levels and of shifts seen; not normalised */
  readonly logWeight: number;
}
type Fitted = Pick<Weighed, "model" | "fit" | "guess" | "logLikelihood">;

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
  const faultWeight = prior.faults.reduce((sum, fault) => sum + fault.weight, 0);
  const fit = fitter(setting);
  const weigh = (hypothesis: Hypothesis, ...parents: Weighed[]): Weighed => {
    const fitted = fit(hypothesis, parents);
    const logWeight = Math.log(hypothesis.prior) + fitted.logLikelihood + shiftEvidence(setting, hypothesis);
    return { hypothesis, ...fitted, logWeight };
  };

  const none = weigh({ faults: [], prior: prior.soundWeight });
  const singles = prior.faults.map((fault) => ({
    fault,
    weighed: weigh({ faults: [fault], prior: fault.weight * (1 - twoFaultShare) }, none),
  }));
  const ranked = singles.toSorted((a, b) => coarse(b.weighed.logWeight) - coarse(a.weighed.logWeight));
  const pairs = ranked.slice(0, pairSeeds).flatMap((first, rank) =>
    ranked.slice(rank + 1).flatMap((second) => {
      const hypothesis = pairOf(first.fault, second.fault, faultWeight);
      return hypothesis === null ? [] : [weigh(hypothesis, first.weighed, second.weighed)];
    }),
  );
  return { setting, beliefs: normalise([none, ...ranked.map(({ weighed }) => weighed), ...pairs]) };
}

/**
 * Fits one hypothesis after the other.
 * @returns fits a hypothesis; its parents are those with one fault less, in the order of the faults that it has of them
 */
function fitter(setting: RoundSetting): (hypothesis: Hypothesis, parents: readonly Weighed[]) => Fitted {
  let bestCost = Number.POSITIVE_INFINITY;
  const shiftRead = setting.prepared.some(({ reading }) => reading.disturbed);
  return (hypothesis, parents) => {
    const idle = shiftRead ? -1 : hypothesis.faults.findIndex(isShift);
    if (idle >= 0) return asWithout(setting, hypothesis, idle, parents);
    const options = { tail: readingTail, hopelessCost: bestCost + hopelessLead };
    const guesses = engineGuesses(setting).map((guess) => {
      const model = loopModel(setting, hypothesis, guess);
      return { model, guess, fit: fitModel(model, parents, options) };
    });
    const best = guesses.reduce((one, other) => (other.fit.logEvidence > one.fit.logEvidence ? other : one));
    bestCost = Math.min(bestCost, best.fit.cost);
    return {
      ...best,
      logLikelihood: meanEvidence(guesses.map((one) => one.fit.logEvidence)) + best.model.logConstant,
    };
  };
}

function fitModel(model: LoopModel, parents: readonly Weighed[], options: FitOptions): LaplaceFit {
  const isPair = parents.length > 1;
  const shut = fitLaplace(model, isPair ? startOf(model, parents) : new Float64Array(model.unknowns), {
    ...options,
    near: isPair,
  });
  return !isPair && hasShift(model.hypothesis.faults) ? orOpened(model, shut, options) : shut;
}

/** Where no reading was taken while a contact had shifted, a contact that may shift changes nothing that was read. */
function asWithout(setting: RoundSetting, hypothesis: Hypothesis, idle: number, parents: readonly Weighed[]): Fitted {
  const parent = parents.length > 1 ? parents[1 - idle]! : parents[0]!;
  const model = loopModel(setting, hypothesis, parent.guess);
  const { guess, logLikelihood } = parent;
  return { model, guess, logLikelihood, fit: withIdleUnknown(parent.fit, model.faultPlaces[idle]!) };
}

/** Where the engine is in doubt, each hypothesis is weighed with it off and with it running. */
const engineGuesses = ({ engineInDoubt }: RoundSetting): readonly EngineGuess[] =>
  engineInDoubt ? ["off", "running"] : [null];

/** ln of the mean of evidences given by their ln. */
function meanEvidence(logs: readonly number[]): number {
  const most = Math.max(...logs);
  return most + Math.log(logs.reduce((sum, log) => sum + Math.exp(log - most), 0) / logs.length);
}

function normalise(weighed: readonly Weighed[]): Belief[] {
  const most = Math.max(...weighed.map(({ logWeight }) => logWeight));
  const total = weighed.reduce((sum, { logWeight }) => sum + Math.exp(logWeight - most), 0);
  const priorTotal = weighed.reduce((sum, { hypothesis }) => sum + hypothesis.prior, 0);
  return weighed
    .map(({ hypothesis, model, fit, logWeight }) => ({
      hypothesis,
      model,
      fit,
      probability: Math.exp(logWeight - most) / total,
      priorProbability: hypothesis.prior / priorTotal,
    }))
    .sort((a, b) => coarse(b.probability) - coarse(a.probability));
}

/** Joints that no reading tells apart are equal but for the last digits, which differ between machines: they keep the loop's order. */
const coarse = (value: number): number => Math.round(value * 1e6);

/** A contact that shifts may have opened altogether, which is a hump of its own: the better of the two is kept. */
function orOpened(model: LoopModel, shut: LaplaceFit, options: FitOptions): LaplaceFit {
  const start = Float64Array.from(shut.optimum);
  start[model.faultPlaces[0]!] = openedDeviations;
  const opened = fitLaplace(model, start, { ...options, near: true });
  return opened.logEvidence > shut.logEvidence ? opened : shut;
}

/** A fit of two faults begins where the likelier one alone ended, each as large as it was found alone. */
function startOf(model: LoopModel, singles: readonly Weighed[]): Float64Array {
  const start = new Float64Array(model.unknowns);
  const likelier = singles[0]!;
  const meters = model.setting.meterDeviations.length;
  start.set(
    likelier.fit.optimum.subarray(
      0,
      Math.min(...model.faultPlaces.filter((place) => place >= 0), model.unknowns - meters),
    ),
  );
  start.set(likelier.fit.optimum.subarray(likelier.model.unknowns - meters), model.unknowns - meters);
  singles.forEach((single, index) => {
    const [own] = single.model.faultPlaces;
    const place = model.faultPlaces[index]!;
    if (place >= 0) start[place] = single.fit.optimum[own!]!;
  });
  return start;
}

/** Breaks and shifts of a contact, seen or not seen in logs, speak for and against an intermittent one. */
function shiftEvidence(setting: RoundSetting, { faults }: Hypothesis): number {
  const keyedLogs = setting.prepared.filter(({ reading }) => reading.logged && reading.radio === "transmit");
  // What a voice does to the level hides all shifts but an opening.
  if (keyedLogs.length === 0 || isPulsed(setting.job)) return 0;
  const { deviations, small, large } = shiftLimit;
  const shifts = keyedLogs.filter(({ shift, noise }) => shift > Math.max(deviations * noise, small));
  const seen = shifts.some(({ shift }) => shift > large) ? "large" : shifts.length > 0 ? "small" : "none";
  return Math.log(shiftSeen[seen][hasShift(faults) ? "intermittent" : "otherwise"]);
}

const isShift = ({ cause }: Fault): boolean => cause === "intermittent-connection";
const hasShift = (faults: readonly Fault[]): boolean => faults.some(isShift);
