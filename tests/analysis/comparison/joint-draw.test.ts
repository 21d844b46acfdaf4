/**
 * Draws from joint belief: as many as each belief is worth, the same every time, and the circuit they solve.
 */
import { expect, test } from "vitest";
import { believeBoth } from "../../../analysis/comparison/joint-belief.ts";
import { drawBoth, solvedKeyed } from "../../../analysis/comparison/joint-draw.ts";
import { badStud, jobOf, posteriorsOf } from "./metered-round.ts";

const [was, is] = posteriorsOf(jobOf([{ round: "before", ohms: badStud }, { round: "after" }]));
const beliefs = believeBoth(was!, is!, new Set());
const draws = drawBoth(beliefs);

test("each belief has its share of the draws, to one draw", () => {
  expect(draws).toHaveLength(1000);
  for (const belief of beliefs) {
    const own = draws.filter((draw) => draw.belief === belief).length;
    expect(Math.abs(own - 1000 * belief.probability)).toBeLessThan(1.001);
  }
});

test("the same beliefs give the same draws", () => {
  expect(drawBoth(beliefs).map(({ after }) => after.ohms)).toEqual(draws.map(({ after }) => after.ohms));
});

test("a meter that was used in both rounds is off by one and the same in each draw", () => {
  // gains are the last unknowns of either round: volts of m1, amps of the clamp
  for (const { before, after } of draws.slice(0, 50)) {
    expect([...after.values.slice(-2)]).toEqual([...before.values.slice(-2)]);
  }
});

test("drops round the loop and the set's volts make up the battery's", () => {
  for (const draw of draws.slice(0, 50)) {
    const { batteryVolts, loadVolts, partDropVolts } = solvedKeyed(draw.after, "off");
    const lost = partDropVolts.reduce((sum, drop) => sum + drop, 0);
    expect(loadVolts + lost).toBeCloseTo(batteryVolts, 9);
  }
});
