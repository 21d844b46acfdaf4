/**
 * The volts at the load's own terminals under full transmit current, against the range its rating implies.
 */
import type { Q } from "../../diagnosis.ts";
import type { Job } from "../../job/job.ts";
import { isLoad } from "../../job/route.ts";
import type { Volts } from "../../units.ts";
import { type ProtectionCheck, show, warnOnly } from "./check.ts";

/** Ship radio: within 10 % of rated under full transmit and receive load. Source: 47 CFR 80.875, 80.915, 80.1015. */
export const shipShare = 0.1;
/** Range over which equipment is tested. Source: 47 CFR 5.101, 15.229, 24.135. */
export const testedShare = 0.15;

/**
 * Volts allowed about a rated voltage.
 * @example allowedVolts(13.6, 0.1) // { low: 12.24, high: 14.96 }
 */
export function allowedVolts(ratedVolts: Volts, share: number): { low: Volts; high: Volts } {
  return { low: ratedVolts * (1 - share), high: ratedVolts * (1 + share) };
}

/**
 * A set is built for its tested range; a ship that is bound by 47 CFR part 80 must keep the narrower one, and only
 * there can this fail an install: the job's `rules` should name it.
 * @param transmitLoadVolts measured or forecast at the load's terminals, engine off; null gives no check
 */
export function supplyRangeChecks(job: Job, transmitLoadVolts: Q): ProtectionCheck[] {
  const rated = job.load.ratedVolts;
  if (rated === undefined || transmitLoadVolts === null) return [];
  const bound = job.setting === "boat" && /47 ?CFR/i.test(job.rules ?? "");
  const { low, high } = allowedVolts(rated, bound ? shipShare : testedShare);
  const pass = inRange(transmitLoadVolts, low, high);
  return [
    {
      part: job.loop.find(isLoad)?.id ?? "load",
      check: "volts at the load against its rating",
      pass: bound ? pass : warnOnly(pass),
      detail: `${transmitLoadVolts.value.toFixed(2)} V at transmit; ${show(low)} to ${show(high)} V for a set rated ${show(rated)} V`,
      source: bound
        ? "47 CFR 80.875, 80.915, 80.1015: within 10 % of rated"
        : "47 CFR 5.101, 15.229, 24.135: sets are tested over 85 to 115 % of rated; not a limit on the install",
    },
  ];
}

/** Kept or broken only when the whole 95 % interval says so. */
function inRange(volts: NonNullable<Q>, low: Volts, high: Volts): boolean | null {
  if (volts.low >= low && volts.high <= high) return true;
  return volts.high < low || volts.low > high ? false : null;
}
