/**
 * The circuit simulator that judges our networks is itself held against published answers:
 * OpenStax College Physics "Terminal Voltage" (worked-examples W26 to W30, W38) and Lessons in Electric Circuits
 * Vol. 1 ch. 11 (W33, W34). Tolerance: half the last digit printed.
 */
import { expect, it } from "vitest";
import { type Branch, simulatedNodeVolts } from "../fixtures/simulated-loop.ts";

/** A source with its own resistance across resistors in series; the nodes are 1, 2, 3 … from the source's terminal on. */
function seriesCircuit(emfVolts: number, sourceOhms: number, ...ohms: number[]) {
  const branches: Branch[] = [
    { kind: "volts", from: "emf", to: "0", volts: emfVolts },
    { kind: "ohms", from: "emf", to: "1", ohms: sourceOhms },
    ...ohms.map((value, i): Branch => {
      const to = i === ohms.length - 1 ? "0" : `${i + 2}`;
      return { kind: "ohms", from: `${i + 1}`, to, ohms: value };
    }),
  ];
  return { ground: "0", branches };
}

const published = [
  { id: "W26", circuit: seriesCircuit(12, 0.1, 10), node: "1", volts: 11.9, digit: 0.1 },
  { id: "W27", circuit: seriesCircuit(12, 0.1, 0.5), node: "1", volts: 10.0, digit: 0.1 },
  { id: "W28", circuit: seriesCircuit(12, 0.5, 0.5), node: "1", volts: 6.0, digit: 0.01 },
  { id: "W29", circuit: seriesCircuit(12, 0.01, 0.05), node: "1", volts: 10.0, digit: 0.1 },
  // corroded connections add 0.09 ohms; the starter keeps 4.0 V
  { id: "W30", circuit: seriesCircuit(12, 0.01, 0.09, 0.05), node: "2", volts: 4.0, digit: 0.1 },
  { id: "W33", circuit: seriesCircuit(10, 0.2, 1), node: "1", volts: 8.333, digit: 0.001 },
  { id: "W34 a", circuit: seriesCircuit(13.2, 0.1, 100), node: "1", volts: 13.187, digit: 0.001 },
  { id: "W34 b", circuit: seriesCircuit(13, 5, 100), node: "1", volts: 12.381, digit: 0.001 },
  { id: "W34 c", circuit: seriesCircuit(11.5, 20, 100), node: "1", volts: 9.583, digit: 0.001 },
  { id: "W34 d", circuit: seriesCircuit(7.5, 50, 100), node: "1", volts: 5, digit: 1 },
  { id: "W38", circuit: seriesCircuit(12, 1e-9, 1, 6, 13), node: "3", volts: 7.8, digit: 0.01 },
];

it("gives the terminal volts that the textbooks print", async () => {
  const solved = await simulatedNodeVolts(published.map(({ circuit }) => circuit));
  const errors = published.map(({ id, node, volts, digit }, i) => {
    const error = Math.abs(solved[i]!.get(node)! - volts);
    expect(error, id).toBeLessThanOrEqual(digit / 2);
    return error / digit;
  });
  console.log(
    `simulator: worst error ${Math.max(...errors).toFixed(2)} of the last printed digit, ${errors.length} answers`,
  );
});

it("follows loads whose current follows their volts, whichever end is ground", async () => {
  const loads = [0, 1, -1].map((exponent): Branch => {
    return { kind: "amps", from: "load+", to: "load-", amps: 11.5, atVolts: 13.6, exponent };
  });
  const feed: Branch[] = [
    { kind: "volts", from: "emf", to: "load-", volts: 12.6 },
    { kind: "ohms", from: "emf", to: "load+", ohms: 0.06 },
  ];
  const grounds = ["load-", "load+"];
  const circuits = grounds.flatMap((ground) => loads.map((load) => ({ ground, branches: [...feed, load] })));
  const volts = (await simulatedNodeVolts(circuits)).map((nodes) => nodes.get("load+")! - nodes.get("load-")!);
  // steady current 12.6 − 11.5·0.06; resistor 13.6/11.5 Ω; steady power: the upper root of V² − 12.6 V + 156.4·0.06
  const byHand = [11.91, (12.6 * 13.6) / (13.6 + 11.5 * 0.06), 6.3 + Math.sqrt(6.3 ** 2 - 13.6 * 11.5 * 0.06)];
  for (const [i, expected] of [...byHand, ...byHand].entries()) expect(volts[i]).toBeCloseTo(expected, 7);
});
