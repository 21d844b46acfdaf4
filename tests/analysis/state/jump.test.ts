/** What of a step came at once. Figures are invented; the scatter of the jumps found is held against what they are said to be sure of. */
import { expect, test } from "vitest";
import { cutLogs } from "../../../analysis/state/cut-log.ts";
import { jumpAt } from "../../../analysis/state/jump.ts";
import { chanceOf } from "../../fixtures/chance.ts";
import { levelLog } from "../../fixtures/drawn-log.ts";

const jumpIn = (levels: Record<number, number>, noise: (i: number) => number, intervalSeconds = 0.1) =>
  jumpAt(cutLogs([levelLog(levels, 20, { noise, intervalSeconds })])[0]!, 10 - intervalSeconds / 2, 0, 20);

test("a step is a jump of its height, a slope none", () => {
  const step = jumpIn({ 0: 12.6, 10: 12.4 }, () => 0);
  expect(step.height).toBeCloseTo(-0.2, 3);
  const slope = jumpIn({ 0: 12.6 }, (i) => 0.002 * i);
  expect(slope.height).toBeCloseTo(0, 3);
});

test("a slow meter's jump is as unsure as its few samples", () => {
  const grain = chanceOf(3);
  const jump = jumpIn({ 0: 12.6, 10: 12.4 }, () => 0.02 * grain.normal(), 2);
  expect(jump.uncertainty).toBeGreaterThan(0.01);
});

test("what stands beside no other samples is not known", () => {
  expect(jumpAt(cutLogs([levelLog({ 0: 12.6 }, 0.4)])[0]!, 0.2, 0, 0.4).uncertainty).toBe(Number.POSITIVE_INFINITY);
});

test("jumps scatter as they are said to", () => {
  const grain = chanceOf(8);
  const scores = Array.from({ length: 400 }, () => {
    const { height, uncertainty } = jumpIn({ 0: 12.6, 10: 12.5 }, () => 0.01 * grain.normal());
    return (height + 0.1) / uncertainty;
  });
  const scatter = Math.sqrt(scores.reduce((sum, z) => sum + z * z, 0) / scores.length);
  console.log(`jumps: scatter over stated ${scatter.toFixed(2)}`);
  expect(scatter).toBeGreaterThan(0.7);
  expect(scatter).toBeLessThan(1.25);
});
