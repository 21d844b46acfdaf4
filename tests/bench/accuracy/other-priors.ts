/**
 * The same inference believing something else beforehand: the recipe's own figures for the oracle, and figures that are
 * wrong on purpose, to see how far it leans on them.
 */
import {
  causeWeight,
  chargingVolts,
  excessCurrentFactor,
  loadExponent,
  lowLeadVolts,
  overchargingVolts,
  restedLeadVolts,
  soundSourceOhms,
  strayOdds,
  weakSourceOhms,
} from "../../../analysis/inference/prior.ts";
import type { Job } from "../../../analysis/job/job.ts";
import { type ExpectedPart, expectedParts } from "../../../analysis/loop/expected-part.ts";
import type { LoopItem } from "../../fixtures/recipe/loop-item.ts";
import { partsOf } from "../../fixtures/recipe/loop-item.ts";
import { Random } from "../../fixtures/recipe/random.ts";
import { drawSoundOhms } from "../../fixtures/recipe/sound-ohms.ts";

/** Contacts, fuses, switches and the chassis; wire is physics. */
const isContact = ({ kind }: ExpectedPart): boolean => kind !== "wire";

export const priorShifts = {
  "contact spreads × 1.5": { ohms: 1, spread: 1.5 },
  "contact medians × 0.7": { ohms: 0.7, spread: 1 },
  "contact medians × 1.4": { ohms: 1.4, spread: 1 },
} as const;
export type PriorShift = keyof typeof priorShifts;

export function shiftedParts(job: Job, shift: PriorShift): ExpectedPart[] {
  const { ohms, spread } = priorShifts[shift];
  return expectedParts(job).map((part) =>
    isContact(part) ? { ...part, ohms: part.ohms * ohms, spread: part.spread * spread } : part,
  );
}

const draws = 200;

/** Median and spread of each part as the recipe draws it. */
export function recipeParts(job: Job): ExpectedPart[] {
  const random = new Random(1);
  const conditions = { ambientCelsius: job.ambientCelsius ?? 20, transmitAmps: job.load.transmitAmps ?? 9 };
  const items = partsOf(job.loop as readonly LoopItem[]);
  return expectedParts(job).map((part, index) => {
    const logs = Array.from({ length: draws }, () => Math.log(drawSoundOhms(random, items[index]!, conditions)));
    const mean = logs.reduce((sum, log) => sum + log, 0) / draws;
    const variance = logs.reduce((sum, log) => sum + (log - mean) ** 2, 0) / draws;
    return { ...part, ohms: Math.exp(mean), spread: Math.sqrt(variance) };
  });
}

/** What the recipe's own files draw from (source.ts, fault.ts, condition.ts, request.ts), as nearly as the program's forms allow. */
const recipeFigures = {
  causeWeight: {
    "high-resistance-connection": 0.34,
    "intermittent-connection": 0.08,
    "conductor-not-as-declared": 0.07,
    "weak-battery": 0.07,
    "low-charge": 0.06,
    "no-charging": 0.05,
    overcharging: 0.04,
    "excess-load-current": 0.05,
    "stray-return": 0.05,
    "supply-sound": 0.13,
    "undersized-run": 0.3,
  },
  restedLeadVolts: { mean: 12.63, below: 0.1, above: 0.13 },
  lowLeadVolts: { mean: 11.69, below: 0.23, above: 0.23 },
  soundSourceOhms: { median: 0.0112, spread: 0.27 },
  weakSourceOhms: { median: 0.09, spread: 0.45 },
  overchargingVolts: { mean: 15.9, below: 0.35, above: 0.35 },
  chargingVolts: { mean: 14.1, below: 0.26, above: 0.26 },
  excessCurrentFactor: { median: 1.74, spread: 0.11, below: 0.11 },
  strayOdds: { median: 1.1, spread: 0.55, below: 0.55 },
  loadExponent: { mean: 0.2, deviation: 0.46 },
} as const;

const programFigures: Readonly<Record<keyof typeof recipeFigures, object>> = {
  causeWeight,
  restedLeadVolts,
  lowLeadVolts,
  soundSourceOhms,
  weakSourceOhms,
  overchargingVolts,
  chargingVolts,
  excessCurrentFactor,
  strayOdds,
  loadExponent,
};

/** Runs with the recipe's figures in place of the program's, and puts those back. */
export function withRecipePriors<Result>(run: () => Result): Result {
  const names = Object.keys(recipeFigures) as (keyof typeof recipeFigures)[];
  const held = names.map((name) => ({ ...programFigures[name] }));
  for (const name of names) Object.assign(programFigures[name], recipeFigures[name]);
  try {
    return run();
  } finally {
    names.forEach((name, index) => {
      Object.assign(programFigures[name], held[index]);
    });
  }
}
