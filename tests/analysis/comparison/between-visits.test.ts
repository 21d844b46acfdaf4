/**
 * What happens between two visits before anything is measured: the laws of its probabilities.
 */
import { expect, test } from "vitest";
import { soundBeforeUnread, transitionTo } from "../../../analysis/comparison/between-visits.ts";
import { partsOf } from "../../../analysis/job/route.ts";
import { badStud, jobOf, posteriorsOf, type TrueRound } from "./metered-round.ts";

const [, after] = posteriorsOf(jobOf([{ round: "before", ohms: badStud }, { round: "after" }]));
const part = partsOf(jobOf([])).findIndex(({ id }) => id === "ground-stud");
const bad = { faults: [{ cause: "high-resistance-connection", part } as const], prior: 1 };
const sound = { faults: [], prior: 1 };
const thin = { faults: [{ cause: "conductor-not-as-declared", part: -1 } as const], prior: 1 };

test("a fault is mended or stays; a new one is rare, a wire that grows thinner rarer still", () => {
  const transition = transitionTo(after!, new Set());
  expect(transition(bad, sound)).toBeCloseTo(0.5 * 0.9, 12);
  expect(transition(bad, bad)).toBeCloseTo(0.5 * 0.9, 12);
  expect(transition(sound, bad)).toBeLessThan(0.1);
  expect(transition(sound, thin)).toBeLessThan(transition(sound, bad));
});

test("what follows a sound round sums to one but for new wires, which are rarer than other faults, and for two at once", () => {
  const transition = transitionTo(after!, new Set());
  const singles = after!.beliefs.filter(({ hypothesis }) => hypothesis.faults.length < 2);
  const total = singles.reduce((sum, { hypothesis }) => sum + transition(sound, hypothesis), 0);
  expect(total).toBeGreaterThan(0.97);
  expect(total).toBeLessThanOrEqual(1);
});

test("a fault goes with the part that was exchanged, that of the wires with any of them", () => {
  const feed = partsOf(jobOf([])).findIndex(({ id }) => id === "feed");
  expect(transitionTo(after!, new Set([part]))(bad, sound)).toBeCloseTo(0.9 * 0.9, 12);
  expect(transitionTo(after!, new Set([feed]))(bad, sound)).toBeCloseTo(0.5 * 0.9, 12);
  expect(transitionTo(after!, new Set([feed]))(thin, sound)).toBeCloseTo(0.9 * 0.9, 12);
});

test("what the later round and time alone say of the earlier one does not hang on the earlier one's readings", () => {
  const after = jobOf([{ round: "after" }]).readings;
  const unread = (ohms: TrueRound["ohms"]) => {
    const [was, is] = posteriorsOf(
      jobOf([], { readings: [...jobOf([{ round: "before", ...(ohms ? { ohms } : {}) }]).readings, ...after] }),
    );
    return soundBeforeUnread(was!, is!, new Set());
  };
  const [sound, bad] = [unread(undefined), unread(badStud)];
  expect(bad).toBeCloseTo(sound, 2);
  expect(sound).toBeGreaterThan(0.1);
  expect(sound).toBeLessThan(0.9);
});
