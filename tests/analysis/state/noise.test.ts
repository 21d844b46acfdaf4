/** Noise estimates against noise that was put in; no outside figure but count / √12 (GUM F.2.2.1). */
import { expect, test } from "vitest";
import { noiseAt, noiseOf } from "../../../analysis/state/noise.ts";
import { chanceOf } from "../../fixtures/chance.ts";

function row(n: number, value: (i: number) => number): Float64Array {
  return Float64Array.from({ length: n }, (_, i) => value(i));
}

test("white noise is found through steps, drift and outliers", () => {
  const chance = chanceOf(3);
  const values = row(
    4000,
    (i) => 12 + (i % 130 < 60 ? 0.6 : 0) + i * 1e-5 + 0.01 * chance.normal() + (i % 777 === 0 ? 3 : 0),
  );
  expect(Math.abs(noiseOf(values, 0.001, 0.1).sample / 0.01 - 1)).toBeLessThan(0.05);
});

test("a display that stands still has a count over √12", () => {
  expect(
    noiseOf(
      row(100, () => 12.4),
      0.01,
      0.1,
    ).sample,
  ).toBeCloseTo(0.01 / Math.sqrt(12), 12);
});

test("a meter's filter is seen in the means of neighbours", () => {
  const chance = chanceOf(5);
  let value = 0;
  const values = row(20_000, () => {
    value = 0.8 * value + 0.6 * chance.normal();
    return 12 + 0.01 * value;
  });
  // Means of many: 3 times wider than of independent samples; neighbours scatter less than the whole.
  const { sample, tie } = noiseOf(values, 0.0001, 0.01);
  expect(sample * tie).toBeGreaterThan(0.013);
});

test("a running engine's ripple is noisier than what was before it", () => {
  const chance = chanceOf(9);
  const noise = noiseOf(
    row(2000, (i) => (i < 1000 ? 12.5 : 14) + (i < 1000 ? 0.002 : 0.02) * chance.normal()),
    0.001,
    0.1,
  );
  expect(noiseAt(noise, 300)).toBeLessThan(0.003);
  expect(noiseAt(noise, 1700)).toBeGreaterThan(0.015);
});

test("where every other sample is another state, the states are not noise", () => {
  const chance = chanceOf(2);
  expect(
    noiseOf(
      row(600, (i) => (i % 2 === 0 ? 4.1 : 3.6) + 0.001 * chance.normal()),
      0.0001,
      10,
    ).sample,
  ).toBeLessThan(0.002);
});

test.each([
  ["a saw", [-2, -1, 0, 1, 2]],
  ["steps of two and three", [-2, 0, 2, -1, 1]],
])("a hum that meets the sampling as %s is noise, not levels", (_, pattern) => {
  const log = row(3000, (i) => 12.5 + 0.01 * pattern[i % 5]!);
  const { sample } = noiseOf(log, 0.01, 0.1);
  expect(sample).toBeGreaterThan(0.01);
  expect(sample).toBeLessThan(0.04);
});
