/**
 * One folder or zip from disk to its diagnosis: each log is read once, a piece at a time, however large it is.
 */
import { diagnoseInFull, type FullDiagnosis, type Job } from "../analysis/index.ts";
import { type JobFolder, openJobFolderOrRecord } from "./job-folder.ts";
import { type OnProgress, readLogs } from "./read-logs.ts";

export interface DiagnosedJob extends FullDiagnosis {
  readonly job: Job;
}

/** Of the whole time, about what reading the logs takes; for progress only. */
const readingShare = 0.7;

/**
 * @param path folder or zip, as the diagnosis names it
 * @throws {Problem} when it is no job folder, or a log in it cannot be read
 */
export async function diagnoseFolder(path: string, onProgress: OnProgress): Promise<DiagnosedJob> {
  return diagnoseOpened(path, await openJobFolderOrRecord(path), onProgress);
}

/** @param name what the diagnosis calls the folder */
export async function diagnoseOpened(
  name: string,
  folder: JobFolder,
  onProgress: OnProgress = () => {},
): Promise<DiagnosedJob> {
  const logs = await readLogs(folder, (share, what) => onProgress(share * readingShare, what));
  const full = diagnoseInFull(name, folder.job, logs, {
    warnings: folder.warnings,
    onProgress: (share, what) => onProgress(readingShare + share * (1 - readingShare), what),
  });
  return { job: folder.job, ...full };
}
