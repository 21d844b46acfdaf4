/**
 * Figures of a state are those of that state as it was read: with the other loads that ran then. Figures invented.
 */
import { expect, test } from "vitest";
import { drawnBelief, stateEntries } from "../../../analysis/finding/figures.ts";
import { believe } from "../../../analysis/inference/posterior.ts";
import type { Job } from "../../../analysis/job/job.ts";
import { expectedParts } from "../../../analysis/loop/expected-part.ts";
import { askedConditions } from "../../../analysis/round-belief.ts";
import { believeTyped, clamp, fourReadings, jobWithReadings, typed } from "../../fixtures/typed-round.ts";

const loop: Job["loop"] = [
  { point: "battery+" },
  { part: "fuse", id: "main-fuse", style: "bolt-down", ratingAmps: 60 },
  { part: "wire", id: "main", awg: 6, metres: 3 },
  { point: "bus-positive" },
  { part: "fuse", id: "branch-fuse", style: "blade", ratingAmps: 20 },
  { part: "wire", id: "feed", awg: 10, metres: 3 },
  { point: "load+" },
  { part: "load" },
  { point: "load-" },
  { part: "wire", id: "return", awg: 10, metres: 6 },
  { part: "connection", id: "battery-lug-negative", style: "ring-lug" },
  { point: "battery-" },
];

test("a drop that other loads on the bus add to is stated as it was read in that state", () => {
  const idle = { radio: "idle" } as const;
  const running = { engine: "running", radio: "idle" } as const;
  const job = jobWithReadings(
    [
      ...fourReadings(12.6, 12.5, 12.57, 11.95),
      typed("battery+", "load+", 0.012, idle),
      typed("battery+", "load+", 0.228),
      clamp("main", 0.6, idle),
      clamp("main", 11.4),
      typed("battery+", "battery-", 14.2, running),
      typed("battery+", "load+", 0.054, running),
      clamp("main", 7.9, running),
    ],
    { loop },
  );
  // taken together, as logs are: else each typed reading may have met other loads
  const readings = believeTyped(job).readings.map((reading) => ({ ...reading, moment: null }));
  const posterior = believe(job, expectedParts(job), readings, askedConditions(job, readings));
  const state = stateEntries(drawnBelief(posterior)).find(
    ({ engine, radio }) => engine === "running" && radio === "idle",
  );
  expect(Math.abs(state!.supplyDropVolts!.value - 0.054)).toBeLessThan(0.004);
});
