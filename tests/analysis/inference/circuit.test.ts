/**
 * The loop's circuit against a circuit simulator (ngspice, in eecircuit-engine) on fifty seeded loops, and against
 * worked examples: OpenStax College Physics, "Electromotive Force: Terminal Voltage" (W26, W27, W29, W30 of
 * reference/worked-examples.md); tolerance there is the last printed digit.
 */
import { expect, test } from "vitest";
import { type CircuitInput, solveCircuit } from "../../../analysis/inference/circuit.ts";
import { seededUniform } from "../../../analysis/inference/seeded-normal.ts";
import { type Branch, type Circuit, simulatedNodeVolts } from "../../fixtures/simulated-loop.ts";

const one = (ohms: number): Pick<CircuitInput, "partOhms" | "loadShare" | "otherAmps"> => ({
  partOhms: Float64Array.of(ohms),
  loadShare: Float64Array.of(1),
  otherAmps: Float64Array.of(0),
});
const resistor = (ohms: number) => ({ amps: 12 / ohms, referenceVolts: 12, exponent: 1 });

test.each([
  { name: "W26", sourceOhms: 0.1, jointOhms: 0, loadOhms: 10, amps: 1.188, volts: 11.9, digits: [3, 1] },
  { name: "W27", sourceOhms: 0.1, jointOhms: 0, loadOhms: 0.5, amps: 20.0, volts: 10.0, digits: [1, 1] },
  { name: "W28", sourceOhms: 0.5, jointOhms: 0, loadOhms: 0.5, amps: 12.0, volts: 6.0, digits: [1, 2] },
  { name: "W29", sourceOhms: 0.01, jointOhms: 0, loadOhms: 0.05, amps: 200, volts: 10.0, digits: [0, 1] },
  {
    name: "W30 corroded connections",
    sourceOhms: 0.01,
    jointOhms: 0.09,
    loadOhms: 0.05,
    amps: 80.0,
    volts: 4.0,
    digits: [1, 1],
  },
])("$name: a 12 V source, a joint and a load", ({ sourceOhms, jointOhms, loadOhms, amps, volts, digits }) => {
  const solution = solveCircuit({ ...one(jointOhms), sourceVolts: 12, sourceOhms, load: resistor(loadOhms) });
  expect(solution.amps).toBeCloseTo(amps, digits[0]);
  expect(solution.loadVolts).toBeCloseTo(volts, digits[1]);
});

/** A loop as the simulator sees it: source, supply parts, load, return parts, other loads' current in the chassis, stray path. */
interface SeededLoop {
  readonly input: CircuitInput;
  readonly circuit: Circuit;
  readonly partNodes: readonly (readonly [string, string])[];
}

function seededLoop(uniform: () => number): SeededLoop {
  const between = (low: number, high: number) => low + (high - low) * uniform();
  const count = 4 + Math.floor(between(0, 8));
  const loadAt = 1 + Math.floor(between(0, count - 2));
  const partOhms = Float64Array.from({ length: count }, () => 10 ** between(-4, -1.5));
  const sourceVolts = between(11.5, 14.5);
  const sourceOhms = between(0.004, 0.06);
  const exponent = [-1, -0.5, 0, 1][Math.floor(between(0, 4))]!;
  const load = { amps: between(2, 15), referenceVolts: 13, exponent };
  const chassisAt = count - 1;
  const chassisAmps = between(-10, 10);
  const returnOhms = partOhms.subarray(loadAt, chassisAt).reduce((sum, ohms) => sum + ohms, 0);
  const strayOhms = uniform() < 0.5 && chassisAt > loadAt ? between(0.5, 3) * returnOhms : null;
  const share = strayOhms === null ? 1 : strayOhms / (strayOhms + returnOhms);
  const node = (part: number) => (part === 0 ? "battery+" : part === count ? "battery-" : `n${part}`);
  // The load stands between its own two nodes, before part `loadAt`.
  const partNodes = Array.from({ length: count }, (_, part): [string, string] => [
    part === loadAt ? "load-" : node(part),
    part + 1 === loadAt ? "load+" : node(part + 1),
  ]);
  const branches: Branch[] = [
    { kind: "volts", from: "emf", to: "battery-", volts: sourceVolts },
    { kind: "ohms", from: "emf", to: "battery+", ohms: sourceOhms },
    { kind: "amps", from: "load+", to: "load-", amps: load.amps, atVolts: 13, exponent },
    ...partNodes.map(([from, to], part): Branch => ({ kind: "ohms", from, to, ohms: partOhms[part]! })),
    { kind: "amps", from: "battery-", to: partNodes[chassisAt]![0], amps: chassisAmps },
    ...(strayOhms === null
      ? []
      : [{ kind: "ohms", from: "load-", to: partNodes[chassisAt]![0], ohms: strayOhms } satisfies Branch]),
  ];
  return {
    partNodes,
    circuit: { ground: "battery-", branches },
    input: {
      partOhms,
      sourceVolts,
      sourceOhms,
      load,
      loadShare: Float64Array.from(partOhms, (_, part) => (part >= loadAt && part < chassisAt ? share : 1)),
      otherAmps: Float64Array.from(partOhms, (_, part) => (part === chassisAt ? chassisAmps : 0)),
    },
  };
}

test("fifty seeded loops agree with the circuit simulator", async () => {
  const uniform = seededUniform(50);
  const loops = Array.from({ length: 50 }, () => seededLoop(uniform));
  const simulated = await simulatedNodeVolts(loops.map(({ circuit }) => circuit));
  let worst = 0;
  loops.forEach(({ input, partNodes }, n) => {
    const volts = simulated[n]!;
    const solution = solveCircuit(input);
    const misses = [
      solution.batteryVolts - volts.get("battery+")!,
      solution.loadVolts - (volts.get("load+")! - volts.get("load-")!),
      ...partNodes.map(([from, to], part) => solution.partDropVolts[part]! - (volts.get(from)! - volts.get(to)!)),
    ];
    worst = Math.max(worst, ...misses.map(Math.abs));
  });
  console.log(`circuit: worst error against the simulator on fifty loops ${worst.toExponential(1)} V`);
  expect(worst).toBeLessThan(1e-6);
});

test("rises and drops round the loop sum to zero", () => {
  const uniform = seededUniform(7);
  for (let n = 0; n < 20; n++) {
    const { input } = seededLoop(uniform);
    const solution = solveCircuit(input);
    const drops = solution.partDropVolts.reduce((sum, drop) => sum + drop, 0);
    expect(solution.batteryVolts - solution.loadVolts - drops).toBeCloseTo(0, 9);
  }
});

test("a load that asks for more than the loop can pass still has an answer", () => {
  const solution = solveCircuit({
    ...one(5),
    sourceVolts: 12,
    sourceOhms: 0.01,
    load: { amps: 20, referenceVolts: 13, exponent: -1 },
  });
  expect(Number.isFinite(solution.loadVolts)).toBe(true);
});
