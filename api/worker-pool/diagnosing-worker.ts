/** The worker's own end: one job folder after the other, each answered with its diagnosis or with what is wrong with it. */
import { parentPort } from "node:worker_threads";
import { Problem } from "../../analysis/index.ts";
import { diagnoseOpened } from "../diagnose-folder.ts";
import { memoryFolder } from "./memory-folder.ts";
import type { DiagnosisWork, WorkResult } from "./work.ts";

parentPort!.on("message", async (work: DiagnosisWork) => {
  parentPort!.postMessage(await answer(work));
});

async function answer(work: DiagnosisWork): Promise<WorkResult> {
  try {
    const { diagnosis } = await diagnoseOpened(work.folder, memoryFolder(work));
    return { diagnosis: JSON.stringify(diagnosis) };
  } catch (error) {
    if (error instanceof Problem) return { problem: { reason: error.reason, place: error.place } };
    return { failure: error instanceof Error ? (error.stack ?? error.message) : String(error) };
  }
}
