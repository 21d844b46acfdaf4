/**
 * What a set that is wired constant takes from a parked vehicle's battery.
 */
import type { Job } from "../../job/job.ts";
import { isLoad } from "../../job/route.ts";
import type { Amps } from "../../units.ts";
import { type ProtectionCheck, show } from "./check.ts";

/** Half of its ampere-hours gone, a battery may no longer start the engine; common practice. */
const usableShare = 0.5;
/** A month parked; from memory, so a shorter time only warns. */
const longEnoughDays = 30;

export function standingDrainChecks(job: Job): ProtectionCheck[] {
  const { load, battery } = job;
  if (load.fedFrom === undefined && load.standbyAmps === undefined) return [];
  return [
    {
      part: loadId(job),
      check: "standing drain",
      ...verdict(load.fedFrom, measuredOffAmps(job) ?? load.standbyAmps, battery.ampereHours),
      source: "computed: half of the battery's ampere-hours; a month parked is the aim, from memory",
    },
  ];
}

const loadId = (job: Job): string => job.loop.find(isLoad)?.id ?? "load";

/** A current read with the set off is worth more than a declared one; the last such reading counts. */
function measuredOffAmps(job: Job): Amps | undefined {
  const off = job.readings.filter((reading) => reading.radio === "off" && reading.amps !== undefined);
  const last = off.at(-1)?.amps;
  return last === undefined ? undefined : Math.abs(last);
}

function verdict(
  fedFrom: "constant" | "switched" | undefined,
  amps: Amps | undefined,
  ampereHours: number | undefined,
): Pick<ProtectionCheck, "pass" | "detail"> {
  if (fedFrom === "switched") return { pass: true, detail: "fed through a switch: nothing is drawn while it is off" };
  if (amps === undefined || ampereHours === undefined) {
    return { pass: null, detail: `${missing(amps, ampereHours)} should be declared to tell` };
  }
  if (amps === 0) return { pass: true, detail: "nothing is drawn with the set off" };
  const days = (usableShare * ampereHours) / amps / 24;
  return {
    pass: days >= longEnoughDays ? true : null,
    detail: `${show(1000 * amps)} mA from ${show(ampereHours)} Ah: about ${show(days)} days until it may not start`,
  };
}

const missing = (amps: Amps | undefined, ampereHours: number | undefined): string =>
  [
    amps === undefined ? "the current with the set off" : "",
    ampereHours === undefined ? "the battery's ampere-hours" : "",
  ]
    .filter((words) => words !== "")
    .join(" and ");
