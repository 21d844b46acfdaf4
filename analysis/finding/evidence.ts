/**
 * Which readings speak for a finding and which against it, with their figures.
 */

import type { Belief } from "../inference/posterior.ts";
import { shown } from "../inference/round-setting.ts";
import type { Candidate } from "./candidate.ts";
import type { DrawnBelief } from "./figures.ts";
import { figureWords, placeWords, stateWords } from "./place-words.ts";

const mostFor = 4;
/** A reading this many of its doubts from what the finding predicts speaks against it. */
const againstDeviations = 2.5;
/** A reading that the finding explains better than a sound circuit by this many doubts speaks for it. */
const forDeviations = 1.5;

interface Weighed {
  readonly words: string;
  readonly deviations: number;
}

export function evidenceFor(drawn: DrawnBelief, candidate: Candidate): string[] {
  const belief = candidate.beliefs[0];
  if (belief === undefined) return [];
  const speaking = belief.hypothesis.faults.length === 0 ? soundEvidence(belief) : faultEvidence(belief, candidate);
  return [...speaking, ...doubtsAbout(belief), ...eventEvidence(drawn, candidate)];
}

/** What a reading would show with the fault mended, in the likeliest way the vehicle may be. */
function faultEvidence(belief: Belief, candidate: Candidate): string[] {
  const { model, fit, hypothesis } = belief;
  const values = model.decode(fit.optimum);
  const mended = hypothesis.faults.flatMap((fault, index) => (candidate.matches(fault) ? [index] : []));
  const weighed = model.setting.prepared.map(({ reading, probe, condition, noise }): Weighed => {
    const without = shown(probe, model.solveMended(values, model.setting.conditions[condition]!, mended));
    const doubt = Math.hypot(noise, reading.counts, reading.gain * reading.value);
    return {
      deviations: Math.abs(reading.value - without) / doubt,
      words: `${placeWords(reading.place)}, ${stateWords(reading.engine, reading.radio)}${reading.disturbed ? ", contact shifted" : ""}: ${figureWords(reading.place, reading.value)}; without this fault about ${figureWords(reading.place, without)} (${reading.source})`,
    };
  });
  return weighed
    .filter(({ deviations }) => deviations > forDeviations)
    .sort((a, b) => b.deviations - a.deviations)
    .slice(0, mostFor)
    .map(({ words }) => words);
}

function soundEvidence({ model }: Belief): string[] {
  return model.setting.prepared
    .filter(({ reading }) => reading.radio === "transmit" && !reading.disturbed)
    .slice(0, mostFor)
    .map(
      ({ reading }) =>
        `${placeWords(reading.place)}, ${stateWords(reading.engine, reading.radio)}: ${figureWords(reading.place, reading.value)}, as a sound circuit shows (${reading.source})`,
    );
}

function doubtsAbout({ model, fit }: Belief): string[] {
  return model.setting.prepared.flatMap(({ reading }, n) =>
    Math.abs(fit.residuals[n]!) > againstDeviations
      ? [
          `against it: ${placeWords(reading.place)}, ${stateWords(reading.engine, reading.radio)} shows ${figureWords(reading.place, reading.value)}, which this does not explain (${reading.source})`,
        ]
      : [],
  );
}

function eventEvidence({ posterior }: DrawnBelief, { cause }: Candidate): string[] {
  if (cause !== "intermittent-connection") return [];
  const shifted = posterior.setting.prepared.filter(({ reading }) => reading.disturbed);
  const files = [...new Set(shifted.map(({ reading }) => reading.source))];
  return files.length > 0 ? [`a contact opened or shifted while keyed in ${files.join(" and ")}`] : [];
}
