/** Means by running sums against adding up. */
import { expect, test } from "vitest";
import { meanOfSamples, sampleSums } from "../../../analysis/state/sample-sums.ts";
import { chanceOf } from "../../fixtures/chance.ts";

test("a mean of any stretch is that of its samples", () => {
  const chance = chanceOf(5);
  const values = Float64Array.from({ length: 1000 }, () => 12.5 + chance.normal());
  const sums = sampleSums(values);
  let worst = 0;
  for (let i = 0; i < 500; i++) {
    const from = Math.floor(chance.between(0, 999));
    const to = Math.floor(chance.between(from + 1, 1001));
    const plain = values.subarray(from, to).reduce((sum, value) => sum + value, 0) / (to - from);
    worst = Math.max(worst, Math.abs(meanOfSamples(sums, from, to) - plain));
  }
  console.log(`worst error of a mean ${worst}`);
  expect(worst).toBeLessThan(1e-12);
  expect(meanOfSamples(sums, 0, 1000)).toBeCloseTo(values.reduce((sum, value) => sum + value, 0) / 1000, 12);
});
