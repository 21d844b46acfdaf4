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

test("a row is left as it was", () => {
  const row = Float64Array.of(3, 1, 2);
  median(row);
  expect([...row]).toEqual([3, 1, 2]);
});
