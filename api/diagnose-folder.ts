/**
 * One folder or zip from disk to its diagnosis: each log is read once, a piece at a time, however large it is.
 */
import { setImmediate } from "node:timers/promises";
import { createLogReader, diagnoseInFull, type FullDiagnosis, type Job, type LogReading } from "../analysis/index.ts";
import { type JobFolder, openJobFolderOrRecord } from "./job-folder.ts";

export type OnProgress = (share: number, what: string) => void;

export interface DiagnosedJob extends FullDiagnosis {
  readonly job: Job;
}

/** Logs are read in pieces of so many bytes. */
const pieceBytes = 2 ** 18;
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

/** What the reader makes of each recording, in the job's order; several recordings may share one file. */
async function readLogs(folder: JobFolder, onProgress: OnProgress): Promise<LogReading[]> {
  const { recordings } = folder.job;
  const files = [...new Set(recordings.map(({ file }) => file))];
  const total = files.reduce((sum, file) => sum + folder.logBytes(file), 0);
  const found = new Map<Job["recordings"][number], LogReading>();
  const room = new Uint8Array(pieceBytes);
  let done = 0;
  for (const file of files) {
    const own = recordings.filter((recording) => recording.file === file);
    const reader = createLogReader(file, own, { bytesExpected: folder.logBytes(file) });
    for (const piece of folder.readLog(file, room)) {
      reader.push(piece);
      done += piece.length;
      onProgress(done / total, `reading ${file}`);
      // Between pieces the event loop has its turn, so that Ctrl-C is heard.
      await setImmediate();
    }
    reader.finish().forEach((log, index) => void found.set(own[index]!, log));
  }
  return recordings.map((recording) => found.get(recording)!);
}
