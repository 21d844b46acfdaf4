/**
 * The physical model of a round: from the unknowns of a hypothesis to what every meter should have shown.
 * Goes in: job, readings, a hypothesis. Comes out: residuals for the fit, and solved circuits for what is asked later.
 */
import type { Job } from "../job/job.ts";
import { partsOf, routeBetween } from "../job/route.ts";
import type { ExpectedPart } from "../loop/expected-part.ts";
import type { Place, Reading } from "../reading/reading.ts";
import { type CircuitSolution, type LoadLaw, solveCircuit } from "./circuit.ts";
import { type Condition, conditionIndex, conditionOf } from "./condition.ts";
import { type Hypothesis, strayParts } from "./hypothesis.ts";
import type { LeastSquaresProblem } from "./laplace.ts";
import * as prior from "./prior.ts";
import { sharedParts } from "./shared-part.ts";
import { type Unknowns, unknownsOf } from "./unknown.ts";

/** A reading with what the fit needs of it looked up once. */
interface PreparedReading {
  readonly reading: Reading;
  readonly condition: number;
  readonly probe: Probe;
  /** index into the meter unknowns; −1 where it stands alone and its counts are noise */
  readonly gain: number;
  readonly counts: number;
  /** everything that is independent of the other readings, in SI */
  readonly noise: number;
}

/** Where a meter sits, as places among the parts of the loop. */
export interface Probe {
  readonly sign: 1 | -1;
  /** parts first up to, not with, last; a clamp has the one part `first` */
  readonly first: number;
  readonly last: number;
  readonly throughLoad: boolean;
  readonly clamp: boolean;
}

/** What is common to all hypotheses of one round. */
export interface RoundSetting {
  readonly job: Job;
  readonly expected: readonly ExpectedPart[];
  readonly prepared: readonly PreparedReading[];
  readonly conditions: readonly Condition[];
  /** standard deviations of the gains (relative) and shared counts (SI), in the order of their unknowns */
  readonly meterDeviations: readonly number[];
  readonly strayParts: readonly number[];
  /** whether other loads' current passes the part on its way to a bus */
  readonly isShared: readonly boolean[];
  readonly chassis: number;
  readonly isWire: readonly boolean[];
}

export function probeOf(job: Job, place: Place): Probe {
  const parts = partsOf(job);
  if (place.quantity === "amps") {
    const first = parts.findIndex((part) => part.id === place.through);
    return { sign: 1, first, last: first + 1, throughLoad: false, clamp: true };
  }
  const route = routeBetween(job, place.from, place.to);
  const first = route.parts.length > 0 ? parts.indexOf(route.parts[0]!) : 0;
  return {
    sign: route.sign,
    first,
    last: first + route.parts.length,
    throughLoad: route.throughLoad,
    clamp: false,
  };
}

/** What a meter there would show of a solved circuit, its own errors aside. */
export function shown(probe: Probe, solution: CircuitSolution): number {
  if (probe.clamp) return solution.partAmps[probe.first]!;
  let volts = probe.throughLoad ? solution.loadVolts : 0;
  for (let i = probe.first; i < probe.last; i++) volts += solution.partDropVolts[i]!;
  return probe.sign * volts;
}

/**
 * @param asked conditions that will be asked about, though no reading was taken in them
 */
export function prepareRound(
  job: Job,
  expected: readonly ExpectedPart[],
  readings: readonly Reading[],
  asked: readonly Condition[],
): RoundSetting {
  const parts = partsOf(job);
  const shared = sharedParts(job);
  const isShared = parts.map((_, index) => shared.includes(index));
  const conditions = conditionIndex();
  const meterDeviations: number[] = [];
  const meterPlace = new Map<string, number>();
  const common = (key: string, deviation: number) => {
    if (deviation === 0) return -1;
    const place = meterPlace.get(key) ?? meterDeviations.push(deviation) - 1;
    meterPlace.set(key, place);
    return place;
  };
  const inSession = new Map<string, number>();
  for (const { session } of readings) inSession.set(session, (inSession.get(session) ?? 0) + 1);
  const prepared = readings.map((reading): PreparedReading => {
    const probe = probeOf(job, reading.place);
    const alone = inSession.get(reading.session) === 1;
    return {
      reading,
      condition: conditions.indexOf(conditionOf(reading)),
      probe,
      gain: common(`gain ${reading.place.quantity} ${reading.meter}`, reading.gain),
      counts: alone ? -1 : common(`counts ${reading.session}`, reading.counts),
      noise: Math.hypot(
        reading.noise,
        alone ? reading.counts : 0,
        modelNoise(reading),
        momentNoise(reading, probe.clamp && isShared[probe.first]!),
      ),
    };
  });
  for (const condition of asked) conditions.indexOf(condition);
  return {
    job,
    expected,
    prepared,
    conditions: conditions.list,
    meterDeviations,
    strayParts: strayParts(job),
    isShared,
    chassis: parts.findIndex((part) => part.part === "chassis"),
    isWire: parts.map((part) => part.part === "wire"),
  };
}

function modelNoise(reading: Reading): number {
  if (reading.place.quantity === "amps") return prior.modelShare * Math.abs(reading.value);
  const antenna = reading.rfInto === "antenna" && reading.radio === "transmit" ? prior.antennaVolts : 0;
  return Math.hypot(prior.modelVolts, reading.seesSource ? 0 : prior.modelShare * reading.value, antenna);
}

/** A reading not taken at the same time as the others meets another battery and another keying. */
function momentNoise(reading: Reading, onSharedPart: boolean): number {
  if (reading.moment === null) return 0;
  if (onSharedPart) return prior.busMomentAmps;
  if (!reading.seesSource) return prior.momentAmpsShare * Math.abs(reading.value);
  return prior.momentVolts[reading.engine ?? "off"];
}

export interface LoopModel extends LeastSquaresProblem {
  readonly setting: RoundSetting;
  readonly hypothesis: Hypothesis;
  readonly unknownList: Unknowns["list"];
  /** ln of the likelihood's factors that depend on the hypothesis beside the residuals */
  readonly logConstant: number;
  /** the unknowns in their own units, from prior standard deviations */
  decode(unknowns: Float64Array): Float64Array;
  solve(values: Float64Array, condition: Condition): CircuitSolution;
  partOhms(values: Float64Array, disturbed: boolean): Float64Array;
  /** the same hypothesis with its faults mended: what a repair would leave */
  solveMended(values: Float64Array, condition: Condition, mended: readonly number[]): CircuitSolution;
}

export function loopModel(setting: RoundSetting, hypothesis: Hypothesis): LoopModel {
  const { list, places } = unknownsOf(setting.job, setting.expected, setting.conditions, hypothesis);
  const ownCount = list.length;
  const meters = setting.meterDeviations.map((deviation) => ({ logarithmic: false, mean: 0, deviation }));
  const unknownList = [...list, ...meters];
  const partCount = setting.expected.length;
  const knowsShift = hypothesis.faults.some((fault) => fault.cause === "intermittent-connection");
  const noise = setting.prepared.map((entry) =>
    entry.reading.disturbed && !knowsShift ? Math.hypot(entry.noise, unexplainedShift(entry.reading)) : entry.noise,
  );

  function decode(unknowns: Float64Array): Float64Array {
    const values = new Float64Array(unknowns.length);
    for (let k = 0; k < unknowns.length; k++) {
      const { logarithmic, mean, deviation } = unknownList[k]!;
      const value = mean + deviation * unknowns[k]!;
      values[k] = logarithmic ? Math.exp(Math.min(value, 30)) : value;
    }
    return values;
  }

  function partOhms(values: Float64Array, disturbed: boolean, mended: readonly number[] = []): Float64Array {
    const ohms = values.slice(0, partCount);
    hypothesis.faults.forEach((fault, index) => {
      if (mended.includes(index)) return;
      const own = places.fault[index]!;
      if (fault.cause === "high-resistance-connection") ohms[fault.part]! += values[own]!;
      if (fault.cause === "intermittent-connection" && disturbed) ohms[fault.part]! += values[own]!;
      if (fault.cause === "conductor-not-as-declared") {
        for (let i = 0; i < partCount; i++) if (setting.isWire[i]) ohms[i]! *= values[own]!;
      }
    });
    return ohms;
  }

  function loadLaw(values: Float64Array, condition: Condition, mended: readonly number[]): LoadLaw {
    const { amps, exponent, shiftAmps } = places;
    const referenceVolts = setting.job.load.ratedVolts ?? 13;
    if (condition.disturbed && knowsShift) return { amps: values[shiftAmps]!, referenceVolts, exponent: 0 };
    if (condition.drawnBy === "test-load") return { amps: values[amps.testLoad]!, referenceVolts: 12.5, exponent: 1 };
    if (condition.radio === "idle") return { amps: values[amps.idle]!, referenceVolts, exponent: 0 };
    if (condition.radio === "off") return { amps: values[amps.off]!, referenceVolts, exponent: 0 };
    const excess = hypothesis.faults.findIndex((fault) => fault.cause === "excess-load-current");
    const keyed = mended.includes(excess) ? (setting.job.load.transmitAmps ?? 0) : values[amps.transmit]!;
    return { amps: keyed, referenceVolts, exponent: values[exponent]! };
  }

  function solveMended(values: Float64Array, condition: Condition, mended: readonly number[]): CircuitSolution {
    const ohms = partOhms(values, condition.disturbed, mended);
    if (condition.bypassed.length > 0) bypass(setting, ohms, condition.bypassed, values[places.jumperOhms]!);
    const loadShare = new Float64Array(partCount).fill(1);
    const otherAmps = new Float64Array(partCount);
    shareReturn(values, condition, loadShare, otherAmps);
    const stray = hypothesis.faults.findIndex((fault) => fault.cause === "stray-return");
    if (stray >= 0 && !mended.includes(stray)) {
      const odds = values[places.fault[stray]!]!;
      for (const part of setting.strayParts) loadShare[part]! /= 1 + odds;
    }
    const { running, off, unknown } = places.volts;
    const engine = condition.engine === null ? unknown : condition.engine === "running" ? running : off;
    return solveCircuit({
      partOhms: ohms,
      loadShare,
      otherAmps,
      sourceVolts: mendedSourceVolts(values[engine]!, condition, mended),
      sourceOhms: mendedSourceOhms(values, condition, mended),
      load: loadLaw(values, condition, mended),
    });
  }

  /** A mended battery or charging system is a sound one: the middle of what is expected of it. */
  function mendedSourceVolts(volts: number, condition: Condition, mended: readonly number[]): number {
    const isMended = (cause: string) => mended.some((index) => hypothesis.faults[index]?.cause === cause);
    if (condition.engine !== "running" && isMended("low-charge")) return prior.restedLeadVolts.mean;
    const charging = isMended("no-charging") || isMended("overcharging");
    return condition.engine === "running" && charging ? prior.chargingVolts.mean : volts;
  }

  function mendedSourceOhms(values: Float64Array, condition: Condition, mended: readonly number[]): number {
    if (condition.engine === "running") return values[places.runningOhms]!;
    const weak = mended.some((index) => hypothesis.faults[index]?.cause === "weak-battery");
    return weak ? prior.soundSourceOhms.median : values[places.restOhms]!;
  }

  /** What other loads and the charging system do to what they share with the loop: a bus, the chassis and what lies behind it. */
  function shareReturn(values: Float64Array, condition: Condition, share: Float64Array, other: Float64Array): void {
    for (let i = 0; i < partCount; i++) if (setting.isShared[i]) other[i] = values[places.busAmps]!;
    if (setting.chassis < 0) return;
    const running = condition.engine === "running";
    const odds = running ? values[places.strapOdds]! : 0;
    for (let i = setting.chassis; i < partCount; i++) {
      const behind = i > setting.chassis;
      if (running && behind) share[i] = odds / (1 + odds);
      other[i] = running && behind ? values[places.strapAmps]! : values[places.chassisAmps]!;
    }
  }

  function evaluate(unknowns: Float64Array, residuals: Float64Array): void {
    const values = decode(unknowns);
    const solutions = setting.conditions.map(() => null as CircuitSolution | null);
    setting.prepared.forEach((entry, n) => {
      solutions[entry.condition] ??= solveMended(values, setting.conditions[entry.condition]!, []);
      const solution = solutions[entry.condition]!;
      const gain = entry.gain < 0 ? 0 : values[ownCount + entry.gain]!;
      const counts = entry.counts < 0 ? 0 : values[ownCount + entry.counts]!;
      const miss = shown(entry.probe, solution) * (1 + gain) + counts - entry.reading.value;
      residuals[n] = miss / heldNoise(entry.reading, miss, noise[n]!);
    });
  }

  return {
    setting,
    hypothesis,
    unknownList,
    unknowns: unknownList.length,
    residuals: setting.prepared.length,
    logConstant: -noise.reduce((sum, own, n) => sum + Math.log(own / setting.prepared[n]!.noise), 0),
    evaluate,
    decode,
    partOhms,
    solve: (values, condition) => solveMended(values, condition, []),
    solveMended,
  };
}

function unexplainedShift(reading: Reading): number {
  return reading.place.quantity === "volts" ? prior.unexplainedShiftVolts : 1 + 0.3 * Math.abs(reading.value);
}

/** A held extreme bounds the level: on its far side it is as sharp as any reading, on the near side it says little. */
function heldNoise(reading: Reading, miss: number, noise: number): number {
  if (reading.held === null) return noise;
  const beyond = reading.held === "lowest" ? miss < 0 : miss > 0;
  return beyond ? noise : Math.hypot(noise, prior.heldVolts);
}

/** A jumper lies in parallel with the parts it goes round, taken together. */
function bypass(setting: RoundSetting, ohms: Float64Array, ids: readonly string[], jumperOhms: number): void {
  const indices = ids.map((id) => setting.expected.findIndex((part) => part.id === id)).filter((index) => index >= 0);
  const together = indices.reduce((sum, index) => sum + ohms[index]!, 0);
  for (const index of indices) ohms[index]! *= jumperOhms / (jumperOhms + together);
}
