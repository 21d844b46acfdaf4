/**
 * From the files of a job folder to its record: hashes, diagnosis, document, PDF with the job inside, or a page of HTML.
 * The same files and the same stamp give the same bytes, wherever they are made.
 */
import { diagnoseFiles } from "./diagnose.ts";
import { putJobIn } from "./document/carried-job.ts";
import { recordDocument } from "./document/record.ts";
import { recordHtml } from "./document/record-html.ts";
import type { RecordDocument, RecordStamp } from "./document/record-model.ts";
import { drawRecord } from "./document/record-pdf.ts";
import type { Job } from "./job/job.ts";
import { parseJob } from "./job/job.ts";
import { Problem } from "./problem.ts";

/** Lower-case hex SHA-256 of bytes: the browser and Node each bring their own. */
export type Sha256 = (bytes: Uint8Array) => Promise<string>;

/** What the person chooses, and what the program says of itself. */
export type RecordChoice = Omit<RecordStamp, "format" | "hashes">;

/** The files that a record carries: job.json, then every log and photo that the job names, each once. */
export function filesOfJob(job: Job): string[] {
  const photos = job.rounds.flatMap((round) => round.photos ?? []);
  const named = [
    ...job.recordings.map(({ file }) => file),
    ...photos.map((photo) => (typeof photo === "string" ? photo : photo.file)),
  ];
  return ["job.json", ...new Set(named)];
}

export async function stampOf(
  files: ReadonlyMap<string, Uint8Array>,
  choice: RecordChoice,
  sha256: Sha256,
): Promise<RecordStamp> {
  const hashes: Record<string, string> = {};
  for (const [name, bytes] of files) hashes[name] = await sha256(bytes);
  return { format: "record/1", ...choice, hashes };
}

/** @throws {Problem} where job.json or a log it names is not there or cannot be read */
export function documentOf(files: ReadonlyMap<string, Uint8Array>, stamp: RecordStamp): RecordDocument {
  const text = files.get("job.json");
  if (text === undefined) throw new Problem("there should be a job.json", { file: "job.json" });
  const { job } = parseJob(new TextDecoder().decode(text));
  return recordDocument(job, diagnoseFiles(job.title, files), stamp);
}

/** The record as a PDF that carries its job. */
export async function makeRecordPdf(files: ReadonlyMap<string, Uint8Array>, stamp: RecordStamp): Promise<Uint8Array> {
  const pdf = await drawRecord(documentOf(files, stamp), stamp);
  await putJobIn(pdf, files, stamp);
  return pdf.save();
}

/** The same record as one page of HTML, without the job inside. */
export function makeRecordHtml(files: ReadonlyMap<string, Uint8Array>, stamp: RecordStamp): string {
  return recordHtml(documentOf(files, stamp));
}
