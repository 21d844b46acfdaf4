/**
 * Levels and their uncertainty. Outside figures: NIST StRD Norris (certified values as listed in ../shared/reference/metrology.md
 * section 3), n / effective n of autoregressive noise (section 4) and count / √12 (section 6); the rest by simulation: stated
 * uncertainty against actual scatter.
 */
import { expect, test } from "vitest";
import { correlationFactor, levelOf, roundingUncertainty, straightLine } from "../../../analysis/state/level.ts";
import { chanceOf } from "../../fixtures/chance.ts";
import { drawnLog, levelLog } from "../../fixtures/drawn-log.ts";

const norrisX =
  "0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9 338.0 447.5 11.6 556.0 228.1 995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1 448.9 0.5";
const norrisY =
  "0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8 339.3 448.9 10.8 557.7 228.3 998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4 449.2 0.2";

test("a straight line through NIST Norris has the certified slope and residuals", () => {
  const x = Float64Array.from(norrisX.split(" "), Number);
  const y = Float64Array.from(norrisY.split(" "), Number);
  const line = straightLine(x, y);
  const { squares } = line;
  console.log(`slope off by ${line.slope - 1.00211681802045}, residual squares off by ${squares - 26.6173985294224}`);
  expect(line.slope).toBeCloseTo(1.00211681802045, 13);
  expect(squares).toBeCloseTo(26.6173985294224, 9);
});

test.each([
  [0.5, 3],
  [0.8, 9],
  [0.9, 19],
])("autoregressive noise with r = %f counts as n over %f", (r, factor) => {
  const chance = chanceOf(7);
  let value = 0;
  const row = Float64Array.from({ length: 200_000 }, () => {
    value = r * value + Math.sqrt(1 - r * r) * chance.normal();
    return value;
  });
  expect(Math.abs(correlationFactor(row) / factor - 1)).toBeLessThan(0.05);
});

test("anticorrelated noise is not taken to make a mean better", () => {
  expect(correlationFactor(Float64Array.from({ length: 100 }, (_, i) => (-1) ** i))).toBe(1);
});

test.each([
  [1 / 64, 0.00451],
  [0.01, 0.00289],
  [0.001, 0.000289],
])("a display that stands still is known to a count of %f over √12", (count, uncertainty) => {
  expect(roundingUncertainty(count, 0)).toBeCloseTo(uncertainty, count === 0.001 ? 6 : 5);
});

interface Case {
  readonly name: string;
  readonly samples: number;
  readonly noise: number;
  readonly r: number;
  readonly resolution: number;
  readonly drift: number;
}

const cases: Case[] = [
  { name: "white noise", samples: 60, noise: 0.004, r: 0, resolution: 0.001, drift: 0 },
  { name: "a filter that ties samples", samples: 100, noise: 0.004, r: 0.7, resolution: 0.001, drift: 0 },
  { name: "noise far below a count", samples: 60, noise: 0.0005, r: 0, resolution: 0.01, drift: 0 },
  { name: "noise of half a count", samples: 60, noise: 0.005, r: 0, resolution: 0.01, drift: 0 },
  { name: "a slow drift", samples: 80, noise: 0.003, r: 0, resolution: 0.001, drift: 0.05 },
  { name: "one sample", samples: 1, noise: 0.003, r: 0, resolution: 0.001, drift: 0 },
  { name: "two samples", samples: 2, noise: 0.003, r: 0, resolution: 0.001, drift: 0 },
];

test.each(cases)("stated uncertainty matches the scatter: $name", (given) => {
  const chance = chanceOf(11);
  const repeats = 1500;
  let misses = 0;
  let within = 0;
  for (let repeat = 0; repeat < repeats; repeat++) {
    const truth = 12 + chance.between(0, 0.05);
    let tied = chance.normal();
    const log = levelLog({ 0: truth }, given.samples * 0.1 + 0.05, {
      resolution: given.resolution,
      noise: (i) => {
        tied = given.r * tied + Math.sqrt(1 - given.r ** 2) * chance.normal();
        return given.noise * tied + given.drift * (i / given.samples - 0.5);
      },
    });
    const n = log.values.length;
    const level = levelOf(log, 0, n, Math.max(given.noise, given.resolution / Math.sqrt(12)));
    const centre = given.samples >= 4 ? -given.drift / (2 * n) : 0;
    const miss = (level.value - truth - centre) / level.uncertainty;
    misses += miss * miss;
    if (Math.abs(miss) < 1.96) within++;
  }
  const ratio = Math.sqrt(misses / repeats);
  console.log(
    `${given.name}: scatter over stated ${ratio.toFixed(3)}, within 1.96: ${((100 * within) / repeats).toFixed(1)} %`,
  );
  expect(ratio).toBeGreaterThan(0.65);
  expect(ratio).toBeLessThan(1.25);
  expect(within / repeats).toBeGreaterThan(0.9);
});

test("settling at an edge and an outlier do not move a level", () => {
  const log = levelLog({ 0: 12.6, 0.3: 12.2, 0.6: 12.05, 0.9: 12 }, 8, {
    noise: (i) => (i === 40 ? 2 : 0.002 * (-1) ** i),
  });
  const level = levelOf(log, 0, log.values.length, 0.002);
  expect(Math.abs(level.value - 12)).toBeLessThan(0.002);
  expect(level.drift).toBe(0);
});

test("a rise along a plateau is said", () => {
  const log = levelLog({ 0: 0.5 }, 10, { noise: (i) => 0.001 * i });
  expect(levelOf(log, 0, 100, 0.001).drift).toBeCloseTo(0.097, 3);
});

test("a stretch without samples is refused", () => {
  expect(() => levelOf(levelLog({ 0: 1 }, 1), 3, 3, 0.01)).toThrow(/should hold a sample/);
});

const shortLog = (values: readonly number[]) =>
  drawnLog(`seconds ${values.map((_, i) => i / 4).join(" ")}
            volts ${values.map((value) => value.toFixed(3)).join(" ")}`).volts!;

test("bursts too short for a meter's filter are level within what is said of them", () => {
  // A first-order filter of 0.13 s sampled every 0.25 s, 10 V let go and pulled down to 8 V for 0.3 s, at any phase.
  const chance = chanceOf(11);
  const [pole, interval, burst, high, low, noise] = [0.13, 0.25, 0.3, 10, 8, 0.002];
  let [tested, held] = [0, 0];
  for (let run = 0; run < 400; run++) {
    const begin = chance.between(0, interval);
    const filtered = (at: number): number => {
      if (at < begin) return high;
      const reached = (until: number) => low + (high - low) * Math.exp(-(until - begin) / pole);
      if (at < begin + burst) return reached(at);
      return high + (reached(begin + burst) - high) * Math.exp(-(at - begin - burst) / pole);
    };
    const values = [0, 1, 2, 3, 4].map((i) => filtered(i * interval) + noise * chance.normal());
    const inside = values.flatMap((value, i) => (value < high - 0.5 ? [i] : []));
    if (inside.length !== 2) continue;
    const { value, uncertainty } = levelOf(shortLog(values), inside[0]!, inside[0]! + 2, noise);
    tested++;
    if (Math.abs(value - low) < 2 * uncertainty) held++;
  }
  console.log(`short bursts: ${held} of ${tested} within two uncertainties`);
  expect(held).toBeGreaterThan(0.93 * tested);
});

test("one sample on the way to two that agree is no part of the level", () => {
  const { value, samples } = levelOf(shortLog([12.6, 12.61, 11.95, 11.3, 11.302, 12.6]), 2, 5, 0.002);
  expect(value).toBeCloseTo(11.301, 6);
  expect(samples).toBe(2);
});
