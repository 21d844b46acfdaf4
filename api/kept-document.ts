/**
 * The job document as the server keeps it: job.json with the hash of every log it names, and, where a device holds
 * files that are not placed in the job yet (logs, photos), those under `files`.
 */
import * as v from "valibot";
import { type Job, JobSchema, Problem, parseJob } from "../analysis/index.ts";
import type { NewDocument } from "./store/job-store.ts";
import { wordsOfJob } from "./store/search-words.ts";

export const Sha256Schema = v.pipe(v.string(), v.regex(/^[0-9a-f]{64}$/, "64 lower-case hex digits"));
const FileNameSchema = v.pipe(v.string(), v.check(isInside, "a name inside the job folder"));

export const KeptDocumentSchema = v.looseObject({
  ...JobSchema.entries,
  files: v.optional(
    v.record(FileNameSchema, v.looseObject({ sha256: Sha256Schema, bytes: v.pipe(v.number(), v.minValue(0)) })),
  ),
});

const titleCharactersAtMost = 500;

export interface KeptFile {
  readonly name: string;
  readonly sha256: string;
  /** where the document names it */
  readonly field: string;
}

/** @throws {Problem} naming the first field that is wrong */
export function newDocument(text: string): NewDocument {
  const { job } = parseJob(text);
  filesOf(job);
  return {
    text: text.replace(/^\uFEFF/, ""),
    title: storable(job.title).slice(0, titleCharactersAtMost),
    words: wordsOfJob(job),
  };
}

/** PostgreSQL keeps no NUL in a text, and half a surrogate pair is no character. */
const storable = (text: string): string => text.replaceAll("\0", "").replaceAll(/\p{Surrogate}/gu, "\uFFFD");

/** Every file that the document names, each once. @throws {Problem} where a name or a hash cannot be one */
export function filesOf(job: Job): KeptFile[] {
  const files = new Map<string, KeptFile>();
  const add = (name: string, sha256: unknown, field: string) => {
    if (!isInside(name)) throw new Problem("should be a name inside the job folder", { file: "job.json", field });
    if (!v.is(Sha256Schema, sha256)) {
      const found = sha256 === undefined ? "nothing" : JSON.stringify(sha256).slice(0, 80);
      throw new Problem(`should be the SHA-256 of the log as 64 lower-case hex digits; got ${found}`, {
        file: "job.json",
        field: `${field}.sha256`,
      });
    }
    const other = files.get(name);
    if (other && other.sha256 !== sha256) {
      throw new Problem(`should be the hash that ${other.field} gives for '${name}'; it is another`, {
        file: "job.json",
        field: `${field}.sha256`,
      });
    }
    if (!other) files.set(name, { name, sha256, field });
  };
  job.recordings.forEach(({ file, sha256 }, index) => {
    add(file, sha256, `recordings[${index}]`);
  });
  for (const [name, entry] of extraFiles(job))
    add(name, (entry as { sha256?: unknown } | null)?.sha256, `files.${name}`);
  return [...files.values()];
}

function extraFiles(job: Job): [string, unknown][] {
  const { files } = job as { files?: unknown };
  if (files === undefined) return [];
  if (typeof files !== "object" || files === null || Array.isArray(files)) {
    throw new Problem("should be an object: file name → sha256 and bytes", { file: "job.json", field: "files" });
  }
  return Object.entries(files);
}

/** The document as job.json of a folder: word for word as it was sent, unless it lists files, which a folder needs no list of. */
export function jobJson(text: string): string {
  const { files, ...job } = JSON.parse(text) as { files?: unknown };
  return files === undefined ? text : `${JSON.stringify(job, null, 2)}\n`;
}

function isInside(name: string): boolean {
  const parts = name.replaceAll("\\", "/").replace(/^\.\//, "").split("/");
  const climbs = parts.some((part) => part === ".." || part === "" || part === ".");
  return (
    name.length > 0 &&
    name.length <= 400 &&
    name !== "job.json" &&
    !climbs &&
    !/^[a-z]:/i.test(name) &&
    !name.includes("\0")
  );
}
