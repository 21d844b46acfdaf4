/**
 * From the files of a job folder to its record: hashes, diagnosis, document, PDF with the job inside, or a page of HTML.
 * The same files and the same stamp give the same bytes, wherever they are made.
 */
import { diagnoseFiles } from "./diagnose.ts";
import { putJobIn, stampBytes } from "./document/carried-job.ts";
import { signedContent } from "./document/hand-signature.ts";
import { recordDocument } from "./document/record.ts";
import { type RecordPage, recordHtml, recordPage } from "./document/record-html.ts";
import type { RecordDocument, RecordStamp } from "./document/record-model.ts";
import { drawRecord } from "./document/record-pdf.ts";
import { type ShopKey, type Sign, withSignature } from "./document/shop-signature.ts";
import type { Job } from "./job/job.ts";
import { parseJob } from "./job/job.ts";
import { Problem } from "./problem.ts";

/** Lower-case hex SHA-256 of bytes: the browser and Node each bring their own. */
export type Sha256 = (bytes: Uint8Array) => Promise<string>;

/** What the person chooses, and what the program says of itself. */
export type RecordChoice = Omit<RecordStamp, "format" | "hashes">;

type Files = ReadonlyMap<string, Uint8Array>;

/** The photos that a job names, in its order. */
export const photosOfJob = (job: Job): string[] =>
  job.rounds.flatMap((round) => round.photos ?? []).map((photo) => (typeof photo === "string" ? photo : photo.file));

/** The files that a record carries: job.json, then every log and photo that the job names, each once. */
export function filesOfJob(job: Job): string[] {
  return ["job.json", ...new Set([...job.recordings.map(({ file }) => file), ...photosOfJob(job)])];
}

export async function stampOf(files: Files, choice: RecordChoice, sha256: Sha256): Promise<RecordStamp> {
  const hashes: Record<string, string> = {};
  for (const [name, bytes] of files) hashes[name] = await sha256(bytes);
  // In the order in which a stamp is read back, so that the same stamp is the same bytes.
  const { programVersion, madeOn, paper, units, form, signedWith } = choice;
  const signed = signedWith === undefined ? {} : { signedWith };
  return { format: "record/1", programVersion, madeOn, paper, units, form, hashes, ...signed };
}

/** @throws {Problem} where job.json or a log it names is not there or cannot be read */
export async function documentOf(files: Files, stamp: RecordStamp, sha256: Sha256): Promise<RecordDocument> {
  const text = files.get("job.json");
  if (text === undefined) throw new Problem("there should be a job.json", { file: "job.json" });
  const { job } = parseJob(new TextDecoder().decode(text));
  return recordDocument(job, diagnoseFiles(job.title, files), stamp, {
    files,
    recordHash: await sha256(stampBytes(stamp)),
    signedContentHash: await sha256(new TextEncoder().encode(signedContent(job, stamp.hashes))),
  });
}

/** The record as a PDF that carries its job, without the shop's signature. */
export async function makeRecordPdf(files: Files, stamp: RecordStamp, sha256: Sha256): Promise<Uint8Array> {
  const pdf = await drawRecord(await documentOf(files, stamp, sha256), stamp);
  await putJobIn(pdf, files, stamp);
  return pdf.save();
}

/** The same with the shop's signature behind it; the stamp names the key. */
export async function makeSignedRecordPdf(
  files: Files,
  choice: RecordChoice,
  sha256: Sha256,
  key: ShopKey,
  sign: Sign,
): Promise<Uint8Array> {
  const stamp = await stampOf(files, { ...choice, signedWith: key.x }, sha256);
  const record = await makeRecordPdf(files, stamp, sha256);
  return withSignature(record, await sign(key, record));
}

/** The same record as one page of HTML, without the job inside. */
export async function makeRecordHtml(files: Files, stamp: RecordStamp, sha256: Sha256): Promise<string> {
  return recordHtml(await documentOf(files, stamp, sha256));
}

/** The same page in its parts, to be shown inside another. */
export async function makeRecordPage(files: Files, stamp: RecordStamp, sha256: Sha256): Promise<RecordPage> {
  return recordPage(await documentOf(files, stamp, sha256));
}
