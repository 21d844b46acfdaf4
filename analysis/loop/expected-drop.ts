/**
 * What the declared run should drop if every part of it is sound, and whether that is within the limit.
 */
import type { Job } from "../job/job.ts";
import type { UncertainQuantity } from "../uncertain.ts";
import type { Amps, Volts } from "../units.ts";
import { type ExpectedPart, expectedParts } from "./expected-part.ts";

/** A whole high-current path, where the job declares no limit; common practice. */
export const commonLimitVolts: Volts = 0.5;
/** `totalDropPercent` is of this (`formats.md` section 2). */
const nominalVolts: Volts = 12;
/** 97.5 % point of the standard normal distribution. */
const coverageFactor95 = 1.959964;

/** Median and spread of a sum of independent log-normal ohms. */
interface LogNormal {
  readonly median: number;
  /** standard deviation of the logarithm */
  readonly spread: number;
}

/**
 * The sum of log-normal parts taken as log-normal with the same mean and variance (Fenton's approximation, 1960,
 * from memory): holds within some per cent for spreads up to about 1.
 */
export function sumOfParts(parts: readonly Pick<ExpectedPart, "ohms" | "spread">[]): LogNormal {
  let mean = 0;
  let variance = 0;
  for (const { ohms, spread } of parts) {
    const partMean = ohms * Math.exp(spread ** 2 / 2);
    mean += partMean;
    variance += partMean ** 2 * Math.expm1(spread ** 2);
  }
  if (mean === 0) return { median: 0, spread: 0 };
  const spread = Math.sqrt(Math.log1p(variance / mean ** 2));
  return { median: mean * Math.exp(-(spread ** 2) / 2), spread };
}

/**
 * Total drop of the parts at a current: median, 95 % interval (lopsided, as contacts scatter by factors) and
 * standard deviation.
 * @example expectedDropVolts([{ …, ohms: 0.01, spread: 0.1 }], 10).value // 0.1
 */
export function expectedDropVolts(parts: readonly ExpectedPart[], amps: Amps): UncertainQuantity {
  const { median, spread } = sumOfParts(parts);
  const value = amps * median;
  const factor = Math.exp(coverageFactor95 * spread);
  const mean = value * Math.exp(spread ** 2 / 2);
  return {
    value,
    low: value / factor,
    high: value * factor,
    uncertainty: mean * Math.sqrt(Math.expm1(spread ** 2)),
  };
}

/**
 * The drop allowed over the whole loop at transmit: as declared in volts, as declared in per cent of 12 V, else 0.5 V.
 * Where both are declared the smaller rules.
 */
export function dropLimitVolts(job: Pick<Job, "limits">): Volts {
  const { totalDropVolts, totalDropPercent } = job.limits;
  const declared = [
    totalDropVolts,
    totalDropPercent === undefined ? undefined : (nominalVolts * totalDropPercent) / 100,
  ].filter((limit) => limit !== undefined);
  return declared.length > 0 ? Math.min(...declared) : commonLimitVolts;
}

export interface RunSize {
  /** expected drop at the declared transmit current, every part sound */
  readonly dropVolts: UncertainQuantity;
  readonly limitVolts: Volts;
  /** the expected drop is above the limit */
  readonly undersized: boolean;
  /** probability, by the parts' spreads, that the run drops more than the limit though every part is sound */
  readonly probability: number;
}

/**
 * Whether the run as declared would drop more than its limit with every part sound (`undersized-run`).
 * @returns null where the load's transmit current is not declared
 */
export function isUndersized(job: Job): RunSize | null {
  const amps = job.load.transmitAmps;
  if (amps === undefined) return null;
  const parts = expectedParts(job);
  const dropVolts = expectedDropVolts(parts, amps);
  const limitVolts = dropLimitVolts(job);
  const { median, spread } = sumOfParts(parts);
  return {
    dropVolts,
    limitVolts,
    undersized: dropVolts.value > limitVolts,
    probability: median > 0 && spread > 0 ? normalCdf(Math.log((amps * median) / limitVolts) / spread) : 0,
  };
}

/**
 * Standard normal distribution function, absolute error below 1e-7.
 * Source: Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 26.2.17 (from memory).
 */
function normalCdf(z: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(z));
  const series = t * (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  const tail = (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) * series;
  return z > 0 ? 1 - tail : tail;
}
