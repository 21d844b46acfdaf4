/** The diagnosis of the job on the screen: made anew in the worker shortly after every change, never in the way of typing. */
import { effect, signal } from "@preact/signals";
import { proxy } from "comlink";
import type { Diagnosis } from "../../analysis/index.ts";
import { analyst, dismissAnalyst } from "../worker/workers.ts";
import { folderName } from "./all-jobs.ts";
import { openJob } from "./open-job.ts";

export interface LogTrouble {
  readonly file: string;
  readonly message: string;
}

export const diagnosis = signal<Diagnosis | null>(null);
/** a round each: what keeps the install from being handed over, or is still to be done */
export const handoverRemarks = signal<readonly (readonly string[])[]>([]);
/** share done, 0 to 1, and what is being done; null: nothing is */
export const diagnosing = signal<{ readonly share: number; readonly what: string } | null>(null);
export const diagnosisTrouble = signal<string | null>(null);
/** the person stopped it: nothing is weighed until something changes or they ask */
export const stopped = signal(false);
/** logs that were refused; the rest was diagnosed without them */
export const logTroubles = signal<readonly LogTrouble[]>([]);

/** Typing settles for this long before a diagnosis starts. */
const settleMilliseconds = 250;
/** A diagnosis that has been overtaken by a change is left to end by itself if it is about to; after this long it is stopped. */
const patienceMilliseconds = 1500;

const reading = { share: 0, what: "reading the logs" };

let waiting: ReturnType<typeof setTimeout> | undefined;
let running: { readonly turn: number; readonly startedMilliseconds: number } | null = null;
let turn = 0;
let lastJob: string | null = null;

export function startDiagnosing(): () => void {
  return effect(() => {
    const now = openJob.value;
    turn++;
    clearTimeout(waiting);
    if (now?.id !== lastJob) {
      lastJob = now?.id ?? null;
      diagnosis.value = null;
      diagnosisTrouble.value = null;
      logTroubles.value = [];
    }
    if (!now) return;
    // from here on what is shown is of the job as it was before
    diagnosing.value = reading;
    waiting = setTimeout(() => void diagnoseNow(), settleMilliseconds);
  });
}

export async function diagnoseNow(): Promise<void> {
  const now = openJob.peek();
  if (!now) return;
  if (running && performance.now() - running.startedMilliseconds > patienceMilliseconds) cancelDiagnosis();
  const mine = ++turn;
  stopped.value = false;
  running = { turn: mine, startedMilliseconds: performance.now() };
  diagnosing.value = reading;
  const onProgress = (share: number, what: string) => {
    if (mine === turn) diagnosing.value = { share, what };
  };
  try {
    const outcome = await analyst().diagnoseJob(folderName(now.document), now.document, now.files, proxy(onProgress));
    if (mine !== turn) return;
    handoverRemarks.value = outcome.handoverRemarks;
    diagnosis.value = outcome.diagnosis;
    logTroubles.value = outcome.troubles;
    diagnosisTrouble.value = null;
  } catch (error) {
    if (mine !== turn) return;
    diagnosis.value = null;
    diagnosisTrouble.value = (error as Error).message;
  }
  running = null;
  diagnosing.value = null;
}

export function stopDiagnosis(): void {
  cancelDiagnosis();
  stopped.value = true;
}

function cancelDiagnosis(): void {
  clearTimeout(waiting);
  turn++;
  running = null;
  dismissAnalyst();
  diagnosing.value = null;
}
