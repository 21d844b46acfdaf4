/**
 * From the unknowns of a hypothesis to the circuit of a condition: what its faults, other loads and the charging system
 * make of parts, source and load; and the same with faults mended.
 */
import type { Amps, Ohms, Volts } from "../units.ts";
import type { CircuitInput } from "./circuit.ts";
import type { Condition } from "./condition.ts";
import type { Hypothesis } from "./hypothesis.ts";
import * as prior from "./prior.ts";
import type { RoundSetting } from "./round-setting.ts";
import type { Guess, UnknownPlaces } from "./unknown.ts";

/** A circuit whose arrays are filled again for each set of unknowns. */
export interface FilledInput extends CircuitInput {
  sourceVolts: Volts;
  sourceOhms: Ohms;
  readonly load: { amps: Amps; referenceVolts: Volts; exponent: number };
}

export const emptyInput = (parts: number): FilledInput => ({
  partOhms: new Float64Array(parts),
  loadShare: new Float64Array(parts),
  otherAmps: new Float64Array(parts),
  sourceVolts: 0,
  sourceOhms: 0,
  load: { amps: 0, referenceVolts: 1, exponent: 0 },
});

export interface LoopCircuit {
  /**
   * @param values the unknowns in their own units
   * @param mended faults of the hypothesis taken as repaired, by their place in it
   */
  fill(input: FilledInput, values: Float64Array, condition: Condition, mended: readonly number[]): void;
  fillOhms(ohms: Float64Array, values: Float64Array, disturbed: boolean, mended: readonly number[]): void;
  /** what a part's own ohms are multiplied by */
  partFactor(values: Float64Array, part: number): number;
}

const nothingMended: readonly number[] = [];

export function loopCircuit(
  setting: RoundSetting,
  hypothesis: Hypothesis,
  places: UnknownPlaces,
  { bond }: Guess,
): LoopCircuit {
  const { job, isWire, isShared, chassis } = setting;
  const { faults } = hypothesis;
  const partCount = setting.expected.length;
  const placeOf = new Map(setting.conditions.map((condition, index) => [condition, index]));
  const indexOf = (cause: string) => faults.findIndex((fault) => fault.cause === cause);
  const conductor = indexOf("conductor-not-as-declared");
  const stray = indexOf("stray-return");
  const excess = indexOf("excess-load-current");
  const weak = indexOf("weak-battery");
  const low = indexOf("low-charge");
  const dead = indexOf("no-charging");
  const charging = Math.max(indexOf("no-charging"), indexOf("overcharging"));
  const shift = indexOf("intermittent-connection");
  const knowsShift = shift >= 0;
  const is = (fault: number, mended: readonly number[]) => fault >= 0 && !mended.includes(fault);
  const has = (fault: number, mended: readonly number[]) => fault >= 0 && mended.includes(fault);

  function partFactor(values: Float64Array, part: number, mended = nothingMended): number {
    return isWire[part] && is(conductor, mended) ? 1 + values[places.fault[conductor]!]! : 1;
  }

  function fillOhms(ohms: Float64Array, values: Float64Array, disturbed: boolean, mended: readonly number[]): void {
    for (let i = 0; i < partCount; i++) ohms[i] = values[i]! * partFactor(values, i, mended);
    for (let index = 0; index < faults.length; index++) {
      if (mended.includes(index)) continue;
      const { cause, part } = faults[index]!;
      const shows = cause === "high-resistance-connection" || (cause === "intermittent-connection" && disturbed);
      if (shows) ohms[part]! += values[places.fault[index]!]!;
    }
  }

  /** What other loads and the charging system do to what they share with the loop: a bus, the chassis and what lies behind it. */
  function fillShares(input: FilledInput, values: Float64Array, condition: Condition, mended: readonly number[]): void {
    const { loadShare, otherAmps } = input;
    loadShare.fill(1);
    otherAmps.fill(0);
    const place = places.otherAmps[placeOf.get(condition) ?? -1] ?? -1;
    const running = condition.engine === "running";
    const change = (place < 0 ? 0 : values[place]!) + (running ? (values[places.runningAmps] ?? 0) : 0);
    if (places.busAmps >= 0) {
      const odds = values[places.busReturnOdds]!;
      for (let i = 0; i < partCount; i++) {
        const share = setting.expected[i]!.leg === "return" ? odds / (1 + odds) : 1;
        if (isShared[i]) otherAmps[i] = (values[places.busAmps]! + change) * share;
      }
    }
    if (chassis >= 0) {
      const odds = running ? values[places.strapOdds]! : 0;
      for (let i = chassis; i < partCount; i++) {
        const behind = running && i > chassis;
        if (behind && bond === "body") loadShare[i] = odds / (1 + odds);
        otherAmps[i] = values[behind ? places.strapAmps : places.chassisAmps]! + change;
      }
    }
    if (condition.disturbed && is(shift, mended)) starve(otherAmps, values[places.fault[shift]!]!, faults[shift]!.part);
    if (is(stray, mended)) {
      const odds = values[places.fault[stray]!]!;
      for (const part of setting.strayParts) loadShare[part]! /= 1 + odds;
    }
  }

  function fillLoad(input: FilledInput, values: Float64Array, condition: Condition, mended: readonly number[]): void {
    const { amps, exponent, idleExponent, shiftShare } = places;
    const { load } = input;
    load.referenceVolts = job.load.ratedVolts ?? prior.ratedVolts;
    load.exponent = 0;
    if (condition.drawnBy === "test-load") {
      load.amps = values[amps.testLoad]!;
      load.exponent = 1;
    } else if (condition.radio === "transmit") {
      const keyed = has(excess, mended) ? job.load.transmitAmps! : values[amps.transmit]!;
      load.amps = keyed * (condition.disturbed && knowsShift ? values[shiftShare]! : 1);
      load.exponent = values[exponent]!;
    } else if (condition.radio === "idle") {
      load.amps = values[amps.idle]!;
      load.exponent = values[idleExponent]!;
    } else load.amps = values[amps.off]!;
  }

  /** A mended battery or charging system is a sound one: the middle of what is expected of it. */
  function fillSource(input: FilledInput, values: Float64Array, condition: Condition, mended: readonly number[]): void {
    const running = condition.engine === "running";
    const drift = places.drift[placeOf.get(condition) ?? -1] ?? -1;
    const sound = running ? has(charging, mended) : has(low, mended);
    const soundVolts = running ? prior.chargingVolts.mean : prior.restedLeadVolts.mean;
    const restOhms = has(weak, mended) ? prior.soundSourceOhms.median : values[places.restOhms]!;
    input.sourceVolts =
      (sound ? soundVolts : foundVolts(values, condition, restOhms)) + (drift < 0 ? 0 : values[drift]!);
    input.sourceOhms = running ? runningOhms(values, restOhms, mended) : restOhms;
  }

  function runningOhms(values: Float64Array, restOhms: number, mended: readonly number[]): number {
    if (dead < 0) return values[places.runningOhms]!;
    return is(dead, mended) ? values[places.runningOhms]! * restOhms : prior.runningSourceOhms.median;
  }

  function foundVolts(values: Float64Array, { engine }: Condition, restOhms: number): number {
    const { volts } = places;
    if (engine === null) return values[volts.unknown]!;
    if (engine === "off") return values[volts.off]!;
    // With a dead charging system the battery feeds the engine's own needs, too.
    return dead < 0
      ? values[volts.running]!
      : values[volts.off]! + values[volts.running]! - prior.engineOwnAmps * restOhms;
  }

  return {
    fill(input, values, condition, mended) {
      fillOhms(input.partOhms, values, condition.disturbed, mended);
      if (condition.bypassed.length > 0)
        bypass(setting, input.partOhms, condition.bypassed, values[places.jumperOhms]!);
      fillShares(input, values, condition, mended);
      fillLoad(input, values, condition, mended);
      fillSource(input, values, condition, mended);
    },
    fillOhms,
    partFactor,
  };
}

/** Other loads behind a contact that opens lose their current with it: as resistors at the supply's nominal volts. */
function starve(otherAmps: Float64Array, contactOhms: Ohms, part: number): void {
  const amps = Math.abs(otherAmps[part]!);
  const kept = 1 / (1 + (contactOhms * amps) / prior.nominalVolts);
  for (let i = 0; i < otherAmps.length; i++) otherAmps[i]! *= kept;
}

/** A jumper lies in parallel with the parts it goes round, taken together. */
function bypass(setting: RoundSetting, ohms: Float64Array, ids: readonly string[], jumperOhms: number): void {
  const indices = ids.map((id) => setting.expected.findIndex((part) => part.id === id)).filter((index) => index >= 0);
  const together = indices.reduce((sum, index) => sum + ohms[index]!, 0);
  for (const index of indices) ohms[index]! *= jumperOhms / (jumperOhms + together);
}
