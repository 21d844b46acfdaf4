/**
 * Diagnoses in worker threads. As many run at once as there are cores, a few wait, and the rest are told when to come
 * back; an analysis cannot be interrupted from inside, so cancelling one ends its worker.
 */
import { availableParallelism } from "node:os";
import { Worker } from "node:worker_threads";
import { Problem } from "../../analysis/index.ts";
import type { DiagnosisWork, WorkResult } from "./work.ts";
import { type WorkerCode, workerCode } from "./worker-code.ts";

export interface PoolOptions {
  readonly workers?: number;
  /** how many may wait for a worker */
  readonly waiting?: number;
  /** longest that one diagnosis may take */
  readonly seconds?: number;
}

export interface WorkerPool {
  /**
   * @returns the diagnosis as JSON text
   * @throws {Problem} what is wrong with the folder; {PoolFull}; {Cancelled} when `signal` says so
   */
  diagnose(work: DiagnosisWork, signal?: AbortSignal): Promise<string>;
  /** @throws {PoolFull} where a diagnosis could not even wait now: asked before a large body is read for it */
  checkRoom(): void;
  load(): { readonly running: number; readonly waiting: number; readonly done: number; readonly cancelled: number };
  /** lets what was accepted finish */
  close(): Promise<void>;
}

export class PoolFull extends Error {
  constructor(readonly retryAfterSeconds: number) {
    super("every worker is busy and the queue is full");
  }
}

export class Cancelled extends Error {
  constructor() {
    super("nobody waits for this diagnosis any more");
  }
}

interface Errand {
  readonly work: DiagnosisWork;
  readonly signal: AbortSignal | undefined;
  resolve(text: string): void;
  reject(error: Error): void;
}

export function workerPool({
  workers = availableParallelism(),
  waiting: waitingAtMost = 4 * workers,
  seconds = 300,
}: PoolOptions = {}): WorkerPool {
  const idle: Worker[] = [];
  const queue: Errand[] = [];
  const counts = { running: 0, done: 0, cancelled: 0 };
  let meanSeconds = 1;
  let closed: (() => void) | null = null;

  function next(): void {
    while (counts.running < workers && queue.length > 0) void run(queue.shift()!);
    if (counts.running === 0) closed?.();
  }

  async function run({ work, signal, resolve, reject }: Errand): Promise<void> {
    counts.running++;
    const began = performance.now();
    try {
      const worker = idle.pop() ?? startWorker(await workerCode());
      const result = await answer(worker, work, seconds, signal);
      idle.push(worker);
      counts.done++;
      meanSeconds += ((performance.now() - began) / 1000 - meanSeconds) / 8;
      resolve(textOf(result));
    } catch (error) {
      if (error instanceof Cancelled) counts.cancelled++;
      reject(error as Error);
    } finally {
      counts.running--;
      next();
    }
  }

  function leaveQueue(errand: Errand): void {
    const place = queue.indexOf(errand);
    if (place < 0) return;
    queue.splice(place, 1);
    counts.cancelled++;
    errand.reject(new Cancelled());
  }

  function checkRoom(): void {
    const full = counts.running >= workers && queue.length >= waitingAtMost;
    if (full || closed) throw new PoolFull(Math.max(1, Math.ceil((meanSeconds * (queue.length + 1)) / workers)));
  }

  return {
    checkRoom,
    diagnose(work, signal) {
      return new Promise<string>((resolve, reject) => {
        if (signal?.aborted) return reject(new Cancelled());
        checkRoom();
        const errand: Errand = { work, signal, resolve, reject };
        signal?.addEventListener("abort", () => leaveQueue(errand), { once: true });
        queue.push(errand);
        next();
      });
    },
    load: () => ({ ...counts, waiting: queue.length }),
    async close() {
      await new Promise<void>((resolve) => {
        closed = resolve;
        next();
      });
      await Promise.all(idle.splice(0).map((worker) => worker.terminate()));
    },
  };
}

function startWorker({ text }: WorkerCode): Worker {
  const worker = new Worker(text, { eval: true, resourceLimits: { maxOldGenerationSizeMb: 4096 } });
  // an idle worker keeps no process alive
  worker.unref();
  return worker;
}

/** One errand of one worker, which is ended where it takes too long or nobody waits for it any more. */
function answer(
  worker: Worker,
  work: DiagnosisWork,
  seconds: number,
  signal: AbortSignal | undefined,
): Promise<WorkResult> {
  return new Promise<WorkResult>((resolve, reject) => {
    const settle = (finish: () => void) => {
      clearTimeout(tooLong);
      worker.off("message", said).off("error", failed).off("exit", left);
      worker.unref();
      signal?.removeEventListener("abort", gone);
      finish();
    };
    const end = (error: Error) =>
      settle(() => {
        // a worker that is ended late may still say that it failed
        worker.on("error", () => {});
        void worker.terminate();
        reject(error);
      });
    const said = (result: WorkResult) => settle(() => resolve(result));
    const failed = (error: Error) => end(asProblem(error));
    const left = () => end(new Error("a worker ended by itself"));
    const gone = () => end(new Cancelled());
    const tooLong = setTimeout(
      () => end(new Problem(`should be diagnosed within ${seconds} s; it takes longer (use the command line)`)),
      seconds * 1000,
    );
    signal?.addEventListener("abort", gone, { once: true });
    worker.on("message", said).on("error", failed).on("exit", left);
    worker.ref();
    worker.postMessage(work, ownBuffers(work));
    if (signal?.aborted) gone();
  });
}

function asProblem(error: Error & { code?: string }): Error {
  if (error.code !== "ERR_WORKER_OUT_OF_MEMORY") return error;
  return new Problem("should fit in the memory of this server; its logs are too long for it");
}

/** Bytes that stand in a buffer of their own are handed over instead of copied. */
function ownBuffers({ zip, files = [] }: DiagnosisWork): ArrayBuffer[] {
  const all = [...(zip ? [zip] : []), ...files.map(([, bytes]) => bytes)];
  return [
    ...new Set(
      all
        .filter((bytes) => bytes.length > 0 && bytes.length === bytes.buffer.byteLength)
        .map((bytes) => bytes.buffer as ArrayBuffer),
    ),
  ];
}

function textOf(result: WorkResult): string {
  if ("diagnosis" in result) return result.diagnosis;
  if ("problem" in result) throw new Problem(result.problem.reason, result.problem.place);
  throw new Error(result.failure);
}
