/** Whatever is moved in a circuit, it stays a circuit: checked by the job's own check after every move there can be. */
import { describe, expect, it } from "vitest";
import { checkJob, type LoopItem } from "../../../analysis/index.ts";
import { addable, canAddAfter, freeName, moveItem, placeAfterMove, renamePoint } from "../../../web/job/loop-edits.ts";
import { jobFromLoop, readyMadeLoops } from "../../../web/job/ready-made-loops.ts";

describe.each(readyMadeLoops)("$name", (readyMade) => {
  const fresh = () => jobFromLoop(readyMade, "test");

  it("is a job that can be diagnosed as it stands", () => {
    expect(checkJob(fresh()).warnings).toEqual([]);
  });

  it("stays a circuit after every move, and comes back by the opposite one", () => {
    fresh().loop.forEach((_, index) => {
      for (const step of [1, -1] as const) {
        const job = fresh();
        if (placeAfterMove(job.loop, index, step) === null) continue;
        const to = moveItem(job.loop, index, step);
        expect(() => checkJob(job)).not.toThrow();
        moveItem(job.loop, to, step === 1 ? -1 : 1);
        expect(job.loop).toEqual(fresh().loop);
      }
    });
  });

  it("stays a circuit after everything that can be added anywhere", () => {
    fresh().loop.forEach((item, index) => {
      if (!canAddAfter(item)) return;
      for (const made of addable) {
        const job = fresh();
        job.loop.splice(index + 1, 0, made.make(freeName(job.loop, made.id)));
        expect(() => checkJob(job), `${made.words} after item ${index}`).not.toThrow();
      }
    });
  });
});

it("renames a point wherever it is named", () => {
  const job = jobFromLoop(readyMadeLoops[0]!, "test");
  job.readings.push({ round: "before", from: "fuse-out", to: "load+", volts: 0.1 });
  renamePoint(job, "fuse-out", "after-fuse");
  expect(job.loop.some((item: LoopItem) => "point" in item && item.point === "after-fuse")).toBe(true);
  expect(job.readings[0]!.from).toBe("after-fuse");
});
