/**
 * What else flows in the loop: other loads in the chassis, charging current, an idle current that follows the volts.
 * Rounds by hand, figures invented.
 */
import { expect, test } from "vitest";
import { candidatesOf } from "../../../analysis/finding/candidate.ts";
import { loopModel } from "../../../analysis/inference/loop-model.ts";
import type { Job } from "../../../analysis/job/job.ts";
import { partsOf } from "../../../analysis/job/route.ts";
import { believeTyped, clamp, fourReadings, jobWithReadings, typed } from "../../fixtures/typed-round.ts";

const shareOf = (job: Job, id: string): number => {
  const { beliefs } = believeTyped(job).posterior;
  const part = partsOf(job).findIndex((one) => one.id === id);
  return beliefs
    .filter(({ hypothesis }) => hypothesis.faults.some((fault) => fault.part === part))
    .reduce((sum, { probability }) => sum + probability, 0);
};

test("a strap behind the chassis is as likely a bad joint as the stud before it", () => {
  const job = jobWithReadings([
    ...fourReadings(12.6, 12.47, 12.54, 11.5),
    typed("battery+", "load+", 0.22),
    typed("load-", "battery-", 0.033, { radio: "idle" }),
    typed("load-", "battery-", 0.64),
    clamp("feed", 0.6, { radio: "idle" }),
    clamp("feed", 11.4),
  ]);
  const [first] = candidatesOf(believeTyped(job).posterior);
  expect(first!.cause).toBe("high-resistance-connection");
  expect(shareOf(job, "battery-strap")).toBeGreaterThan(0.15);
  expect(shareOf(job, "ground-stud")).toBeGreaterThan(0.15);
});

test("a bad strap is not ruled out by a running engine whose charging stays out of it", () => {
  const running = { engine: "running" } as const;
  const job = jobWithReadings([
    ...fourReadings(12.6, 12.47, 12.54, 11.5),
    typed("battery+", "load+", 0.22),
    typed("load-", "battery-", 0.033, { radio: "idle" }),
    typed("load-", "battery-", 0.64),
    typed("battery+", "battery-", 14.1, running),
    typed("load-", "battery-", 0.64, running),
    clamp("feed", 11.4),
    clamp("feed", 11.4, running),
  ]);
  expect(shareOf(job, "battery-strap")).toBeGreaterThan(0.05);
});

test("charging current in the return is no fault of it, and turns its drop round", () => {
  const running = { engine: "running" } as const;
  const job = jobWithReadings([
    ...fourReadings(12.6, 12.47, 12.58, 12.16),
    typed("battery+", "load+", 0.22),
    typed("load-", "battery-", 0.07),
    clamp("feed", 11.4),
    typed("battery+", "battery-", 14.2, running),
    typed("load-", "battery-", 0.05, running),
    typed("body-at-load", "battery-", -0.012, running),
  ]);
  expect(candidatesOf(believeTyped(job).posterior)[0]!.cause).toBe("supply-sound");
});

test("an idle current that falls as the engine lifts the volts contradicts nothing", () => {
  const running = { engine: "running" } as const;
  const idle = { radio: "idle" } as const;
  const job = jobWithReadings(
    [
      ...fourReadings(12.45, 12.3, 12.42, 11.96),
      typed("battery+", "load+", 0.0397, idle),
      clamp("feed", 2.09, idle),
      clamp("feed", 11.4),
      typed("battery+", "battery-", 14.2, { ...running, ...idle }),
      typed("battery+", "load+", 0.037, { ...running, ...idle }),
      clamp("feed", 1.95, { ...running, ...idle }),
    ],
    {
      load: { idleAmps: 2, transmitAmps: 11.5, minimumVolts: 11 },
      meters: [
        { id: "m1", volts: { percentOfReading: 0.1, counts: 2, resolution: 0.0001 } },
        { id: "clamp", amps: { percentOfReading: 0.5, counts: 1, resolution: 0.01 } },
      ],
    },
  );
  const { posterior, suspects } = believeTyped(job);
  expect(suspects).toEqual([]);
  expect(candidatesOf(posterior)[0]!.cause).toBe("supply-sound");
});

const busLoop: Job["loop"] = [
  { point: "battery+" },
  { part: "fuse", id: "main-fuse", style: "bolt-down", ratingAmps: 60 },
  { part: "wire", id: "main", awg: 6, metres: 3 },
  { point: "bus-positive" },
  { part: "fuse", id: "branch-fuse", style: "blade", ratingAmps: 20 },
  { part: "wire", id: "feed", awg: 10, metres: 3 },
  { part: "connection", id: "plug-positive", style: "plug" },
  { point: "load+" },
  { part: "load" },
  { point: "load-" },
  { part: "connection", id: "plug-negative", style: "plug" },
  { part: "wire", id: "return", awg: 10, metres: 3 },
  { point: "bus-negative" },
  { part: "connection", id: "bus-screw", style: "screw-terminal" },
  { part: "wire", id: "main-return", awg: 6, metres: 3 },
  { point: "battery-" },
];

test("other loads of a bus that have a ground of their own leave a bad joint in the bus return what it is", () => {
  const idle = { radio: "idle" } as const;
  const job = jobWithReadings(
    [
      ...fourReadings(12.6, 12.45, 12.5, 11.6),
      clamp("main", 8.6, idle),
      clamp("main", 19.4),
      clamp("return", 0.6, idle),
      clamp("return", 11.4),
      typed("bus-negative", "battery-", 0.026, idle),
      typed("bus-negative", "battery-", 0.5),
    ],
    { loop: busLoop },
  );
  const { posterior, suspects } = believeTyped(job);
  const [first] = candidatesOf(posterior);
  expect(first!.parts.map((part) => partsOf(job)[part]!.id)).toEqual(["bus-screw"]);
  expect(first!.probability).toBeGreaterThan(0.9);
  expect(suspects).toEqual([]);
});

test("what no other loads leave without effect has its slope as soon as there are some", () => {
  const job = jobWithReadings([...fourReadings(12.6, 12.45, 12.5, 11.6), clamp("main", 19.4)], { loop: busLoop });
  const { setting } = believeTyped(job).posterior;
  const model = loopModel(setting, { faults: [], prior: 1 });
  const { unknowns: size, residuals: count } = model;
  const jacobian = new Float64Array(count * size);
  const [ahead, behind] = [new Float64Array(count), new Float64Array(count)];
  // Asked first where no other load is on: who is seen to do nothing there must not be left out afterwards.
  model.slopes!(new Float64Array(size), behind, jacobian);
  const point = new Float64Array(size).fill(0.8);
  model.slopes!(point, behind, jacobian);
  let worst = 0;
  for (let k = 0; k < size; k++) {
    const at = (by: number, into: Float64Array) => model.evaluate(point.with(k, point[k]! + by), into);
    at(1e-5, ahead);
    at(-1e-5, behind);
    for (let n = 0; n < count; n++) {
      const byStep = (ahead[n]! - behind[n]!) / 2e-5;
      worst = Math.max(worst, Math.abs(jacobian[n * size + k]! - byStep) / (1 + Math.abs(byStep)));
    }
  }
  console.log(`slopes with other loads on against small steps: worst ${worst.toExponential(1)}`);
  expect(worst).toBeLessThan(1e-4);
});
