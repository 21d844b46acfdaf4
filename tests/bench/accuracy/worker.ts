/**
 * A process that judges the jobs it is told to, so that a run uses every core.
 */
import { judgedJob } from "./judged-job.ts";
import type { Task } from "./workers.ts";

process.on("message", async ({ seed, options, beside }: Task) => {
  process.send!(await judgedJob(seed, options, beside));
});
