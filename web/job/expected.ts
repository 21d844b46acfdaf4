/** What the open job's circuit should lose: worked out anew at every keystroke, on the page itself (it takes about a millisecond). */
import { computed } from "@preact/signals";
import {
  checkJob,
  checkProtection,
  dropLimitVolts,
  expectedDropVolts,
  expectedParts,
  isUndersized,
  type Job,
  Problem,
  type ProtectionCheck,
  type Q,
  smallestConductor,
} from "../../analysis/index.ts";
import { job } from "./open-job.ts";

/** Taken for the picture alone where the set's transmit current is not written down; common practice for a 50 W set. */
export const supposedAmps = 10;

export interface Expected {
  readonly amps: number;
  readonly ampsKnown: boolean;
  readonly dropOf: (id: string) => Q;
  readonly totalVolts: NonNullable<Q>;
  readonly limitVolts: number;
  readonly undersized: boolean;
  readonly smallest: ReturnType<typeof smallestConductor>;
  readonly protection: readonly ProtectionCheck[];
}

export type ExpectedOrTrouble =
  | { readonly expected: Expected; readonly trouble: null }
  | { readonly expected: null; readonly trouble: string };

export const expected = computed<ExpectedOrTrouble | null>(() => (job.value ? expectedOf(job.value) : null));

export function expectedOf(job: Job): ExpectedOrTrouble {
  try {
    checkJob(job);
  } catch (error) {
    if (error instanceof Problem) return { expected: null, trouble: error.message };
    throw error;
  }
  const amps = job.load.transmitAmps ?? supposedAmps;
  const parts = new Map(expectedParts(job).map((part) => [part.id, part]));
  return {
    trouble: null,
    expected: {
      amps,
      ampsKnown: job.load.transmitAmps !== undefined,
      dropOf: (id) => (parts.has(id) ? expectedDropVolts([parts.get(id)!], amps) : null),
      totalVolts: expectedDropVolts([...parts.values()], amps),
      limitVolts: dropLimitVolts(job),
      undersized: isUndersized(job)?.undersized ?? false,
      smallest: smallestConductor(job),
      protection: checkProtection(job, null),
    },
  };
}
