/**
 * The physical model of a round under one hypothesis: from its unknowns to what every meter should have shown.
 * Goes in: a round's setting and a hypothesis. Comes out: residuals for the fit, and solved circuits for what is asked later.
 */
import { type CircuitSolution, circuitSlope, partSlope, solveCircuit } from "./circuit.ts";
import type { Condition } from "./condition.ts";
import type { Hypothesis } from "./hypothesis.ts";
import type { LeastSquaresProblem } from "./laplace.ts";
import { emptyInput, type FilledInput, loopCircuit } from "./loop-circuit.ts";
import { doubtsPerUnit, missInDoubts } from "./miss.ts";
import * as prior from "./prior.ts";
import { type PreparedReading, type RoundSetting, sees, shown } from "./round-setting.ts";
import { type Guess, plainGuess, type Unknown, unknownsOf, unknownValue } from "./unknown.ts";

export interface LoopModel extends LeastSquaresProblem {
  readonly setting: RoundSetting;
  readonly hypothesis: Hypothesis;
  readonly unknownList: readonly Unknown[];
  /** where each fault's own unknown stands; −1 where it has none */
  readonly faultPlaces: readonly number[];
  /** where the share of its current that is left to the load while a contact has shifted stands; −1 where none was read so */
  readonly shiftSharePlace: number;
  /** ln of the likelihood's factors that depend on the hypothesis beside the residuals */
  readonly logConstant: number;
  /** the unknowns in their own units, from prior standard deviations */
  decode(unknowns: Float64Array): Float64Array;
  solve(values: Float64Array, condition: Condition): CircuitSolution;
  partOhms(values: Float64Array, disturbed: boolean): Float64Array;
  /** the same hypothesis with its faults mended: what a repair would leave */
  solveMended(values: Float64Array, condition: Condition, mended: readonly number[]): CircuitSolution;
}

export function loopModel(setting: RoundSetting, hypothesis: Hypothesis, guess: Guess = plainGuess): LoopModel {
  const { job, expected, conditions, prepared, meterDeviations } = setting;
  const { list, places } = unknownsOf(job, expected, conditions, hypothesis, guess);
  const meters = meterDeviations.map((deviation): Unknown => ({ logarithmic: false, mean: 0, deviation }));
  const unknownList = [...list, ...meters];
  const circuit = loopCircuit(setting, hypothesis, places, guess);
  const noise = noiseUnder(hypothesis, prepared);
  const fit = fitting(setting, circuit, list.length, unknownList, noise);

  const input = emptyInput(expected.length);
  function solveMended(values: Float64Array, condition: Condition, mended: readonly number[]): CircuitSolution {
    circuit.fill(input, values, condition, mended);
    return solveCircuit(input);
  }

  return {
    setting,
    hypothesis,
    unknownList,
    faultPlaces: places.fault,
    shiftSharePlace: places.shiftShare,
    unknowns: unknownList.length,
    residuals: prepared.length,
    uneven: unknownList.flatMap(({ opens }, k) => (opens ? [k] : [])),
    logConstant: -noise.reduce((sum, own, n) => sum + Math.log(own / prepared[n]!.noise), 0),
    ...fit,
    decode: (unknowns) => decodeInto(unknowns, unknownList, new Float64Array(unknowns.length)),
    partOhms(values, disturbed) {
      const ohms = new Float64Array(expected.length);
      circuit.fillOhms(ohms, values, disturbed, []);
      return ohms;
    },
    solve: (values, condition) => solveMended(values, condition, []),
    solveMended,
  };
}

/**
 * A cause that knows no shift leaves it unexplained: the reading then tells no more than the shift is large. One that does
 * knows how far the contact gave way at the moment of the logs on one clock, not at another. A weak battery is never found
 * twice alike.
 */
function noiseUnder({ faults }: Hypothesis, prepared: readonly PreparedReading[]): number[] {
  const shifting = faults.find((fault) => fault.cause === "intermittent-connection");
  const sags = faults.some((fault) => fault.cause === "weak-battery");
  return prepared.map(({ reading, probe, noise, shift, starved, beyondSound, sagging }) => {
    const apart = reading.moment !== null && shifting !== undefined && sees(probe, shifting.part);
    const ofContact = apart ? Math.max(prior.shiftApart * shift, beyondSound) : 0;
    const unknown = shifting === undefined ? shift : Math.max(ofContact, starved);
    return Math.hypot(noise, unknown, sags ? sagging : 0);
  });
}

function decodeInto(unknowns: Float64Array, list: readonly Unknown[], values: Float64Array): Float64Array {
  for (let k = 0; k < unknowns.length; k++) values[k] = unknownValue(list[k]!, unknowns[k]!);
  return values;
}

/** Far enough from the middle that nothing is zero there. */
const usualDeviations = 0.5;
/** How far an unknown is moved to see what it does to a circuit's inputs, in prior standard deviations; they are nearly linear in it. */
const inputStep = 1e-6;

/** Residuals and their slopes; arrays are kept from call to call, as these run some thousand times a round. */
function fitting(
  { expected, conditions, prepared, meterDeviations }: RoundSetting,
  circuit: ReturnType<typeof loopCircuit>,
  ownCount: number,
  unknownList: readonly Unknown[],
  noise: readonly number[],
): Pick<LoopModel, "evaluate" | "slopes"> {
  const partCount = expected.length;
  const size = unknownList.length;
  const read = [...new Set(prepared.map(({ condition }) => condition))].map((index) => ({
    condition: conditions[index]!,
    input: emptyInput(partCount),
    readings: prepared.flatMap((entry, n) => (entry.condition === index ? [n] : [])),
  }));
  const values = new Float64Array(size);
  const moved = emptyInput(partCount);
  const scale = new Float64Array(prepared.length);
  const slope = { partDropVolts: new Float64Array(partCount), partAmps: new Float64Array(partCount), loadVolts: 0 };
  /** Which unknowns a condition hangs on; found when slopes are first asked for. */
  let touched: readonly (readonly boolean[])[] | null = null;
  const gainOf = ({ gain }: PreparedReading) => (gain < 0 ? 0 : values[ownCount + gain]!);

  function missOf(entry: PreparedReading, solution: CircuitSolution): number {
    const counts = entry.counts < 0 ? 0 : values[ownCount + entry.counts]!;
    return shown(entry.probe, solution) * (1 + gainOf(entry)) + counts - entry.reading.value;
  }

  function evaluate(unknowns: Float64Array, residuals: Float64Array): void {
    decodeInto(unknowns, unknownList, values);
    for (const { condition, input, readings } of read) {
      circuit.fill(input, values, condition, []);
      const solution = solveCircuit(input);
      for (const n of readings) {
        const entry = prepared[n]!;
        const miss = missOf(entry, solution);
        residuals[n] = missInDoubts(entry, miss, noise[n]!);
      }
    }
  }

  /** Inputs are moved a little for each unknown, and the circuit's own laws carry that on to the readings. */
  function slopes(unknowns: Float64Array, _residuals: Float64Array, jacobian: Float64Array): void {
    touched ??= read.map(({ condition }) => touchedBy(condition));
    const found = touched;
    decodeInto(unknowns, unknownList, values);
    jacobian.fill(0);
    read.forEach(({ condition, input, readings }, place) => {
      circuit.fill(input, values, condition, []);
      const solution = solveCircuit(input);
      for (const n of readings) {
        const entry = prepared[n]!;
        scale[n] = doubtsPerUnit(entry, missOf(entry, solution), noise[n]!);
      }
      for (let k = 0; k < ownCount; k++) {
        if (!found[place]![k]) continue;
        if (k < partCount && condition.bypassed.length === 0) {
          const ohmsChange = values[k]! * unknownList[k]!.deviation * circuit.partFactor(values, k);
          partSlope(input, solution, k, ohmsChange, slope);
        } else if (moveUnknown(k, unknowns[k]!, input, condition)) circuitSlope(input, solution, moved, slope);
        else continue;
        for (const n of readings) {
          const entry = prepared[n]!;
          jacobian[n * size + k] = shown(entry.probe, slope) * (1 + gainOf(entry)) * scale[n]!;
        }
      }
      for (const n of readings) {
        const { probe, gain, counts } = prepared[n]!;
        const row = n * size + ownCount;
        if (gain >= 0) jacobian[row + gain] = shown(probe, solution) * meterDeviations[gain]! * scale[n]!;
        if (counts >= 0) jacobian[row + counts] = meterDeviations[counts]! * scale[n]!;
      }
    });
  }

  /** Which unknowns a condition hangs on: seen where none of them is nothing, as each then shows what it does to the others. */
  function touchedBy(condition: Condition): boolean[] {
    const input = emptyInput(partCount);
    const somewhere = new Float64Array(size).fill(usualDeviations);
    decodeInto(somewhere, unknownList, values);
    circuit.fill(input, values, condition, []);
    return Array.from({ length: ownCount }, (_, k) => moveUnknown(k, usualDeviations, input, condition));
  }

  /** Fills `moved` with how the inputs change with one unknown; false where they do not. */
  function moveUnknown(k: number, unknown: number, input: FilledInput, condition: Condition): boolean {
    const held = values[k]!;
    values[k] = unknownValue(unknownList[k]!, unknown + inputStep);
    circuit.fill(moved, values, condition, []);
    values[k] = held;
    return takeDifference(input, moved);
  }

  return { evaluate, slopes };
}

/** Turns the moved inputs into their change for one prior standard deviation; false where nothing moved. */
function takeDifference(from: FilledInput, moved: FilledInput): boolean {
  let touched = from.sourceVolts !== moved.sourceVolts || from.sourceOhms !== moved.sourceOhms;
  touched ||= from.load.amps !== moved.load.amps || from.load.exponent !== moved.load.exponent;
  for (const field of ["partOhms", "loadShare", "otherAmps"] as const) {
    const [a, b] = [from[field], moved[field]];
    for (let i = 0; i < a.length; i++) {
      touched ||= a[i] !== b[i];
      b[i] = (b[i]! - a[i]!) / inputStep;
    }
  }
  moved.sourceVolts = (moved.sourceVolts - from.sourceVolts) / inputStep;
  moved.sourceOhms = (moved.sourceOhms - from.sourceOhms) / inputStep;
  moved.load.amps = (moved.load.amps - from.load.amps) / inputStep / from.load.amps;
  moved.load.exponent = (moved.load.exponent - from.load.exponent) / inputStep;
  return touched;
}
