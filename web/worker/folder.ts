/** A job folder, zipped or as loose files: in and out of the browser's store. */
import { strToU8, zipSync } from "fflate";
import { type Job, openZip, Problem, parseJob } from "../../analysis/index.ts";
import type { JobRecord } from "../storage/database.ts";
import { findLog, keepLog } from "../storage/logs.ts";

export interface OpenedFolder {
  readonly document: Job;
  readonly files: JobRecord["files"];
  readonly warnings: readonly string[];
}

/**
 * @param given one zip, or job.json with its logs
 * @throws {Error} with the sentence of what is wrong with it
 */
export async function openFolder(given: readonly File[]): Promise<OpenedFolder> {
  const [first] = given;
  const named =
    given.length === 1 && first && /\.zip$/i.test(first.name)
      ? await unzipped(first)
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

async function unzipped(zip: File): Promise<Map<string, Blob>> {
  const folder = openZip(new Uint8Array(await zip.arrayBuffer()), zip.name);
  return new Map(folder.names.map((name) => [name, new Blob([...(folder.read(name) ?? [])] as BlobPart[])]));
}

/** The job with its logs as a zip; logs that were never placed go along. */
export async function packFolder(document: Job, files: JobRecord["files"]): Promise<Blob> {
  const content: Record<string, Uint8Array> = { "job.json": strToU8(`${JSON.stringify(document, null, 2)}\n`) };
  for (const [name, { sha256 }] of Object.entries(files)) {
    const log = await findLog(sha256);
    if (log) content[name] = new Uint8Array(await log.arrayBuffer());
  }
  return new Blob([zipSync(content, { level: 6 }) as BlobPart], { type: "application/zip" });
}
