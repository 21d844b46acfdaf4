/**
 * A hypothesis: no fault, one fault at one place, or two. Goes in: the job and what its readings could show.
 * Comes out: every hypothesis with its prior probability.
 */

import { cumulativeStdNormalProbability } from "simple-statistics";
import type { Cause } from "../diagnosis.ts";
import type { Job, Part } from "../job/job.ts";
import { legOf, partsOf, routeBetween } from "../job/route.ts";
import { isUndersized } from "../loop/expected-drop.ts";
import { expectedParts } from "../loop/expected-part.ts";
import type { Reading } from "../reading/reading.ts";
import {
  causeWeight,
  conductorExcess,
  jointWeight,
  limitSpread,
  noticedVolts,
  pairAffinity,
  strayNoticedOdds,
  strayPathOhms,
  twoFaultShare,
  variableNoChargingShare,
} from "./prior.ts";
import { expectedTransmitAmps } from "./transmit-amps.ts";
import { variesCharging } from "./unknown.ts";

export interface Fault {
  readonly cause: Cause;
  /** index among the parts of the loop, where the cause has one place; −1 where it has none */
  readonly part: number;
}

export interface Hypothesis {
  /** none: every part, battery and charging as good as a sound one */
  readonly faults: readonly Fault[];
  /** not normalised */
  readonly prior: number;
}

/** Connections, fuses and switches are where a contact can be bad. */
export const isJoint = (part: Part): boolean => part.part !== "wire" && part.part !== "chassis";

/** Single faults that could be, each with its weight; the weight of none beside them. */
export interface FaultPrior {
  readonly faults: readonly (Fault & { readonly weight: number })[];
  readonly soundWeight: number;
}

export function faultPrior(job: Job, readings: readonly Reading[]): FaultPrior {
  const parts = partsOf(job);
  const joints = parts.flatMap((part, index) => (isJoint(part) ? [{ index, weight: weightOf(part) }] : []));
  const jointTotal = joints.reduce((sum, joint) => sum + joint.weight, 0);
  const atJoints = (cause: Cause) =>
    joints.map(({ index, weight }) => ({ cause, part: index, weight: (causeWeight[cause] * weight) / jointTotal }));
  const placeless = placelessCauses(job, readings).map((cause) => ({
    cause,
    part: -1,
    weight: causeWeight[cause] * shareOf(job, cause),
  }));
  const overLimit = overLimitProbability(job);
  return {
    faults: [
      ...atJoints("high-resistance-connection"),
      ...(couldShowShift(readings) ? atJoints("intermittent-connection") : []),
      ...placeless,
    ],
    soundWeight: causeWeight["supply-sound"] * (1 - overLimit) + causeWeight["undersized-run"] * overLimit,
  };
}

/**
 * Whether the run as declared is over its limit with every part sound: a matter of the declaration,
 * in doubt only where the expected drop lies within some per cent of the limit.
 */
export function overLimitProbability(job: Job): number {
  const size = isUndersized(job);
  if (size === null) return 0;
  return cumulativeStdNormalProbability(Math.log(size.dropVolts.value / size.limitVolts) / limitSpread);
}

/** One fault, or two that can be together, with the prior of both. */
export function pairOf(a: Fault & { weight: number }, b: Fault & { weight: number }, total: number): Hypothesis | null {
  if (a.cause === b.cause && a.part === b.part) return null;
  if (a.part >= 0 && a.part === b.part) return null;
  const causes = new Set([a.cause, b.cause]);
  if (causes.has("no-charging") && causes.has("overcharging")) return null;
  const affinity = pairAffinity.find(([one, other]) => causes.has(one) && causes.has(other))?.[2] ?? 1;
  return { faults: [a, b], prior: (affinity * twoFaultShare * a.weight * b.weight) / total };
}

function weightOf(part: Part): number {
  return jointWeight[part.part === "connection" ? part.style : part.part === "fuse" ? "fuse" : "switch"];
}

/** Share of a cause's cases that could be met in this job. */
function shareOf(job: Job, cause: Cause): number {
  if (cause === "conductor-not-as-declared") return noticedShare(job);
  if (cause === "stray-return") return strayShare(job);
  return cause === "no-charging" && variesCharging(job) ? variableNoChargingShare : 1;
}

/**
 * Share of the runs with poor wire that anybody would notice: where the wires' declared drop is small, even twice of it
 * brings no set to the workshop.
 */
function noticedShare(job: Job): number {
  const wires = expectedParts(job).filter(({ kind }) => kind === "wire");
  const declaredVolts = wires.reduce((sum, { ohms }) => sum + ohms, 0) * expectedTransmitAmps(job);
  const extraVolts = conductorExcess.median * declaredVolts;
  return extraVolts > 0
    ? cumulativeStdNormalProbability(Math.log(extraVolts / noticedVolts) / conductorExcess.spread)
    : 0;
}

/**
 * Share of the vehicles in which another way back could take a part of the current that counts: beside a return leg of
 * few milliohms an antenna lead or a painted bracket takes next to nothing.
 */
function strayShare(job: Job): number {
  const expected = expectedParts(job);
  const returnOhms = strayParts(job).reduce((sum, part) => sum + expected[part]!.ohms, 0);
  const { median, spread } = strayPathOhms;
  return cumulativeStdNormalProbability(Math.log(returnOhms / strayNoticedOdds / median) / spread);
}

/** A shift is seen in a log of a keyed stretch, not in a single value. */
function couldShowShift(readings: readonly Reading[]): boolean {
  return readings.some((reading) => reading.logged && reading.radio === "transmit");
}

/** Causes without a place that the source as declared allows and some reading can bear on. */
function placelessCauses(job: Job, readings: readonly Reading[]): Cause[] {
  const volts = readings.filter((reading) => reading.place.quantity === "volts" && reading.seesSource);
  const isBattery = job.source.kind !== "converter";
  const off = isBattery && volts.some((reading) => reading.engine !== "running");
  const running = isBattery && volts.some((reading) => reading.engine === "running");
  const keyed = readings.some((reading) => reading.radio === "transmit");
  const offKeyed = off && volts.some((reading) => reading.engine !== "running" && reading.radio === "transmit");
  const possible: [Cause, boolean][] = [
    ["conductor-not-as-declared", keyed && partsOf(job).some((part) => part.part === "wire")],
    ["weak-battery", offKeyed],
    ["low-charge", off],
    ["no-charging", running && job.source.kind !== "isolated-battery"],
    ["overcharging", running],
    ["excess-load-current", keyed && job.load.transmitAmps !== undefined],
    ["stray-return", strayParts(job).length > 0 && readings.some((reading) => tellsOfReturn(job, reading))],
  ];
  return possible.filter(([, can]) => can).map(([cause]) => cause);
}

/** A clamp on the return leg or a drop along it, keyed: without one nothing tells what comes back. */
function tellsOfReturn(job: Job, { radio, place, seesSource }: Reading): boolean {
  if (radio !== "transmit" || seesSource) return false;
  const passed =
    place.quantity === "amps" ? [place.through] : routeBetween(job, place.from, place.to).parts.map(({ id }) => id);
  return passed.some((id) => legOf(job, id) === "return");
}

/** Indices of the return leg's parts up to and with the chassis, or of the whole leg where there is none. */
export function strayParts(job: Job): number[] {
  const parts = partsOf(job);
  const leg = parts.flatMap((part, index) => (legOf(job, part.id) === "return" ? [index] : []));
  const chassis = leg.findIndex((index) => parts[index]!.part === "chassis");
  return chassis < 0 ? leg : leg.slice(0, chassis + 1);
}
