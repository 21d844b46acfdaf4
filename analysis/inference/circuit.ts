/**
 * The circuit of a loop, solved by Ohm's and Kirchhoff's laws: a source with its own resistance, parts in series,
 * a load whose current may follow its voltage, a stray path beside the return, and the current of other loads
 * and of the charging system in what they share with it.
 */
import type { Amps, Ohms, Volts } from "../units.ts";

export interface CircuitInput {
  /** ohms of each part, in the order of the loop */
  readonly partOhms: Float64Array;
  /** share of the load's current that each part carries: 1 in plain series, less beside a stray path */
  readonly loadShare: Float64Array;
  /** amps of other origin through each part, positive from battery + round to battery − */
  readonly otherAmps: Float64Array;
  readonly sourceVolts: Volts;
  readonly sourceOhms: Ohms;
  readonly load: LoadLaw;
}

/**
 * I = amps · (V / referenceVolts) ^ exponent: 0 constant current, 1 a resistor, −1 constant power.
 * Below half of the reference a set no longer works and is taken as a resistor, down to nothing at an open contact.
 */
export interface LoadLaw {
  readonly amps: Amps;
  readonly referenceVolts: Volts;
  readonly exponent: number;
}

export interface CircuitSolution {
  readonly amps: Amps;
  readonly batteryVolts: Volts;
  readonly loadVolts: Volts;
  /** drop of each part, in the order of the loop */
  readonly partDropVolts: Float64Array;
  readonly partAmps: Float64Array;
  readonly sourceVolts: Volts;
  readonly sourceOhms: Ohms;
}

/** Share of the reference volts below which a load is a resistor. */
const workingShare = 0.5;

/**
 * @returns the state in which every law holds at once; where the load asks for more power than the loop can pass,
 * the state in which it has given up
 * @example W30 of the worked examples: 12 V behind 0.01 Ω, 0.09 Ω of corroded connections, a starter of 0.05 Ω
 * (exponent 1, 240 A at 12 V) → 80 A, 4.0 V at the load
 */
export function solveCircuit(input: CircuitInput): CircuitSolution {
  const { partOhms, loadShare, otherAmps, sourceVolts, sourceOhms } = input;
  let otherVolts = 0;
  for (let i = 0; i < partOhms.length; i++) otherVolts += partOhms[i]! * otherAmps[i]!;
  const seriesOhms = seriesOhmsOf(input);
  const amps = loadAmps(input.load, sourceVolts - otherVolts, seriesOhms);
  const partAmps = new Float64Array(partOhms.length);
  const partDropVolts = new Float64Array(partOhms.length);
  for (let i = 0; i < partOhms.length; i++) {
    partAmps[i] = amps * loadShare[i]! + otherAmps[i]!;
    partDropVolts[i] = partAmps[i]! * partOhms[i]!;
  }
  return {
    amps,
    batteryVolts: sourceVolts - amps * sourceOhms,
    loadVolts: sourceVolts - otherVolts - amps * seriesOhms,
    partDropVolts,
    partAmps,
    sourceVolts,
    sourceOhms,
  };
}

/** What the load's own current meets on its way round. */
function seriesOhmsOf({ partOhms, loadShare, sourceOhms }: CircuitInput): Ohms {
  let ohms = sourceOhms;
  for (let i = 0; i < partOhms.length; i++) ohms += partOhms[i]! * loadShare[i]!;
  return ohms;
}

/** The current at which the load's law and the loop agree. */
function loadAmps(load: LoadLaw, openVolts: Volts, seriesOhms: Ohms): Amps {
  const working = workingVolts(load, openVolts, seriesOhms);
  if (working !== null) return load.amps * (working / load.referenceVolts) ** load.exponent;
  const siemens = givenUpSiemens(load);
  return (siemens * openVolts) / (1 + siemens * seriesOhms);
}

/** Newton's method on the load's volts, bounded; null where it does not end with a working load. */
function workingVolts(load: LoadLaw, openVolts: Volts, seriesOhms: Ohms): Volts | null {
  const lowest = workingShare * load.referenceVolts;
  let volts = Math.max(openVolts - load.amps * seriesOhms, lowest);
  for (let step = 0; step < 40; step++) {
    const amps = load.amps * (volts / load.referenceVolts) ** load.exponent;
    const miss = volts - openVolts + amps * seriesOhms;
    const slope = 1 + (seriesOhms * amps * load.exponent) / volts;
    // A slope near zero is the knee beyond which constant power cannot be passed; a bounded step gets by it.
    const move = miss / Math.max(slope, 0.1);
    if (Math.abs(move) < 1e-10) return volts;
    if (volts === lowest && move > 0) return null;
    volts = Math.max(volts - move, lowest);
  }
  return volts;
}

/** Conductance of a load that has given up: it meets the working law where that ends. */
function givenUpSiemens({ amps, exponent, referenceVolts }: LoadLaw): number {
  return (amps * workingShare ** exponent) / (workingShare * referenceVolts);
}

/** How fast what a meter shows moves when the circuit's inputs move. */
export interface CircuitSlope {
  readonly partDropVolts: Float64Array;
  readonly partAmps: Float64Array;
  loadVolts: number;
}

/**
 * First-order change of a solved circuit for a change of its inputs, by differentiating its laws.
 * @param change each input's own change; of the load law the relative change of amps and the change of exponent
 * @param slope filled in
 */
export function circuitSlope(
  input: CircuitInput,
  solution: CircuitSolution,
  change: CircuitInput,
  slope: CircuitSlope,
): void {
  const { partOhms, loadShare, load } = input;
  const { amps, partAmps, loadVolts } = solution;
  let gained = change.sourceVolts - change.sourceOhms * amps;
  for (let i = 0; i < partOhms.length; i++) {
    gained -= change.partOhms[i]! * partAmps[i]! + partOhms[i]! * (change.loadShare[i]! * amps + change.otherAmps[i]!);
  }
  const lawVolts = works(load, loadVolts) ? loadVolts / load.referenceVolts : workingShare;
  const ownChange = amps * (change.load.amps + Math.log(lawVolts) * change.load.exponent);
  const ampsChange = followingAmps(input, solution, gained, ownChange);
  for (let i = 0; i < partOhms.length; i++) {
    slope.partAmps[i] = change.loadShare[i]! * amps + loadShare[i]! * ampsChange + change.otherAmps[i]!;
    slope.partDropVolts[i] = change.partOhms[i]! * partAmps[i]! + partOhms[i]! * slope.partAmps[i]!;
  }
  slope.loadVolts = gained - seriesOhmsOf(input) * ampsChange;
}

/** The same for a change of one part's ohms alone. */
export function partSlope(
  input: CircuitInput,
  solution: CircuitSolution,
  part: number,
  ohmsChange: Ohms,
  slope: CircuitSlope,
): void {
  const { partOhms, loadShare } = input;
  const gained = -ohmsChange * solution.partAmps[part]!;
  const ampsChange = followingAmps(input, solution, gained, 0);
  for (let i = 0; i < partOhms.length; i++) {
    slope.partAmps[i] = loadShare[i]! * ampsChange;
    slope.partDropVolts[i] = partOhms[i]! * slope.partAmps[i]!;
  }
  slope.partDropVolts[part]! -= gained;
  slope.loadVolts = gained - seriesOhmsOf(input) * ampsChange;
}

/**
 * How the load's current follows.
 * @param gained what the load's volts would gain if its current stayed
 * @param ownChange what its current would change by if its volts stayed
 */
function followingAmps(
  input: CircuitInput,
  { amps, loadVolts }: CircuitSolution,
  gained: Volts,
  ownChange: Amps,
): Amps {
  const { load } = input;
  const conductance = works(load, loadVolts) ? (load.exponent * amps) / loadVolts : givenUpSiemens(load);
  // Near the knee of constant power the slope has no bound; the fit only needs a direction there.
  return (ownChange + conductance * gained) / Math.max(1 + conductance * seriesOhmsOf(input), 0.1);
}

const works = (load: LoadLaw, loadVolts: Volts): boolean => loadVolts >= workingShare * load.referenceVolts;
