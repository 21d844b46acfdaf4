/**
 * The physical model of a round: from the unknowns of a hypothesis to what every meter should have shown.
 * Goes in: job, readings, a hypothesis. Comes out: residuals for the fit, and solved circuits for what is asked later.
 */
import type { Job } from "../job/job.ts";
import { partsOf, routeBetween } from "../job/route.ts";
import type { ExpectedPart } from "../loop/expected-part.ts";
import type { Place, Reading } from "../reading/reading.ts";
import { type CircuitInput, type CircuitSolution, circuitSlope, type LoadLaw, solveCircuit } from "./circuit.ts";
import { type Condition, conditionIndex, conditionOf } from "./condition.ts";
import { type Hypothesis, strayParts } from "./hypothesis.ts";
import type { LeastSquaresProblem } from "./laplace.ts";
import * as prior from "./prior.ts";
import { sharedParts } from "./shared-part.ts";
import { type Unknowns, unknownsOf, unknownValue } from "./unknown.ts";

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
  /** how far a reading taken while a contact had shifted lies from the same recording's undisturbed level; else 0 */
  readonly shift: number;
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
export function shown(
  probe: Probe,
  solution: Pick<CircuitSolution, "partAmps" | "partDropVolts" | "loadVolts">,
): number {
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
  const chassis = parts.findIndex((part) => part.part === "chassis");
  const carriesOthers = (part: number) => isShared[part]! || (chassis >= 0 && part >= chassis);
  const sharedOhms = (probe: Probe) =>
    expected
      .slice(probe.first, probe.last)
      .reduce((sum, part, k) => (carriesOthers(probe.first + k) ? sum + part.ohms : sum), 0);
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
  const sag = batterySag(readings);
  const prepared = readings.map((reading): PreparedReading => {
    const probe = probeOf(job, reading.place);
    const alone = inSession.get(reading.session) === 1;
    return {
      reading,
      condition: conditions.indexOf(conditionOf(reading)),
      probe,
      gain: common(`gain ${reading.place.quantity} ${reading.meter}`, reading.gain),
      counts: alone ? -1 : common(`counts ${reading.session}`, reading.counts),
      shift: shiftOf(reading, readings),
      noise: Math.hypot(
        reading.noise,
        alone ? reading.counts : 0,
        modelNoise(reading),
        momentNoise(reading, probe.clamp ? Number(isShared[probe.first]) : sharedOhms(probe), sag),
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
    chassis,
    isWire: parts.map((part) => part.part === "wire"),
  };
}

/** How far the battery's volts were seen to fall from receiving to keyed, engine off; 0 where they were not read. */
function batterySag(readings: readonly Reading[]): number {
  const volts = (wanted: "idle" | "transmit") =>
    readings
      .filter(({ place, engine, radio }) => isAcrossBattery(place) && engine !== "running" && radio === wanted)
      .map(({ value }) => value);
  const [idle, keyed] = [volts("idle"), volts("transmit")];
  return idle.length > 0 && keyed.length > 0 ? Math.max(...idle) - Math.min(...keyed) : 0;
}

const isAcrossBattery = (place: Place): boolean =>
  place.quantity === "volts" && place.from === "battery+" && place.to === "battery-";

function shiftOf(reading: Reading, readings: readonly Reading[]): number {
  if (!reading.disturbed) return 0;
  const level = readings.find(
    ({ session, engine, radio, disturbed }) =>
      session === reading.session && engine === reading.engine && radio === reading.radio && !disturbed,
  );
  return level === undefined ? Math.abs(reading.value) : Math.abs(reading.value - level.value);
}

function modelNoise(reading: Reading): number {
  if (reading.place.quantity === "amps") return prior.modelShare * Math.abs(reading.value);
  const antenna = reading.rfInto === "antenna" && reading.radio === "transmit" ? prior.antennaVolts : 0;
  return Math.hypot(prior.modelVolts, reading.seesSource ? 0 : prior.modelShare * reading.value, antenna);
}

/**
 * A reading not taken at the same time as the others meets another battery, another keying, and other loads.
 * @param perOtherAmp what it shows for each amp of other loads in what it shares with them
 * @param sag volts that the battery has been seen to give way by; the further, the less two keyings are alike
 */
function momentNoise(reading: Reading, perOtherAmp: number, sag: number): number {
  if (reading.moment === null) return 0;
  const sagging = reading.engine === "running" ? 0 : prior.momentSagShare * Math.max(sag - prior.soundSagVolts, 0);
  const own = reading.seesSource
    ? Math.hypot(prior.momentVolts[reading.engine ?? "off"], sagging)
    : prior.momentAmpsShare * Math.abs(reading.value);
  return Math.hypot(own, prior.otherMomentAmps * perOtherAmp);
}

export interface LoopModel extends LeastSquaresProblem {
  readonly setting: RoundSetting;
  readonly hypothesis: Hypothesis;
  readonly unknownList: Unknowns["list"];
  /** where each fault's own unknown stands; −1 where it has none */
  readonly faultPlaces: readonly number[];
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
  // A cause that knows no shift leaves it unexplained: the reading then tells no more than the shift is large.
  const noise = setting.prepared.map((entry) =>
    entry.reading.disturbed && !knowsShift ? Math.hypot(entry.noise, entry.shift) : entry.noise,
  );

  function decode(unknowns: Float64Array): Float64Array {
    const values = new Float64Array(unknowns.length);
    for (let k = 0; k < unknowns.length; k++) values[k] = unknownValue(unknownList[k]!, unknowns[k]!);
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
        for (let i = 0; i < partCount; i++) if (setting.isWire[i]) ohms[i]! *= 1 + values[own]!;
      }
    });
    return ohms;
  }

  function loadLaw(values: Float64Array, condition: Condition, mended: readonly number[]): LoadLaw {
    const { amps, exponent, shiftShare } = places;
    const referenceVolts = setting.job.load.ratedVolts ?? 13;
    if (condition.drawnBy === "test-load") return { amps: values[amps.testLoad]!, referenceVolts: 12.5, exponent: 1 };
    if (condition.radio === "idle") return { amps: values[amps.idle]!, referenceVolts, exponent: 0 };
    if (condition.radio === "off") return { amps: values[amps.off]!, referenceVolts, exponent: 0 };
    const excess = hypothesis.faults.findIndex((fault) => fault.cause === "excess-load-current");
    const keyed = mended.includes(excess) ? (setting.job.load.transmitAmps ?? 0) : values[amps.transmit]!;
    const share = condition.disturbed && knowsShift ? values[shiftShare]! : 1;
    return { amps: keyed * share, referenceVolts, exponent: values[exponent]! };
  }

  function inputOf(values: Float64Array, condition: Condition, mended: readonly number[]): CircuitInput {
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
    const drift = places.drift[setting.conditions.indexOf(condition)] ?? -1;
    return {
      partOhms: ohms,
      loadShare,
      otherAmps,
      sourceVolts: mendedSourceVolts(values[engine]!, condition, mended) + (drift >= 0 ? values[drift]! : 0),
      sourceOhms: mendedSourceOhms(values, condition, mended),
      load: loadLaw(values, condition, mended),
    };
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
    const place = places.otherAmps[setting.conditions.indexOf(condition)] ?? -1;
    const change = place < 0 ? 0 : values[place]!;
    for (let i = 0; i < partCount; i++) if (setting.isShared[i]) other[i] = values[places.busAmps]! + change;
    if (setting.chassis < 0) return;
    const running = condition.engine === "running";
    const odds = running ? values[places.strapOdds]! : 0;
    for (let i = setting.chassis; i < partCount; i++) {
      const behind = i > setting.chassis;
      if (running && behind) share[i] = odds / (1 + odds);
      other[i] = running && behind ? values[places.strapAmps]! : values[places.chassisAmps]! + change;
    }
  }

  const measuredConditions = [...new Set(setting.prepared.map(({ condition }) => condition))];

  /** The circuits of conditions, each at its place among the conditions. */
  function inputsOf(values: Float64Array, indices: readonly number[] = measuredConditions): CircuitInput[] {
    const inputs: CircuitInput[] = [];
    for (const index of indices) inputs[index] = inputOf(values, setting.conditions[index]!, []);
    return inputs;
  }

  const gainOf = (values: Float64Array, { gain }: PreparedReading) => (gain < 0 ? 0 : values[ownCount + gain]!);

  function evaluate(unknowns: Float64Array, residuals: Float64Array): void {
    const values = decode(unknowns);
    const solutions = inputsOf(values).map(solveCircuit);
    for (let n = 0; n < setting.prepared.length; n++) {
      const entry = setting.prepared[n]!;
      const counts = entry.counts < 0 ? 0 : values[ownCount + entry.counts]!;
      const shows = shown(entry.probe, solutions[entry.condition]!) * (1 + gainOf(values, entry)) + counts;
      const miss = shows - entry.reading.value;
      residuals[n] = miss / heldNoise(entry.reading, miss, noise[n]!);
    }
  }

  /** Which conditions an unknown touches is the same wherever it stands; found once. */
  const touched: number[][] = [];

  /** Inputs are moved a little for each unknown, and the circuit's own laws carry that on to the readings. */
  function slopes(unknowns: Float64Array, residuals: Float64Array, jacobian: Float64Array): void {
    const values = decode(unknowns);
    const inputs = inputsOf(values);
    const solutions = inputs.map(solveCircuit);
    const size = unknownList.length;
    const scale = setting.prepared.map((entry, n) => {
      const miss = residuals[n]! * noise[n]!;
      return 1 / heldNoise(entry.reading, miss, noise[n]!);
    });
    const slope = { partDropVolts: new Float64Array(partCount), partAmps: new Float64Array(partCount), loadVolts: 0 };
    jacobian.fill(0);
    for (let k = 0; k < ownCount; k++) {
      const touches: number[] = [];
      const held = values[k]!;
      values[k] = unknownValue(unknownList[k]!, unknowns[k]! + inputStep);
      const moved = inputsOf(values, touched[k]);
      values[k] = held;
      for (const index of touched[k] ?? measuredConditions) {
        const change = changeBetween(inputs[index]!, moved[index]!);
        if (change === null) continue;
        touches.push(index);
        circuitSlope(inputs[index]!, solutions[index]!, change, slope);
        for (let n = 0; n < setting.prepared.length; n++) {
          const entry = setting.prepared[n]!;
          if (entry.condition !== index) continue;
          jacobian[n * size + k] = shown(entry.probe, slope) * (1 + gainOf(values, entry)) * scale[n]!;
        }
      }
      touched[k] ??= touches;
    }
    for (let n = 0; n < setting.prepared.length; n++) {
      const { probe, condition, gain, counts } = setting.prepared[n]!;
      const row = n * size + ownCount;
      if (gain >= 0)
        jacobian[row + gain] = shown(probe, solutions[condition]!) * setting.meterDeviations[gain]! * scale[n]!;
      if (counts >= 0) jacobian[row + counts] = setting.meterDeviations[counts]! * scale[n]!;
    }
  }

  return {
    setting,
    hypothesis,
    unknownList,
    faultPlaces: places.fault,
    unknowns: unknownList.length,
    residuals: setting.prepared.length,
    logConstant: -noise.reduce((sum, own, n) => sum + Math.log(own / setting.prepared[n]!.noise), 0),
    evaluate,
    slopes,
    decode,
    partOhms,
    solve: (values, condition) => solveCircuit(inputOf(values, condition, [])),
    solveMended: (values, condition, mended) => solveCircuit(inputOf(values, condition, mended)),
  };
}

/** How far an unknown is moved to see what it does to the inputs, in prior standard deviations; they are nearly linear in it. */
const inputStep = 1e-6;

/** Change of inputs for one prior standard deviation of an unknown; null where it does not touch this condition. */
function changeBetween(from: CircuitInput, to: CircuitInput): CircuitInput | null {
  let touched = from.sourceVolts !== to.sourceVolts || from.sourceOhms !== to.sourceOhms;
  touched ||= from.load.amps !== to.load.amps || from.load.exponent !== to.load.exponent;
  const difference = (a: Float64Array, b: Float64Array): Float64Array => {
    for (let i = 0; i < a.length; i++) {
      if (a[i] !== b[i]) touched = true;
      b[i] = (b[i]! - a[i]!) / inputStep;
    }
    return b;
  };
  const change: CircuitInput = {
    partOhms: difference(from.partOhms, to.partOhms),
    loadShare: difference(from.loadShare, to.loadShare),
    otherAmps: difference(from.otherAmps, to.otherAmps),
    sourceVolts: (to.sourceVolts - from.sourceVolts) / inputStep,
    sourceOhms: (to.sourceOhms - from.sourceOhms) / inputStep,
    load: {
      amps: (to.load.amps - from.load.amps) / inputStep / from.load.amps,
      referenceVolts: from.load.referenceVolts,
      exponent: (to.load.exponent - from.load.exponent) / inputStep,
    },
  };
  return touched ? change : null;
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
