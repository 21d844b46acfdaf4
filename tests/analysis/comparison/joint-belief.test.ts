/**
 * Belief over two rounds: its laws, and what it takes to have changed in rounds with a known truth.
 */
import { expect, test } from "vitest";
import { believeBoth } from "../../../analysis/comparison/joint-belief.ts";
import { partsOf } from "../../../analysis/job/route.ts";
import { badStud, jobOf, posteriorsOf, type TrueRound } from "./metered-round.ts";

const stud = partsOf(jobOf([])).findIndex(({ id }) => id === "ground-stud");
const plug = partsOf(jobOf([])).findIndex(({ id }) => id === "plug-negative");

function believed(...rounds: TrueRound[]) {
  const [was, is] = posteriorsOf(jobOf(rounds));
  return believeBoth(was!, is!, new Set());
}
/** Probability of what is said of a belief. */
const share = (beliefs: ReturnType<typeof believed>, test: (belief: (typeof beliefs)[number]) => boolean) =>
  beliefs.filter(test).reduce((sum, { probability }) => sum + probability, 0);

const repaired = believed({ round: "before", ohms: badStud }, { round: "after" });

test("probabilities sum to one, the likeliest first", () => {
  expect(repaired.reduce((sum, { probability }) => sum + probability, 0)).toBeCloseTo(1, 9);
  for (let i = 1; i < repaired.length; i++)
    expect(repaired[i]!.probability).toBeLessThanOrEqual(repaired[i - 1]!.probability);
});

test("a mended joint is renewed, and one of the two that the readings cannot tell apart", () => {
  expect(share(repaired, ({ renewed }) => renewed.has(stud) || renewed.has(plug))).toBeGreaterThan(0.99);
  expect(share(repaired, ({ renewed }) => renewed.has(stud) && renewed.has(plug))).toBeLessThan(0.05);
  expect(share(repaired, ({ after }) => after.hypothesis.faults.length === 0)).toBeGreaterThan(0.9);
});

test("a fault that nobody touched is one fault: what tells its place in one round tells it in the other", () => {
  const same = believed({ round: "before", ohms: badStud }, { round: "after", ohms: badStud });
  const placed = share(
    same,
    ({ before, after }) => before.hypothesis.faults[0]?.part === after.hypothesis.faults[0]?.part,
  );
  expect(placed).toBeGreaterThan(0.95);
  expect(share(same, ({ changes }) => changes.faultSizes)).toBeLessThan(0.3);
});

test("of two joints that the readings cannot tell apart, the one that was exchanged is likelier to have been the bad one", () => {
  const [was, is] = posteriorsOf(jobOf([{ round: "before", ohms: badStud }, { round: "after" }]));
  const badBefore = (changed: number[], part: number) =>
    share(believeBoth(was!, is!, new Set(changed)), ({ before }) =>
      before.hypothesis.faults.some((one) => one.part === part),
    );
  expect(badBefore([stud], stud)).toBeGreaterThan(badBefore([], stud) + 0.05);
  expect(badBefore([plug], plug)).toBeGreaterThan(badBefore([], plug) + 0.05);
});

test("a joint remade though nothing was wrong with it is likelier than not where its readings say so", () => {
  const remade = believed(
    { round: "before", ohms: { ...badStud, "plug-positive": 0.004 } },
    { round: "after", ohms: { "plug-positive": 0.0005 } },
  );
  const positive = partsOf(jobOf([])).findIndex(({ id }) => id === "plug-positive");
  // the rest goes to the feed, which lies between the same two points
  expect(share(remade, ({ changes }) => changes.parts.has(positive))).toBeGreaterThan(0.5);
  expect(share(repaired, ({ changes }) => changes.parts.has(positive))).toBeLessThan(0.05);
});

test("a set turned to another power is no fault", () => {
  const turned = believed({ round: "before", ohms: badStud, transmitAmps: 11.4 }, { round: "after", transmitAmps: 8 });
  expect(share(turned, ({ changes }) => changes.set)).toBeGreaterThan(0.9);
  expect(share(turned, ({ after }) => after.hypothesis.faults.length === 0)).toBeGreaterThan(0.9);
  expect(share(repaired, ({ changes }) => changes.set)).toBeLessThan(0.1);
});
