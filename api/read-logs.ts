/**
 * The logs of a job folder: each file read once, and several big ones at the same time where there are processors for
 * it. What comes out does not depend on who read it.
 */
import { availableParallelism } from "node:os";
import { Problem, type ReadLog, type Recording } from "../analysis/index.ts";
import type { JobFolder } from "./job-folder.ts";
import { LogHelper } from "./log-helper.ts";
import { type LogFile, pieceBytes, readLog } from "./read-log.ts";

export type OnProgress = (share: number, what: string) => void;

/** A helper has to start and to warm up: what is shorter is read sooner without it. */
const worthHelpBytes = 16 * 2 ** 20;
/** Whatever is read at the same time takes memory at the same time. */
const mostAtOnce = 4;

type ReadOne = (log: LogFile, took: (bytes: number) => void) => Promise<ReadLog[]>;

/**
 * What the reader makes of each recording, in the job's order; several recordings may share one file.
 * @param helpers threads that read beside this one
 * @throws {Problem} of the first file, in the job's order, that cannot be read
 */
export async function readLogs(
  folder: JobFolder,
  onProgress: OnProgress,
  helpers = helpersFor(folder),
): Promise<ReadLog[]> {
  const files = logFiles(folder);
  const total = files.reduce((sum, { bytes }) => sum + bytes, 0);
  const left = [...files];
  const found = new Map<Recording, ReadLog>();
  const failed = new Map<LogFile, unknown>();
  let done = 0;
  const readOn = async (readOne: ReadOne) => {
    for (let log = left.shift(); log !== undefined; log = left.shift()) {
      const { file, recordings } = log;
      try {
        const logs = await readOne(log, (bytes) => {
          done += bytes;
          onProgress(done / total, `reading ${file}`);
        });
        recordings.forEach((recording, index) => void found.set(recording, logs[index]!));
      } catch (error) {
        failed.set(log, error);
        // Files that stand after it in the job need not be begun.
        left.length = 0;
      }
    }
  };
  const here: ReadOne = (log, took) =>
    readLog(log, folder.readLog(log.file, new Uint8Array(pieceBytes)), took, helpers > 0);
  const besides = Array.from({ length: helpers }, () => readBeside(folder, readOn, here));
  await Promise.all([readOn(here), ...besides]);
  for (const log of files) if (failed.has(log)) throw failed.get(log);
  return folder.job.recordings.map((recording) => found.get(recording)!);
}

/** A helper's share of the files; one that it cannot take, for whatever reason, is read here. */
async function readBeside(folder: JobFolder, readOn: (readOne: ReadOne) => Promise<void>, here: ReadOne) {
  const helper = new LogHelper();
  await readOn(async (log, took) => {
    try {
      return await helper.read(log, folder.logPlace!(log.file), took);
    } catch (error) {
      if (error instanceof Problem) throw error;
      return here(log, () => {});
    }
  });
  helper.end();
}

function logFiles({ job, logBytes }: JobFolder): LogFile[] {
  return [...new Set(job.recordings.map(({ file }) => file))].map((file) => ({
    file,
    recordings: job.recordings.filter((recording) => recording.file === file),
    bytes: logBytes(file),
  }));
}

/** As many as there are big files and processors beyond the one that this thread has. */
function helpersFor(folder: JobFolder): number {
  if (folder.logPlace === undefined) return 0;
  const big = logFiles(folder).filter(({ bytes }) => bytes >= worthHelpBytes).length;
  return Math.max(0, Math.min(big, availableParallelism(), mostAtOnce) - 1);
}
