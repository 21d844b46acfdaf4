/**
 * Optimal partitioning held against brute force over all partitions, and the partition over likely places against the exact one.
 */
import { expect, test } from "vitest";
import { partition, partitionCost, runningSums } from "../../../analysis/state/partition.ts";
import { alike } from "../../../analysis/state/sample-weights.ts";
import { stepPenalty, stepsOf } from "../../../analysis/state/segmentation.ts";
import { chanceOf } from "../../fixtures/chance.ts";

function cheapestOfAll(values: Float64Array, penalty: number): number {
  let least = Number.POSITIVE_INFINITY;
  for (let mask = 0; mask < 2 ** (values.length - 1); mask++) {
    const starts: number[] = [];
    for (let i = 1; i < values.length; i++) if ((mask >> (i - 1)) & 1) starts.push(i);
    least = Math.min(least, partitionCost(runningSums(values), penalty, starts));
  }
  return least;
}

test("the partition is the cheapest of all partitions of short rows", () => {
  let worst = 0;
  for (let seed = 1; seed <= 40; seed++) {
    const chance = chanceOf(seed);
    const values = Float64Array.from(
      { length: 11 },
      (_, i) => (i > 4 ? 1 : 0) + (i > 8 ? -2 : 0) + 0.5 * chance.normal(),
    );
    const penalty = chance.between(0.2, 3);
    const found = partitionCost(runningSums(values), penalty, partition(runningSums(values), penalty));
    worst = Math.max(worst, found - cheapestOfAll(values, penalty));
  }
  console.log(`worst excess cost over brute force: ${worst}`);
  expect(worst).toBeLessThan(1e-9);
});

test("likely places give the exact partition's cost up to 20,000 samples", () => {
  let worst = 0;
  let unequal = 0;
  const cases = 40;
  for (let seed = 1; seed <= cases; seed++) {
    const chance = chanceOf(seed);
    const n = Math.floor(chance.between(2_500, 20_000));
    const noise = 0.01;
    const size = chance.pick([0.5, 0.05, 0.02, 0.01]);
    const often = chance.pick([2e-4, 1e-3, 4e-3]);
    let level = 12;
    const values = Float64Array.from({ length: n }, () => {
      if (chance.yes(often)) level = 12 + size * chance.normal();
      return level + noise * chance.normal();
    });
    const sums = runningSums(values, alike(n, 1 / noise ** 2));
    const penalty = stepPenalty(n);
    const exact = partitionCost(sums, penalty, partition(sums, penalty));
    const fast = partitionCost(sums, penalty, stepsOf(sums));
    if (fast - exact > 1e-9 * penalty) unequal++;
    worst = Math.max(worst, (fast - exact) / penalty);
  }
  console.log(`unequal in ${unequal} of ${cases}, worst excess ${worst.toExponential(2)} penalties`);
  expect(unequal).toBe(0);
});
