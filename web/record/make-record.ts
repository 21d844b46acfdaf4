/** The record of a job as it stands in the browser: the folder's files from the store, then the same code as on the command line. */
import {
  filesOfJob,
  type Job,
  jobZip,
  makeRecordHtml,
  makeRecordPage,
  makeRecordPdf,
  makeSignedRecordPdf,
  Problem,
  photosOfJob,
  type RecordChoice,
  type RecordPage,
  type ShopKey,
  stampOf,
  withoutCustomer,
} from "../../analysis/index.ts";
import { version } from "../../package.json";
import type { JobRecord } from "../storage/database.ts";
import { findLog } from "../storage/logs.ts";
import { jobText } from "../worker/folder.ts";
import { sha256, sign } from "./web-crypto.ts";

/** What the person chooses; the program's version is added here. */
export type BrowserChoice = Omit<RecordChoice, "programVersion" | "signedWith"> & {
  /** the customer's name and place are left out */
  readonly shared: boolean;
};

export type RecordKind = "pdf" | "html" | "zip";

export interface MadeRecord {
  readonly record: Blob;
  /** what is not in it, in words */
  readonly leftOut: readonly string[];
}

const mimeTypes: Record<RecordKind, string> = { pdf: "application/pdf", html: "text/html", zip: "application/zip" };

/**
 * @param key of the shop, where a PDF is to be signed with it; else null
 * @throws {Problem} where a log that the job names is not in this browser, or cannot be read
 */
export async function makeRecord(
  document: Job,
  kept: JobRecord["files"],
  choice: BrowserChoice,
  kind: RecordKind,
  key: ShopKey | null,
): Promise<MadeRecord> {
  const { files, leftOut } = await folderOf(document, kept, choice.shared);
  const content = await contentOf(kind, files, versioned(choice), key);
  return { record: new Blob([content as BlobPart], { type: mimeTypes[kind] }), leftOut };
}

/** The record as a part of a page, to be seen before it is made. */
export async function previewRecord(
  document: Job,
  kept: JobRecord["files"],
  choice: BrowserChoice,
  signedWith: string | undefined,
): Promise<RecordPage> {
  const { files } = await folderOf(document, kept, choice.shared);
  return makeRecordPage(files, await stampOf(files, { ...versioned(choice), signedWith }, sha256), sha256);
}

const versioned = ({ shared: _, ...choice }: BrowserChoice): RecordChoice => ({ programVersion: version, ...choice });

async function contentOf(
  kind: RecordKind,
  files: ReadonlyMap<string, Uint8Array>,
  choice: RecordChoice,
  key: ShopKey | null,
): Promise<Uint8Array | string> {
  if (kind === "zip") return jobZip(files);
  if (kind === "pdf" && key) return makeSignedRecordPdf(files, choice, sha256, key, sign);
  const stamp = await stampOf(files, choice, sha256);
  return kind === "pdf" ? makeRecordPdf(files, stamp, sha256) : makeRecordHtml(files, stamp, sha256);
}

async function folderOf(document: Job, kept: JobRecord["files"], shared: boolean) {
  const files = new Map<string, Uint8Array>();
  const photos = new Set(photosOfJob(document));
  for (const name of filesOfJob(document)) {
    const bytes = await bytesOf(name, document, kept);
    if (bytes) files.set(name, bytes);
    else if (!photos.has(name))
      throw new Problem("the record should carry this file; it is not in this browser", { file: name });
  }
  return shared ? withoutCustomer(files) : { files, leftOut: [] };
}

async function bytesOf(name: string, document: Job, kept: JobRecord["files"]): Promise<Uint8Array | null> {
  if (name === "job.json") return new TextEncoder().encode(jobText(document));
  const file = kept[name] && (await findLog(kept[name].sha256));
  return file ? new Uint8Array(await file.arrayBuffer()) : null;
}
