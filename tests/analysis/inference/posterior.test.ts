/**
 * Belief over causes: its laws, and rounds small enough to be judged by hand (all figures invented).
 */
import { expect, test } from "vitest";
import { candidatesOf } from "../../../analysis/finding/candidate.ts";
import { drawBelief } from "../../../analysis/inference/draw.ts";
import type { Job } from "../../../analysis/job/job.ts";
import { partsOf } from "../../../analysis/job/route.ts";
import { believeTyped, clamp, fourReadings, jobWithReadings, typed } from "../../fixtures/typed-round.ts";

const first = (job: Job) => {
  const [candidate] = candidatesOf(believeTyped(job).posterior);
  return {
    cause: candidate!.cause,
    parts: candidate!.parts.map((index) => partsOf(job)[index]!.id),
    probability: candidate!.probability,
  };
};

const badGround = [
  ...fourReadings(12.6, 12.47, 12.56, 11.5),
  typed("load-", "body-at-load", 0.66),
  clamp("feed", 11.4),
];

test("beliefs sum to one, before and after the readings", () => {
  const { beliefs } = believeTyped(jobWithReadings(badGround)).posterior;
  expect(beliefs.reduce((sum, belief) => sum + belief.probability, 0)).toBeCloseTo(1, 9);
  expect(beliefs.reduce((sum, belief) => sum + belief.priorProbability, 0)).toBeCloseTo(1, 9);
});

test("the order of the readings is immaterial", () => {
  const forward = believeTyped(jobWithReadings(badGround)).posterior.beliefs;
  const backward = believeTyped(jobWithReadings(badGround.toReversed())).posterior.beliefs;
  let worst = 0;
  forward.slice(0, 10).forEach(({ hypothesis, probability }) => {
    const key = JSON.stringify(hypothesis.faults);
    const twin = backward.find((belief) => JSON.stringify(belief.hypothesis.faults) === key)!;
    worst = Math.max(worst, Math.abs(twin.probability - probability));
  });
  expect(worst).toBeLessThan(1e-3);
});

test("a drop on the ground side names the joints between its probes, and no other", () => {
  expect(first(jobWithReadings(badGround))).toMatchObject({
    cause: "high-resistance-connection",
    parts: ["plug-negative", "ground-stud"],
  });
});

test("a jumper round the stud tells the stud from the plug", () => {
  const job = jobWithReadings([...badGround, typed("load+", "load-", 12.15, { bypassed: ["ground-stud"] })]);
  const { parts, probability } = first(job);
  expect(parts).toEqual(["ground-stud"]);
  expect(probability).toBeGreaterThan(0.95);
});

test("sound readings leave the feed sound", () => {
  const job = jobWithReadings([
    ...fourReadings(12.6, 12.47, 12.58, 12.16),
    typed("battery+", "load+", 0.22),
    typed("load-", "battery-", 0.07),
    clamp("feed", 11.4),
  ]);
  expect(first(job)).toMatchObject({ cause: "supply-sound" });
});

test("a battery that gives way under load is weak, one that rests low is not charged", () => {
  expect(first(jobWithReadings([...fourReadings(12.55, 11.75, 12.52, 11.45), clamp("feed", 11.4)])).cause).toBe(
    "weak-battery",
  );
  expect(first(jobWithReadings([...fourReadings(11.85, 11.7, 11.82, 11.4), clamp("feed", 11.4)])).cause).toBe(
    "low-charge",
  );
});

test("less current back than out is a stray return", () => {
  const job = jobWithReadings([
    ...fourReadings(12.6, 12.47, 12.58, 12.19),
    clamp("feed", 11.4),
    clamp("ground-lead", 6.1),
  ]);
  expect(first(job)).toMatchObject({
    cause: "stray-return",
    parts: ["plug-negative", "ground-lead", "ground-stud", "body"],
  });
});

test("a converter as the source has no battery to be weak or low", () => {
  const job = jobWithReadings(fourReadings(12.0, 11.6, 11.97, 11.3), { source: { kind: "converter" } });
  const causes = new Set(candidatesOf(believeTyped(job).posterior).map(({ cause }) => cause));
  for (const cause of ["weak-battery", "low-charge", "no-charging"] as const) expect(causes.has(cause)).toBe(false);
});

test("a lithium battery resting at 12.9 V is not taken by the lead-acid table", () => {
  const readings = [...fourReadings(13.2, 13.05, 13.17, 12.75), clamp("feed", 11.4)];
  const lithium = jobWithReadings(readings, { battery: { type: "lithium" } });
  expect(first(lithium).cause).toBe("supply-sound");
});

test("a reading that contradicts all others is set aside and named", () => {
  const job = jobWithReadings([
    ...fourReadings(12.6, 12.47, 12.58, 12.16),
    typed("battery+", "load+", 0.22),
    typed("load-", "battery-", 0.07),
    typed("load-", "battery-", 0.97),
    clamp("feed", 11.4),
  ]);
  const { suspects } = believeTyped(job);
  expect(suspects.map(({ value }) => value)).toEqual([0.97]);
});

test("a held lowest bounds the level and is not taken for it", () => {
  const readings = [...fourReadings(12.6, 12.47, 12.58, 12.16), typed("battery+", "load+", 0.22), clamp("feed", 11.4)];
  const held = jobWithReadings([...readings, typed("load+", "load-", 11.95, { held: "lowest" })]);
  const level = jobWithReadings([...readings, typed("load+", "load-", 11.95)]);
  expect(first(held).cause).toBe("supply-sound");
  expect(believeTyped(held).suspects).toEqual([]);
  expect(believeTyped(level).suspects.length).toBeGreaterThan(0);
});

test("draws repeat, and hold each belief in its share", () => {
  const { posterior } = believeTyped(jobWithReadings(badGround));
  const draws = drawBelief(posterior, 1000);
  expect(draws.map(({ values }) => values[0])).toEqual(drawBelief(posterior, 1000).map(({ values }) => values[0]));
  const share = draws.filter(({ belief }) => belief === posterior.beliefs[0]).length / 1000;
  expect(Math.abs(share - posterior.beliefs[0]!.probability)).toBeLessThan(0.002);
});
