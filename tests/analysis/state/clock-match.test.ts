/** Edge trains laid over each other, with offsets known. Figures are invented. */
import { expect, test } from "vitest";
import { type EdgeTrain, matchClocks } from "../../../analysis/state/clock-match.ts";
import { chanceOf } from "../../fixtures/chance.ts";

const edge = (seconds: number, kind: number, supplyStep: number | null = null) => ({
  seconds,
  kind,
  uncertainty: 0.05,
  keying: supplyStep === null,
  supplyStep,
});

/** Keyed and released at chance moments through an hour. */
function train(count: number, shift: number): EdgeTrain {
  const chance = chanceOf(11);
  let at = 20;
  const edges = Array.from({ length: count }, (_, i) => {
    at += chance.between(3, 40);
    return edge(at + shift, i % 2 === 0 ? 1 : -1);
  });
  return { edges, seconds: at + shift + 60, intervalSeconds: 0.1 };
}

test("three hundred edges a side are matched, with thousands of offsets to choose from", () => {
  const began = performance.now();
  const match = matchClocks(train(300, 0), train(300, -12.5), 4000, 60)!;
  console.log(`offset off by ${match.startSeconds - 12.5} s, ${(performance.now() - began).toFixed(0)} ms`);
  expect(Math.abs(match.startSeconds - 12.5)).toBeLessThan(0.01);
  expect(match.matched).toBe(300);
  expect(match.margin).toBeGreaterThan(5);
});

test("charging that ends is matched by its height among many keyings", () => {
  const keyed = train(40, 0);
  const stop = edge(410.2, 1, -0.66);
  const reference = { ...keyed, edges: [...keyed.edges, stop].toSorted((a, b) => a.seconds - b.seconds) };
  const match = matchClocks(reference, { edges: [edge(400, 1, -0.68)], seconds: 700, intervalSeconds: 1 }, 0, 60)!;
  expect(match.startSeconds).toBeCloseTo(10.2, 6);
  expect(match.margin).toBeGreaterThan(1.6);
});
