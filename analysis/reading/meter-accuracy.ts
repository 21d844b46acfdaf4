/**
 * What a meter's stated accuracy, percent of reading plus counts, leaves of doubt in a value.
 */
import type { Job } from "../job/job.ts";
import type { MeterAccuracy } from "../job/meter.ts";
import type { Quantity } from "../units.ts";

export interface MeterDoubt {
  /** relative standard uncertainty of the gain, common to all readings of the meter */
  readonly gain: number;
  /** standard uncertainty of the counts part, constant within a recording */
  readonly counts: number;
  /** one count, in SI */
  readonly resolution: number;
}

/** A meter whose accuracy nobody declared: a common hand-held, ±(0.5 % + 3 counts); a clamp ±(2 % + 5); from memory. */
const undeclared: Readonly<Record<Quantity, MeterAccuracy>> = {
  volts: { percentOfReading: 0.5, counts: 3, resolution: 0.01 },
  amps: { percentOfReading: 2, counts: 5, resolution: 0.1 },
};

/** A stated limit is taken as equally likely anywhere within (JCGM 100:2008, 4.3.7). */
const rectangular = Math.sqrt(3);

/**
 * @param writtenResolution smallest step of the value as written, used where the meter's own is not declared; 0 unknown
 * @example meterDoubt({ percentOfReading: 0.5, counts: 3, resolution: 0.01 }) // gain 0.00289, counts 0.0173 V
 */
export function meterDoubt(
  job: Job,
  meter: string | undefined,
  quantity: Quantity,
  writtenResolution: number,
): MeterDoubt {
  const declared = job.meters.find(({ id }) => id === meter)?.[quantity];
  const accuracy = declared ?? {
    ...undeclared[quantity],
    resolution:
      writtenResolution > 0
        ? Math.min(writtenResolution, undeclared[quantity].resolution)
        : undeclared[quantity].resolution,
  };
  return {
    gain: accuracy.percentOfReading / 100 / rectangular,
    counts: (accuracy.counts * accuracy.resolution) / rectangular,
    resolution: accuracy.resolution,
  };
}

/**
 * Standard uncertainty left by a display that moves in whole steps.
 * The true value is taken as equally likely anywhere within half a step of the digits shown.
 * @example quantisation(0.01) // 0.00289
 * Source: JCGM 100:2008, 4.3.7 and F.2.2.1 (clause numbers from memory)
 */
export const quantisation = (resolution: number): number => resolution / Math.sqrt(12);
