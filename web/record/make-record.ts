/** The record of a job as it stands in the browser: the folder's files from the store, then the same code as on the command line. */

import {
  filesOfJob,
  type Job,
  makeRecordHtml,
  makeRecordPdf,
  Problem,
  type RecordChoice,
  type Sha256,
  stampOf,
} from "../../analysis/index.ts";
import { version } from "../../package.json";
import type { JobRecord } from "../storage/database.ts";
import { findLog } from "../storage/logs.ts";
import { jobText } from "../worker/folder.ts";

/** What the person chooses; the program's version is added here. */
export type BrowserChoice = Omit<RecordChoice, "programVersion">;

const sha256: Sha256 = async (bytes) => {
  const hash = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes as BufferSource));
  return Array.from(hash, (byte) => byte.toString(16).padStart(2, "0")).join("");
};

/** @throws {Problem} where a file that the job names is not in this browser, or cannot be read */
export async function makeRecord(
  document: Job,
  files: JobRecord["files"],
  choice: BrowserChoice,
  kind: "pdf" | "html",
): Promise<Blob> {
  const folder = new Map<string, Uint8Array>();
  for (const name of filesOfJob(document)) folder.set(name, await bytesOf(name, document, files));
  const stamp = await stampOf(folder, { programVersion: version, ...choice }, sha256);
  return kind === "pdf"
    ? new Blob([(await makeRecordPdf(folder, stamp)) as BlobPart], { type: "application/pdf" })
    : new Blob([makeRecordHtml(folder, stamp)], { type: "text/html" });
}

async function bytesOf(name: string, document: Job, files: JobRecord["files"]): Promise<Uint8Array> {
  if (name === "job.json") return new TextEncoder().encode(jobText(document));
  const kept = files[name];
  const log = kept && (await findLog(kept.sha256));
  if (!log) throw new Problem("the record should carry this file; it is not in this browser", { file: name });
  return new Uint8Array(await log.arrayBuffer());
}
