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

/** I = amps · (V / referenceVolts) ^ exponent: 0 constant current, 1 a resistor, −1 constant power. */
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

/** Below this a load is taken to keep its current: the power law has no meaning near zero volts. */
const lowestLoadVolts = 1;

/**
 * @returns the state in which every law holds at once; where the load asks for more power than the loop can pass,
 * the state at the lowest voltage that the law is used for
 * @example W30 of the worked examples: 12 V behind 0.01 Ω, 0.09 Ω of corroded connections, a starter of 0.05 Ω
 * (exponent 1, 240 A at 12 V) → 80 A, 4.0 V at the load
 */
export function solveCircuit(input: CircuitInput): CircuitSolution {
  const { partOhms, loadShare, otherAmps, sourceVolts, sourceOhms } = input;
  let seriesOhms = sourceOhms;
  let otherVolts = 0;
  for (let i = 0; i < partOhms.length; i++) {
    seriesOhms += partOhms[i]! * loadShare[i]!;
    otherVolts += partOhms[i]! * otherAmps[i]!;
  }
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

/** The current at which the load's law and the loop agree: Newton's method on the load's volts, bounded. */
function loadAmps(load: LoadLaw, openVolts: Volts, seriesOhms: Ohms): Amps {
  if (load.exponent === 0) return load.amps;
  let volts = Math.max(openVolts - load.amps * seriesOhms, lowestLoadVolts);
  for (let step = 0; step < 40; step++) {
    const amps = load.amps * (volts / load.referenceVolts) ** load.exponent;
    const miss = volts - openVolts + amps * seriesOhms;
    const slope = 1 + (seriesOhms * amps * load.exponent) / volts;
    // A slope near zero is the knee beyond which constant power cannot be passed; a bounded step gets by it.
    const move = Math.min(Math.max(miss / Math.max(slope, 0.1), -volts / 2), volts / 2);
    volts = Math.max(volts - move, lowestLoadVolts);
    if (Math.abs(move) < 1e-10) break;
  }
  return load.amps * (volts / load.referenceVolts) ** load.exponent;
}
