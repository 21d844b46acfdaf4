/**
 * One hypothesis fitted to a round's readings, from where a like one ended.
 * Goes in: a hypothesis and those it is like. Comes out: its model, its fit, and how likely it makes the readings.
 */
import type { Fault, Hypothesis } from "./hypothesis.ts";
import { type FitOptions, fitLaplace, type LaplaceFit, minusLogPosterior, withIdleUnknown } from "./laplace.ts";
import { type LoopModel, loopModel } from "./loop-model.ts";
import { openedDeviations, readingTail } from "./prior.ts";
import type { RoundSetting } from "./round-setting.ts";
import type { Guess } from "./unknown.ts";

export interface FittedHypothesis {
  readonly hypothesis: Hypothesis;
  readonly model: LoopModel;
  readonly fit: LaplaceFit;
  /** what is taken of what the readings do not say, in the likeliest way */
  readonly guess: Guess;
  /** all ways that are not far less likely */
  readonly guesses: readonly Guess[];
  /** ln of the marginal likelihood of the readings' levels, all guesses taken together */
  readonly logLikelihood: number;
}

/** This far behind the best in ln probability, a hypothesis has none to speak of. */
const hopelessLead = 40;
/** The same, of what is guessed under one hypothesis. */
const guessLead = 4;
/** Sizes of shift tried are so far apart, and shares of the current so small, in prior standard deviations. */
const shiftGrid = 0.15;
const shareGrid = [0, -0.5, -1, -1.5, -2] as const;

export interface HypothesisFitter {
  /** none or one fault, from the prior's middle; `none` is what is left without it */
  alone(hypothesis: Hypothesis, none: FittedHypothesis | null): FittedHypothesis;
  /** the same hypothesis, from where all that is not its fault stood in another: the better of the two */
  again(fitted: FittedHypothesis, other: FittedHypothesis): FittedHypothesis;
  /** the same faults as `like`, at joints that every reading has on the same side */
  beside(hypothesis: Hypothesis, like: FittedHypothesis): FittedHypothesis;
  /** two faults, from where each alone ended; the likelier first, in the order of the hypothesis's faults */
  together(hypothesis: Hypothesis, parents: readonly [FittedHypothesis, FittedHypothesis]): FittedHypothesis;
}

export function hypothesisFitter(setting: RoundSetting): HypothesisFitter {
  const shiftRead = setting.prepared.some(({ reading }) => reading.disturbed);
  const guesses = guessesOf(setting);
  let bestCost = Number.POSITIVE_INFINITY;
  const options = (near: boolean): FitOptions => ({ tail: readingTail, hopelessCost: bestCost + hopelessLead, near });

  function best(
    hypothesis: Hypothesis,
    worthTrying: readonly Guess[],
    fitModel: (model: LoopModel) => LaplaceFit,
  ): FittedHypothesis {
    const tried = worthTrying.map((guess) => {
      const model = loopModel(setting, hypothesis, guess);
      return { hypothesis, guess, model, fit: fitModel(model) };
    });
    const chosen = tried.reduce((one, other) => (other.fit.logEvidence > one.fit.logEvidence ? other : one));
    bestCost = Math.min(bestCost, chosen.fit.cost);
    const most = chosen.fit.logEvidence;
    const total = tried.reduce((sum, { fit }) => sum + Math.exp(fit.logEvidence - most), 0);
    return {
      ...chosen,
      guesses: tried.flatMap(({ guess, fit }) => (fit.logEvidence > most - guessLead ? [guess] : [])),
      logLikelihood: most + Math.log(total / guesses.length) + chosen.model.logConstant,
    };
  }

  /** Where no reading was taken while a contact had shifted, a contact that may shift changes nothing that was read. */
  function withoutIdle(hypothesis: Hypothesis, parents: readonly (FittedHypothesis | null)[]): FittedHypothesis | null {
    const idle = shiftRead ? -1 : hypothesis.faults.findIndex(isShift);
    const rest = parents.length > 1 ? parents[1 - idle] : parents[0];
    if (idle < 0 || !rest) return null;
    const model = loopModel(setting, hypothesis, rest.guess);
    return { ...rest, hypothesis, model, fit: withIdleUnknown(rest.fit, model.faultPlaces[idle]!) };
  }

  return {
    alone: (hypothesis, none) =>
      withoutIdle(hypothesis, [none]) ??
      best(hypothesis, guesses, (model) => {
        const shut = fitLaplace(model, new Float64Array(model.unknowns), options(false));
        return none !== null && hypothesis.faults.some(isShift) ? orOpened(model, shut, none, options(true)) : shut;
      }),
    again(fitted, other) {
      const start = startOf(fitted.model, [other]);
      fitted.model.faultPlaces.forEach((place, index) => {
        if (place >= 0) start[place] = sizeIn(other, fitted.hypothesis.faults[index]!) ?? fitted.fit.optimum[place]!;
      });
      const fit = fitLaplace(fitted.model, start, options(true));
      const gain = fit.logEvidence - fitted.fit.logEvidence;
      return gain > 0 ? { ...fitted, fit, logLikelihood: fitted.logLikelihood + gain } : fitted;
    },
    beside(hypothesis, like) {
      const model = loopModel(setting, hypothesis, like.guess);
      const fit = fitLaplace(model, like.fit.optimum, options(true));
      const evidence = ({ fit, model }: Pick<FittedHypothesis, "fit" | "model">) => fit.logEvidence + model.logConstant;
      const logLikelihood = like.logLikelihood + evidence({ fit, model }) - evidence(like);
      return { ...like, hypothesis, model, fit, logLikelihood };
    },
    together: (hypothesis, parents) =>
      withoutIdle(hypothesis, parents) ??
      best(hypothesis, guessesOfBoth(parents), (model) => fitLaplace(model, startOf(model, parents), options(true))),
  };
}

/** Where a fit has the unknown of the same fault; undefined where it has none. */
function sizeIn({ hypothesis, model, fit }: FittedHypothesis, { cause, part }: Fault): number | undefined {
  const index = hypothesis.faults.findIndex((fault) => fault.cause === cause && fault.part === part);
  return fit.optimum[model.faultPlaces[index] ?? -1];
}

const isShift = ({ cause }: Fault): boolean => cause === "intermittent-connection";

function guessesOf({ engineInDoubt, bondInDoubt }: RoundSetting): Guess[] {
  const engines = engineInDoubt ? (["off", "running"] as const) : ([null] as const);
  const bonds = bondInDoubt ? (["body", "battery"] as const) : (["body"] as const);
  return engines.flatMap((engine) => bonds.map((bond) => ({ engine, bond })));
}

/** What neither of two faults alone makes likely, both together hardly do. */
function guessesOfBoth(parents: readonly FittedHypothesis[]): Guess[] {
  const all = parents.flatMap(({ guesses }) => guesses);
  return all.filter(({ engine, bond }, index) => {
    return all.findIndex((one) => one.engine === engine && one.bond === bond) === index;
  });
}

/**
 * A contact that shifts may have opened altogether, or far enough that the set gave up: a hump of its own, which no way
 * leads to from a small shift. The better is kept.
 */
function orOpened(model: LoopModel, shut: LaplaceFit, none: FittedHypothesis, options: FitOptions): LaplaceFit {
  const opened = fitLaplace(model, likeliestShift(model, none), options);
  return opened.logEvidence > shut.logEvidence ? opened : shut;
}

/** Where the loop ended without a fault, the likeliest of some sizes of shift, each with some shares of the set's current. */
function likeliestShift(model: LoopModel, none: FittedHypothesis): Float64Array {
  const start = startOf(model, [none]);
  const residuals = new Float64Array(model.residuals);
  let likeliest = Float64Array.from(start);
  let least = Number.POSITIVE_INFINITY;
  for (let size = -2; size <= openedDeviations; size += shiftGrid) {
    for (const share of shareGrid) {
      start[model.faultPlaces[0]!] = size;
      start[model.shiftSharePlace] = share;
      model.evaluate(start, residuals);
      const cost = minusLogPosterior(start, residuals, readingTail);
      if (cost >= least) continue;
      least = cost;
      likeliest = Float64Array.from(start);
    }
  }
  return likeliest;
}

/** Where the likelier one alone ended, each fault as large as it was found alone. */
function startOf(model: LoopModel, parents: readonly [FittedHypothesis, ...FittedHypothesis[]]): Float64Array {
  const start = new Float64Array(model.unknowns);
  const [likelier] = parents;
  const meters = model.setting.meterDeviations.length;
  const own = Math.min(...model.faultPlaces.filter((place) => place >= 0), model.unknowns - meters);
  start.set(likelier.fit.optimum.subarray(0, own));
  start.set(likelier.fit.optimum.subarray(likelier.model.unknowns - meters), model.unknowns - meters);
  parents.forEach((parent, index) => {
    const [found] = parent.model.faultPlaces;
    const place = model.faultPlaces[index]!;
    if (place >= 0 && found !== undefined) start[place] = parent.fit.optimum[found]!;
  });
  return start;
}
