/** A job folder, zipped or as loose files: in and out of the browser's store. */
import { strToU8, zipSync } from "fflate";
import { type Job, openRecord, openZip, Problem, parseJob, type ZippedFolder } from "../../analysis/index.ts";
import type { JobRecord } from "../storage/database.ts";
import { findLog, keepLog } from "../storage/logs.ts";

export interface OpenedFolder {
  readonly document: Job;
  readonly files: JobRecord["files"];
  readonly warnings: readonly string[];
}

/**
 * @param given one zip, one record as a PDF, or job.json with its logs
 * @throws {Error} with the sentence of what is wrong with it
 */
export async function openFolder(given: readonly File[]): Promise<OpenedFolder> {
  const [first] = given;
  const named =
    given.length === 1 && first && /\.(zip|pdf)$/i.test(first.name)
      ? filesOf(await opened(first))
      : new Map(given.map((file) => [file.name, file]));
  const text = await named.get("job.json")?.text();
  if (text === undefined)
    throw new Problem(`should hold a job.json; found ${[...named.keys()].slice(0, 5).join(", ") || "nothing"}`, {
      file: first?.name,
    });
  const { job, warnings } = parseJob(text.replace(/^\uFEFF/, ""));
  const files: Record<string, JobRecord["files"][string]> = {};
  for (const [name, file] of named) if (name !== "job.json") files[name] = await keepLog(file);
  const missing = job.recordings
    .filter(({ file }) => !files[file])
    .map(({ file }) => `${file}: the job names this log, and it is not in the folder.`);
  return { document: job, files, warnings: [...warnings, ...missing] };
}

/** A zip, or the job inside a record. */
async function opened(file: File): Promise<ZippedFolder> {
  const bytes = new Uint8Array(await file.arrayBuffer());
  return /\.pdf$/i.test(file.name) ? (await openRecord(bytes, file.name)).folder : openZip(bytes, file.name);
}

function filesOf(folder: ZippedFolder): Map<string, Blob> {
  return new Map(folder.names.map((name) => [name, new Blob([...(folder.read(name) ?? [])] as BlobPart[])]));
}

/** job.json as it leaves the browser. */
export const jobText = (document: Job): string => `${JSON.stringify(document, null, 2)}\n`;

/** The job with its logs as a zip; logs that were never placed go along. */
export async function packFolder(document: Job, files: JobRecord["files"]): Promise<Blob> {
  const content: Record<string, Uint8Array> = { "job.json": strToU8(jobText(document)) };
  for (const [name, { sha256 }] of Object.entries(files)) {
    const log = await findLog(sha256);
    if (log) content[name] = new Uint8Array(await log.arrayBuffer());
  }
  return new Blob([zipSync(content, { level: 6 }) as BlobPart], { type: "application/zip" });
}
