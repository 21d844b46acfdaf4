/**
 * "±" and straight lines against published results: GUM Annex H.2 (JCGM 100:2008; data and results as in MSLNZ/GTC),
 * NIST StRD Norris, NoInt1 and NoInt2 (certified values), for the statistics library we use and for our own solver.
 */
import { linearRegression, linearRegressionLine, rSquared } from "simple-statistics";
import { describe, expect, it } from "vitest";
import { choleskyInPlace, choleskySolveInPlace } from "../../analysis/inference/linear-algebra.ts";
import { combine, divide, scale, standardUncertainty, type Uncertain, uncertain } from "../../analysis/uncertain.ts";

describe("GUM H.2: resistance and reactance from V, I and φ read together", () => {
  const volts = [5.007, 4.994, 5.005, 4.99, 4.999];
  const amps = [19.663e-3, 19.639e-3, 19.64e-3, 19.685e-3, 19.678e-3];
  const phases = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];

  /** Mean of n values read in rows: each row is a cause, shared by all quantities read in it. */
  function meanOf(values: readonly number[], cause: (row: number) => string): Uncertain {
    const n = values.length;
    const mean = values.reduce((a, b) => a + b) / n;
    const parts = values.map((value, row) => [cause(row), (value - mean) / Math.sqrt(n * (n - 1))] as const);
    return uncertain(mean, Object.fromEntries(parts));
  }

  /** R, X and Z to first order. */
  function impedance(v: Uncertain, i: Uncertain, phase: Uncertain) {
    const z = divide(v, i);
    const cos = { ...scale(-Math.sin(phase.value), phase), value: Math.cos(phase.value) };
    const sin = { ...scale(Math.cos(phase.value), phase), value: Math.sin(phase.value) };
    const times = (x: Uncertain, y: Uncertain) => ({ ...combine(y.value, x, x.value, y), value: x.value * y.value });
    return { r: times(z, cos), x: times(z, sin), z };
  }

  function correlation(x: Uncertain, y: Uncertain): number {
    const products = Object.entries(x.components).map(([cause, u]) => u * (y.components[cause] ?? 0));
    return products.reduce((a, b) => a + b) / (standardUncertainty(x) * standardUncertainty(y));
  }

  const row = (k: number) => `row ${k}`;
  const [v, i, phase] = [meanOf(volts, row), meanOf(amps, row), meanOf(phases, row)];
  const { r, x, z } = impedance(v, i, phase);

  it("means, their uncertainties and correlations", () => {
    expect(v.value).toBeCloseTo(4.999, 5);
    expect(i.value).toBeCloseTo(19.661e-3, 8);
    expect(phase.value).toBeCloseTo(1.04446, 6);
    expect(standardUncertainty(v)).toBeCloseTo(0.00320936, 8);
    expect(standardUncertainty(i)).toBeCloseTo(0.00947101e-3, 11);
    expect(standardUncertainty(phase)).toBeCloseTo(0.000752064, 9);
    expect(correlation(v, i)).toBeCloseTo(-0.355311, 6);
    expect(correlation(v, phase)).toBeCloseTo(0.857624, 6);
    expect(correlation(i, phase)).toBeCloseTo(-0.645111, 6);
  });

  it("R, X, Z with their uncertainties and correlations", () => {
    expect(r.value).toBeCloseTo(127.73217, 5);
    expect(x.value).toBeCloseTo(219.846512, 5);
    expect(z.value).toBeCloseTo(254.259702, 5);
    const given = [r, x, z].map(standardUncertainty);
    const published = [0.0710714, 0.2955817, 0.2363361];
    console.log(`GUM H.2: u(R), u(X), u(Z) = ${given.map((u) => u.toFixed(7)).join(", ")}`);
    for (const [k, u] of given.entries()) expect(u).toBeCloseTo(published[k]!, 6);
    expect(correlation(r, x)).toBeCloseTo(-0.58843, 5);
    expect(correlation(r, z)).toBeCloseTo(-0.485259, 5);
    expect(correlation(x, z)).toBeCloseTo(0.992512, 5);
  });

  it("negative control: with the correlations forgotten, u(R) is 0.1945 and u(Z) 0.2041", () => {
    const alone = (name: string) => (k: number) => `${name} ${k}`;
    const forgotten = impedance(meanOf(volts, alone("v")), meanOf(amps, alone("i")), meanOf(phases, alone("phase")));
    expect(standardUncertainty(forgotten.r)).toBeCloseTo(0.1945, 4);
    expect(standardUncertainty(forgotten.z)).toBeCloseTo(0.2041, 4);
  });

  it("a thing minus itself is exactly zero", () => {
    expect(standardUncertainty(combine(1, v, -1, v))).toBe(0);
  });
});

const numbers = (text: string) => text.trim().split(/\s+/).map(Number);

const norris = {
  x: numbers(`0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9 338.0 447.5 11.6 556.0
    228.1 995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1 448.9 0.5`),
  y: numbers(`0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8 339.3 448.9 10.8 557.7
    228.3 998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4 449.2 0.2`),
};
const noInt1 = { x: Array.from({ length: 11 }, (_, k) => 60 + k), y: Array.from({ length: 11 }, (_, k) => 130 + k) };
const noInt2 = { x: [4, 5, 6], y: [3, 4, 4] };

/** Digits that agree with a certified value, at most 15. */
const agreeingDigits = (ours: number, certified: number) =>
  ours === certified ? 15 : -Math.log10(Math.abs(ours / certified - 1));

/** Least squares by our own Cholesky solver, as the inference uses it. */
function ownFit(columns: readonly (readonly number[])[], y: readonly number[]) {
  const size = columns.length;
  const dot = (a: readonly number[], b: readonly number[]) => a.reduce((sum, value, k) => sum + value * b[k]!, 0);
  const factor = Float64Array.from(columns.flatMap((a) => columns.map((b) => dot(a, b))));
  expect(choleskyInPlace(factor, size)).toBe(true);
  const coefficients = Float64Array.from(columns.map((column) => dot(column, y)));
  choleskySolveInPlace(factor, size, coefficients);
  const residualSquares = y.reduce((sum, value, k) => {
    const fitted = columns.reduce((total, column, c) => total + coefficients[c]! * column[k]!, 0);
    return sum + (value - fitted) ** 2;
  }, 0);
  const residualDeviation = Math.sqrt(residualSquares / (y.length - size));
  const deviations = columns.map((_, c) => {
    const unit = new Float64Array(size);
    unit[c] = 1;
    choleskySolveInPlace(factor, size, unit);
    return residualDeviation * Math.sqrt(unit[c]!);
  });
  return { coefficients: [...coefficients], deviations, residualDeviation };
}

describe("NIST StRD linear regression", () => {
  it("Norris by the statistics library: at least 9 digits", () => {
    const { m, b } = linearRegression(norris.x.map((x, k) => [x, norris.y[k]!]));
    const fitted = rSquared(
      norris.x.map((x, k) => [x, norris.y[k]!]),
      linearRegressionLine({ m, b }),
    );
    const digits = [
      agreeingDigits(m, 1.00211681802045),
      agreeingDigits(b, -0.262323073774029),
      agreeingDigits(fitted, 0.999993745883712),
    ];
    console.log(`Norris, library: slope, intercept, R² agree to ${digits.map((d) => d.toFixed(1)).join(", ")} digits`);
    for (const d of digits) expect(d).toBeGreaterThan(9);
  });

  it.each([
    [
      "Norris",
      [norris.x.map(() => 1), norris.x],
      norris.y,
      [-0.262323073774029, 1.00211681802045],
      [0.232818234301152, 0.429796848199937e-3],
      0.884796396144373,
    ],
    ["NoInt1", [noInt1.x], noInt1.y, [2.07438016528926], [0.165289256198347e-1], 3.56753034006338],
    ["NoInt2", [noInt2.x], noInt2.y, [0.727272727272727], [0.420827318078432e-1], 0.369274472937998],
  ])("%s by our own solver: at least 9 digits", (name, columns, y, coefficients, deviations, residualDeviation) => {
    const fit = ownFit(columns, y);
    const digits = [
      ...coefficients.map((certified, k) => agreeingDigits(fit.coefficients[k]!, certified)),
      ...deviations.map((certified, k) => agreeingDigits(fit.deviations[k]!, certified)),
      agreeingDigits(fit.residualDeviation, residualDeviation),
    ];
    console.log(`${name}, own solver: worst agreement ${Math.min(...digits).toFixed(1)} digits`);
    for (const d of digits) expect(d).toBeGreaterThan(9);
  });
});
