/** One count of a display, from the numbers that it showed. Figures are invented. */
import { expect, test } from "vitest";
import { countOf } from "../../../analysis/state/count.ts";

test.each([
  ["digits that all move", [12.451, 12.46, 12.412], 0.001],
  ["a last digit that is always nought", [12.45, 12.46, 12.41], 0.01],
  ["steps of five", [0.105, 0.11, 0.125], 0.005],
  ["steps of two", [0.102, 0.104, 0.112], 0.002],
  ["one value throughout, which tells nothing", [12.4, 12.4, 12.4], 0.001],
])("%s", (_, values, count) => {
  expect(countOf(Float64Array.from(values), 0.001)).toBeCloseTo(count, 9);
});

test("an unknown last digit stays unknown", () => {
  expect(countOf(Float64Array.from([1, 2]), 0)).toBe(0);
});
