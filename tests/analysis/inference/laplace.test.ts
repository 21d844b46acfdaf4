/**
 * Laplace's approximation against what can be had without it: a closed form for linear problems, brute-force
 * integration on grids for curved ones. No published source: the reference is numerical integration.
 */
import { expect, test } from "vitest";
import { fitLaplace, type LeastSquaresProblem } from "../../../analysis/inference/laplace.ts";

/** ln ∫∫ exp(−½Σr² − ½|z|²) dz / 2π by summing a fine grid over ±7 standard deviations. */
function bruteForceLogEvidence(problem: LeastSquaresProblem): number {
  const step = 0.02;
  const residuals = new Float64Array(problem.residuals);
  let total = 0;
  for (let x = -7; x <= 7; x += step) {
    for (let y = -7; y <= 7; y += step) {
      problem.evaluate(Float64Array.of(x, y), residuals);
      const squares = residuals.reduce((sum, r) => sum + r * r, x * x + y * y);
      total += Math.exp(-squares / 2) * step * step;
    }
  }
  return Math.log(total / (2 * Math.PI));
}

test("one unknown, one reading: optimum one half, evidence ½·ln½ − ¼", () => {
  const fit = fitLaplace({ unknowns: 1, residuals: 1, evaluate: (z, r) => r.fill(z[0]! - 1) }, new Float64Array(1));
  expect(fit.optimum[0]).toBeCloseTo(0.5, 6);
  expect(fit.logEvidence).toBeCloseTo(Math.log(0.5) / 2 - 0.25, 6);
});

/** A joint's excess ohms log-normal, the current log-normal, their product read as a drop: the shape of the real problem. */
const dropProblem = (dropVolts: number, ampsRead: number | null): LeastSquaresProblem => ({
  unknowns: 2,
  residuals: ampsRead === null ? 1 : 2,
  evaluate(z, r) {
    const ohms = Math.exp(Math.log(0.04) + 1.0 * z[0]!);
    const amps = Math.exp(Math.log(11.5) + 0.09 * z[1]!);
    r[0] = (ohms * amps - dropVolts) / 0.012;
    if (ampsRead !== null) r[1] = (amps - ampsRead) / 0.2;
  },
});

test("evidence of a drop agrees with brute-force integration", () => {
  const cases = [0.1, 0.3, 0.6, 1.5, 3].flatMap((volts) => [dropProblem(volts, null), dropProblem(volts, 11.9)]);
  let worst = 0;
  for (const problem of cases) {
    const fit = fitLaplace(problem, new Float64Array(2));
    worst = Math.max(worst, Math.abs(fit.logEvidence - bruteForceLogEvidence(problem)));
  }
  console.log(`laplace: worst error of ln evidence ${worst.toFixed(4)} (a factor ${Math.exp(worst).toFixed(3)})`);
  expect(worst).toBeLessThan(0.05);
});

test("the posterior's width is that of the grid", () => {
  const problem = dropProblem(0.6, 11.9);
  const { optimum, precisionFactor } = fitLaplace(problem, new Float64Array(2));
  const residuals = new Float64Array(2);
  let mass = 0;
  let mean = 0;
  let square = 0;
  for (let x = -7; x <= 7; x += 0.01) {
    for (let y = -7; y <= 7; y += 0.01) {
      problem.evaluate(Float64Array.of(x, y), residuals);
      const weight = Math.exp(-residuals.reduce((sum, r) => sum + r * r, x * x + y * y) / 2);
      mass += weight;
      mean += weight * x;
      square += weight * x * x;
    }
  }
  const deviation = Math.sqrt(square / mass - (mean / mass) ** 2);
  const [a, , b, c] = precisionFactor as unknown as [number, number, number, number];
  const ours = Math.sqrt((b * b + c * c) / (a * c) ** 2);
  expect(optimum[0]).toBeCloseTo(mean / mass, 2);
  expect(ours / deviation).toBeCloseTo(1, 2);
});
