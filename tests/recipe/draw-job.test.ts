/**
 * The recipe as a judge: the same seed gives the same bytes, and the truth that it states is the truth of the circuit.
 */
import { beforeAll, describe, expect, it } from "vitest";
import { type DrawnJob, drawJob } from "../fixtures/recipe/draw-job.ts";
import { idsBetween, type LoopItem, pointsOf } from "../fixtures/recipe/loop-item.ts";
import { causes } from "../fixtures/recipe/truth.ts";

const seeds = Array.from({ length: 24 }, (_, i) => i + 1);
const loopOf = (job: DrawnJob): LoopItem[] => JSON.parse(job.files.get("job.json")!).loop;

describe("drawJob", () => {
  let jobs: DrawnJob[];
  beforeAll(async () => {
    jobs = [];
    for (const seed of seeds) jobs.push(await drawJob(seed));
  }, 120_000);

  it("gives the same files and the same truth for the same seed", async () => {
    for (const job of jobs.slice(0, 5)) {
      const again = await drawJob(job.seed);
      expect([...again.files]).toEqual([...job.files]);
      expect(again.truth).toEqual(job.truth);
    }
  });

  it("states drops that add up round the loop", () => {
    let worst = 0;
    for (const { truth } of jobs)
      for (const state of truth.rounds[0]!.states) {
        const sum = state.supplyDropVolts + state.loadVolts + state.returnDropVolts;
        worst = Math.max(worst, Math.abs(sum - state.batteryVolts));
      }
    console.log(`rises and drops round the loop: worst ${worst.toExponential(1)} V`);
    expect(worst).toBeLessThan(1e-6);
  });

  it("lists the part at fault in its group, and nothing that another reading contains", () => {
    for (const job of jobs)
      for (const fault of job.truth.rounds[0]!.faults) {
        for (const part of fault.parts) expect(fault.group).toContain(part);
        const document = JSON.parse(job.files.get("job.json")!);
        for (const { from, to } of [...document.recordings, ...document.readings]) {
          if (from === undefined || fault.cause !== "high-resistance-connection") continue;
          const inside = idsBetween(loopOf(job), from, to);
          expect(new Set(fault.group.map((id) => inside.includes(id))).size).toBe(1);
        }
      }
  });

  it("names only points and files that are there", () => {
    for (const job of jobs) {
      const document = JSON.parse(job.files.get("job.json")!);
      const points = pointsOf(loopOf(job));
      for (const { from, to, file } of [...document.recordings, ...document.readings]) {
        for (const point of [from, to]) if (point !== undefined) expect(points).toContain(point);
        if (file !== undefined) expect(job.files.has(file)).toBe(true);
      }
    }
  });

  it("can draw every cause by name", async () => {
    for (const cause of causes) {
      const job = await drawJob(7, { cause, dialects: "plain" });
      expect(job.truth.rounds[0]!.faults.map((fault) => fault.cause)).toEqual([cause]);
    }
  }, 120_000);

  it("draws both rounds of a repair, with what it changed", async () => {
    const job = await drawJob(11, { cause: "high-resistance-connection", evidence: "full", after: "repaired" });
    const [before, after] = job.truth.rounds;
    expect(after!.faults.map((fault) => fault.cause)).toEqual(["supply-sound"]);
    expect(job.truth.changedParts).toEqual(before!.faults[0]!.parts);
    expect(job.truth.repairHeld).toBe(true);
  });
});
