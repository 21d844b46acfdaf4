/** A live log that has ended becomes a log of its job like any other, placed where its probes were. */
import type { Job, Recording } from "../../analysis/index.ts";
import { edit, openJob } from "../job/open-job.ts";
import type { StoredFile } from "../storage/database.ts";
import { findJob, saveJob } from "../storage/jobs.ts";
import { announce } from "../storage/tabs.ts";
import { clerk } from "../worker/workers.ts";
import { bytesEnding } from "./bytes-ending.ts";
import { bytesOf, leftBehind, letGoOf, textOf } from "./live-log.ts";
import type { LiveLog } from "./meter-database.ts";

/** Rows besides the heading, below which a log says nothing. */
const leastBytes = 40;

/**
 * @param placed false: it is kept with the job, but what it shows is of no certain place
 * @returns whether there was anything to keep
 */
export async function keepFinished(log: LiveLog, placed = true): Promise<boolean> {
  const text = await textOf(log.id);
  if (text.size < leastBytes) {
    await letGoOf(log.id);
    return false;
  }
  const stored = await clerk().keepLog(new File([text], log.file));
  const bytes = await bytesOf(log.id);
  const kept: Record<string, StoredFile> = { [log.file]: stored };
  if (bytes) {
    const file = log.file.replace(/\.csv$/, bytesEnding);
    kept[file] = await clerk().keepLog(new File([bytes], file));
  }
  await toJob(log.jobId, (document, files) => {
    Object.assign(files, kept);
    if (placed) document.recordings.push(recordingOf(log, stored));
  });
  await letGoOf(log.id);
  return true;
}

function recordingOf(log: LiveLog, { sha256 }: StoredFile): Recording {
  const { file, round, quantity, from, to, through, meter, engine, marks, startEpochSeconds } = log;
  return {
    file,
    sha256,
    round,
    quantity,
    ...(quantity === "amps" ? { through } : { from, to }),
    ...(meter ? { meter } : {}),
    ...(engine ? { engine } : {}),
    ...(marks.length > 0 ? { marks: [...marks] } : {}),
    startTime: new Date(startEpochSeconds * 1000).toISOString(),
    concurrent: false,
  } as Recording;
}

type Change = (document: Job, files: Record<string, StoredFile>) => void;

async function toJob(jobId: string, change: Change): Promise<void> {
  if (openJob.peek()?.id === jobId) {
    edit((draft) => {
      const files = { ...draft.files };
      change(draft.document, files);
      draft.files = files;
    });
    return;
  }
  const record = await findJob(jobId);
  if (!record) return;
  const [document, files] = [structuredClone(record.document), { ...record.files }];
  change(document, files);
  announce(await saveJob(record, { document, files, drafts: record.drafts }));
}

/** What pages left behind when they were closed or killed. @returns how many logs were saved so */
export async function keepLeftBehind(): Promise<number> {
  let saved = 0;
  for (const log of await leftBehind()) if (await keepFinished(log)) saved++;
  return saved;
}
