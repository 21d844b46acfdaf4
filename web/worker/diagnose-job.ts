/** A diagnosis of the job as it stands in the browser. A log that is refused is named, and the rest goes on without it. */
import {
  checkJob,
  type Diagnosis,
  diagnoseInFull,
  type Job,
  type LogReading,
  type Recording,
} from "../../analysis/index.ts";
import type { JobRecord } from "../storage/database.ts";
import { readFile } from "./log-bench.ts";

export interface DiagnosisOutcome {
  readonly diagnosis: Diagnosis;
  /** a round each: what keeps the install from being handed over */
  readonly handoverRemarks: readonly (readonly string[])[];
  readonly troubles: readonly { readonly file: string; readonly message: string }[];
}

export type OnProgress = (share: number, what: string) => void;

/** Reading takes about this share of the whole, where there are logs. */
const readingShare = 0.4;

/** @throws {Problem} naming the field where the job itself cannot stand */
export async function diagnoseJob(
  folder: string,
  document: Job,
  files: JobRecord["files"],
  onProgress: OnProgress = () => {},
): Promise<DiagnosisOutcome> {
  const { job, warnings } = checkJob(document);
  const { logs, troubles } = await readLogs(job, files, onProgress);
  const readable = job.recordings.filter((recording) => logs.has(recording));
  const { diagnosis, handoverRemarks } = diagnoseInFull(
    folder,
    { ...job, recordings: readable },
    readable.map((recording) => logs.get(recording)!),
    { warnings, onProgress: (share, what) => onProgress(readingShare + (1 - readingShare) * share, what) },
  );
  return { diagnosis, handoverRemarks, troubles };
}

async function readLogs(job: Job, files: JobRecord["files"], onProgress: OnProgress) {
  const logs = new Map<Recording, LogReading>();
  const troubles: { file: string; message: string }[] = [];
  const names = [...new Set(job.recordings.map(({ file }) => file))];
  for (const [done, file] of names.entries()) {
    const recordings = job.recordings.filter((recording) => recording.file === file);
    const stored = files[file];
    const onShare = (share: number) => onProgress((readingShare * (done + share)) / names.length, `reading ${file}`);
    try {
      if (!stored)
        throw new Error(`${file}: the job names this log, and it is not in this browser. Open it under Measure.`);
      const read = await readFile(stored.sha256, recordings, onShare);
      recordings.forEach((recording, index) => void logs.set(recording, read[index]!));
    } catch (error) {
      troubles.push({ file, message: (error as Error).message });
    }
  }
  return { logs, troubles };
}
