// Jobs of one vehicle over time: a joint that goes is seen while its drop is still allowed, and no sound part is accused.
// Source: weighted least squares against the straight line of simple-statistics (equal weights), the normal distribution
// against Abramowitz and Stegun table 26.1 (four places, from memory); readings drawn by Ohm's law from known ohms.
import { linearRegression } from "simple-statistics";
import { describe, expect, test } from "vitest";
import { fittedLine, normalShare } from "../../../analysis/document/vehicle-history.ts";
import { diagnoseFiles, type Job, parseJob, vehicleHistory } from "../../../analysis/index.ts";
import { visit, visitAmps } from "../../fixtures/vehicle-visit.ts";

const history = (jobs: readonly Job[]) =>
  vehicleHistory(
    jobs.map((job) => ({
      job,
      diagnosis: diagnoseFiles("job", new Map([["job.json", new TextEncoder().encode(JSON.stringify(job))]])),
      fallbackDay: null,
    })),
  );

describe("a vehicle", () => {
  const days = ["2024-03-01", "2025-03-01", "2026-03-01"] as const;

  test("whose ground stud goes: its rise is told before it is too much, and the other parts' is not", () => {
    const { visits, trends } = history([visit(days[2], 5.4), visit(days[0], 1.1), visit(days[1], 3.2)]);
    expect(visits.map(({ day }) => day)).toEqual([...days]);
    expect(visits.map(({ verdict }) => verdict)).not.toContain("fault");
    const [stud] = trends.filter(({ id }) => id === "ground-stud");
    expect(stud!.rises).toBeGreaterThan(0.99);
    expect(stud!.ohmsPerYear!.value * 1000).toBeCloseTo(2.15, 1);
    expect(stud!.ohmsPerYear!.low * 1000).toBeLessThan(2.15);
    expect(stud!.ohmsPerYear!.high * 1000).toBeGreaterThan(2.15);
    expect(stud!.limitOhms).toBeCloseTo(0.1 / visitAmps, 6);
    // From 5.4 mΩ at 2.15 mΩ a year the 9.1 mΩ allowed are reached in 1.7 years.
    expect(stud!.reachesLimitOn).toMatch(/^2027-1[0-2]/);
    for (const { id, rises, reachesLimitOn } of trends) {
      if (id === "ground-stud") continue;
      expect(rises ?? 0, id).toBeLessThan(0.9);
      expect(reachesLimitOn, id).toBe(null);
    }
  });

  test("whose stud was renewed begins anew", () => {
    const { trends } = history([visit(days[0], 1.1), visit(days[1], 9), visit(days[2], 1.1)]);
    expect(trends.find(({ id }) => id === "ground-stud")!.rises).toBeLessThan(0.9);
    const twoRounds = visit(days[2], 1.1, { changed: [{ id: "ground-stud" }] });
    const earlier = visit(days[1], 9).readings.map((reading) => ({ ...reading, round: "found" }));
    const both = { ...twoRounds, readings: [...earlier, ...twoRounds.readings] };
    const renewed = history([visit(days[0], 1.1), parseJob(JSON.stringify(both)).job]);
    expect(renewed.trends.find(({ id }) => id === "ground-stud")).toMatchObject({ over: [2], rises: null });
  });

  test("without days, or with one visit, has no trend", () => {
    expect(history([visit(days[0], 1)]).trends.every(({ rises }) => rises === null)).toBe(true);
    const undated = { ...visit(days[0], 1), rounds: [] };
    const { visits, trends } = history([undated, visit(days[1], 2)]);
    expect(visits.map(({ day }) => day)).toEqual([days[1], null]);
    expect(trends.every(({ rises }) => rises === null)).toBe(true);
    expect(vehicleHistory([])).toEqual({ visits: [], trends: [] });
  });
});

test("the line is that of equal weights where they are equal, and a wide point hardly moves it", () => {
  const points = [3, 5, 4, 8].map((value, index) => ({
    days: 10 * index,
    ohms: { value, low: value - 2, high: value + 2, uncertainty: 1 },
  }));
  const { m } = linearRegression(points.map(({ days, ohms }) => [days, ohms.value]));
  expect(fittedLine(points)!.slope).toBeCloseTo(m, 12);
  expect(fittedLine(points)!.slopeUncertainty).toBeCloseTo(1 / Math.sqrt(500), 12);
  const wide = { days: 40, ohms: { value: 99, low: -1e4, high: 1e4, uncertainty: 5000 } };
  expect(fittedLine([...points, wide])!.slope).toBeCloseTo(m, 3);
});

test("the normal distribution: Abramowitz and Stegun, table 26.1", () => {
  const table = [
    [0, 0.5],
    [0.5, 0.69146],
    [1, 0.84134],
    [1.28155, 0.9],
    [1.96, 0.975],
    [-2, 0.02275],
    [3, 0.99865],
  ];
  const worst = Math.max(...table.map(([z, share]) => Math.abs(normalShare(z!) - share!)));
  console.log(`worst error against the table: ${worst.toExponential(1)}`);
  expect(worst).toBeLessThan(5e-6);
});
