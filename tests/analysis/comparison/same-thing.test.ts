/**
 * What counts as the same thing in two rounds, and what does not.
 */
import { describe, expect, test } from "vitest";
import { type Changes, placesOf, sameFault, tiesOf } from "../../../analysis/comparison/same-thing.ts";
import type { Belief } from "../../../analysis/inference/posterior.ts";
import type { Job } from "../../../analysis/job/job.ts";
import { partsOf } from "../../../analysis/job/route.ts";
import { badStud, jobOf, posteriorsOf, type TrueRound } from "./metered-round.ts";

const nothing: Changes = { parts: new Set(), faultSizes: false, set: false };
const before: TrueRound = { round: "before", ohms: badStud };

/** The likeliest belief of each round. */
function both(rounds: readonly TrueRound[], fields: Partial<Job> = {}): [Belief, Belief] {
  const [was, is] = posteriorsOf(jobOf(rounds, fields));
  return [was!.beliefs[0]!, is!.beliefs[0]!];
}
const indexOf = (id: string) => partsOf(jobOf([])).findIndex((part) => part.id === id);
const gainTies = ([was, is]: [Belief, Belief]) =>
  tiesOf(was, is, nothing).slice(is.model.unknowns - is.model.setting.meterDeviations.length);

describe("a meter", () => {
  const isOne = ({ partner, correlation }: { partner: number; correlation: number }) =>
    partner >= 0 && correlation === 1;

  test("that was used in both rounds has one gain; another has its own", () => {
    expect(gainTies(both([before, { round: "after" }])).filter(isOne)).toHaveLength(2); // volts and clamp
    expect(gainTies(both([before, { round: "after", meter: "m2" }])).filter(isOne)).toHaveLength(1); // the clamp
  });

  test("that the job does not describe may be another the next time", () => {
    const stranger = { meter: "somebody's" };
    const ties = gainTies(
      both([
        { ...before, ...stranger, clamped: false },
        { round: "after", ...stranger, clamped: false },
      ]),
    );
    expect(ties.filter(isOne)).toEqual([]);
  });
});

describe("a part", () => {
  const isTied = (pair: [Belief, Belief], id: string, changes = nothing) =>
    tiesOf(...pair, changes)[indexOf(id)]!.partner >= 0;

  test("is the same until it is taken to have changed", () => {
    const pair = both([before, { round: "after" }]);
    expect(isTied(pair, "feed")).toBe(true);
    expect(isTied(pair, "feed", { ...nothing, parts: new Set([indexOf("feed")]) })).toBe(false);
    expect(isTied(pair, "plug-positive", { ...nothing, parts: new Set([indexOf("feed")]) })).toBe(true);
  });

  test.each([
    ["gauge", { id: "feed", awg: 8 }],
    ["length", { id: "feed", metres: 3 }],
    ["style", { id: "plug-positive", style: "screw-terminal" }],
    ["rating", { id: "main-fuse", ratingAmps: 30 }],
  ])("of another %s is another part", (_, change) => {
    const pair = both([before, { round: "after" }], { rounds: [{ round: "after", changed: [change] }] });
    expect(isTied(pair, change.id)).toBe(false);
    expect(isTied(pair, "ground-lead")).toBe(true);
  });
});

test("a set turned to another power draws as it likes", () => {
  const pair = both([before, { round: "after" }]);
  const { transmit } = placesOf(pair[1]).amps;
  expect(tiesOf(...pair, nothing)[transmit]!.correlation).toBeGreaterThan(0.9);
  expect(tiesOf(...pair, { ...nothing, set: true })[transmit]!.partner).toBe(-1);
});

test("a fault is the same with the same cause at the same part", () => {
  const stud = { cause: "high-resistance-connection", part: 3 } as const;
  expect(sameFault(stud, { ...stud })).toBe(true);
  expect(sameFault(stud, { ...stud, part: 4 })).toBe(false);
  expect(sameFault(stud, { ...stud, cause: "intermittent-connection" })).toBe(false);
});

test("a fault that stayed keeps its size unless it is said to have another", () => {
  const pair = both([before, { round: "after", ohms: badStud }]);
  const [place] = placesOf(pair[1]).fault;
  expect(pair[1].hypothesis.faults[0]).toEqual(pair[0].hypothesis.faults[0]);
  expect(tiesOf(...pair, nothing)[place!]!.partner).toBe(placesOf(pair[0]).fault[0]);
  expect(tiesOf(...pair, { ...nothing, faultSizes: true })[place!]!.partner).toBe(-1);
});
