/** Ranks of a row against sorting it. */
import { expect, test } from "vitest";
import { median, ranked } from "../../../analysis/state/median.ts";
import { chanceOf } from "../../fixtures/chance.ts";

test("the middle of a row", () => {
  expect(median([3, 1, 2, 10])).toBe(2.5);
  expect(median([7])).toBe(7);
  expect(median([])).toBeNaN();
});

test("every rank is the one that sorting gives, many equal values among them", () => {
  const chance = chanceOf(3);
  for (let n = 1; n < 60; n++) {
    const row = Float64Array.from({ length: n }, () => Math.floor(chance.between(0, 12)));
    const sorted = row.toSorted();
    for (let rank = 0; rank < n; rank++) expect(ranked(row.slice(), rank)).toBe(sorted[rank]);
  }
});

test("rows of thousands, rising, falling, even and noisy", () => {
  const chance = chanceOf(5);
  const n = 5000;
  const shapes = [(i: number) => i, (i: number) => -i, () => 7, (i: number) => i % 3, () => chance.normal()];
  for (const shape of shapes) {
    const row = Float64Array.from({ length: n }, (_, i) => shape(i));
    const sorted = row.toSorted();
    for (const rank of [0, 1, 1250, 2500, 4998, 4999]) {
      const moved = row.slice();
      expect(ranked(moved, rank)).toBe(sorted[rank]);
      expect(Math.max(...moved.subarray(0, rank + 1))).toBe(sorted[rank]);
      expect(Math.min(...moved.subarray(rank))).toBe(sorted[rank]);
      expect(moved.toSorted()).toEqual(sorted);
    }
  }
});

test("what is no number does not keep it from ending", () => {
  expect(ranked(Float64Array.of(Number.NaN, Number.NaN, Number.NaN), 1)).toBeNaN();
  expect(median([1, Number.NaN, 2, 3])).toEqual(expect.any(Number));
});

test("a row is left as it was", () => {
  const row = Float64Array.of(3, 1, 2);
  median(row);
  expect([...row]).toEqual([3, 1, 2]);
});
