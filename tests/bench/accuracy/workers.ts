/**
 * Seeds dealt out to as many processes as there are cores, one at a time.
 */
import { type ChildProcess, fork } from "node:child_process";
import { availableParallelism } from "node:os";
import { fileURLToPath } from "node:url";
import type { DrawOptions } from "../../fixtures/recipe/draw-job.ts";
import type { JudgedJob } from "./judged-job.ts";

export interface Task {
  readonly seed: number;
  readonly options: Partial<DrawOptions>;
  readonly beside: boolean;
}

const workerFile = fileURLToPath(new URL("worker.ts", import.meta.url));

/**
 * @param onDone called after each job with how many are done
 * @returns judged jobs in the order of the tasks
 * @throws {Error} when a process ends before its job is judged
 */
export async function judgeAll(tasks: readonly Task[], onDone: (count: number) => void): Promise<JudgedJob[]> {
  const judged = new Array<JudgedJob>(tasks.length);
  let next = 0;
  let done = 0;
  const work = async (worker: ChildProcess) => {
    while (next < tasks.length) {
      const index = next++;
      judged[index] = await answer(worker, tasks[index]!);
      onDone(++done);
    }
    worker.disconnect();
  };
  const workers = Array.from({ length: Math.min(availableParallelism(), tasks.length) }, () =>
    fork(workerFile, { execArgv: ["--import", "tsx"] }),
  );
  await Promise.all(workers.map(work));
  return judged;
}

function answer(worker: ChildProcess, task: Task): Promise<JudgedJob> {
  return new Promise((resolve, reject) => {
    const ended = () => reject(new Error(`the process that judged seed ${task.seed} ended`));
    worker.once("exit", ended);
    worker.once("message", (judged) => {
      worker.off("exit", ended);
      resolve(judged as JudgedJob);
    });
    worker.send(task);
  });
}
