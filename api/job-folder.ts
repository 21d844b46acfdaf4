/**
 * A job folder on disk, or a zip of one: its job checked, its logs given a piece at a time.
 * Nothing outside the folder is opened, whatever job.json names: no path that climbs out, no link that leads out,
 * nothing that is not a plain file.
 */
import { closeSync, openSync, readFileSync, readSync, realpathSync, type Stats, statSync } from "node:fs";
import { join, resolve, sep } from "node:path";
import { isPdf, type Job, openRecord, openZip, Problem, parseJob, type ZippedFolder } from "../analysis/index.ts";
import { filePieces } from "./file-pieces.ts";

export interface JobFolder {
  readonly job: Job;
  readonly warnings: readonly string[];
  /**
   * Bytes of one log, in pieces cut anywhere; throws a Problem naming the file when they are damaged.
   * @param room where pieces may be put, each in place of the one before; without it every piece may be kept
   */
  readLog(file: string, room?: Uint8Array): Iterable<Uint8Array>;
  /** whether there is a file of this name, whatever it is */
  has(file: string): boolean;
  /** size of one log in bytes, for progress */
  logBytes(file: string): number;
  /** where one log lies on disk; absent where they stand in a zip or in memory */
  logPlace?(file: string): string;
}

/** Largest zip that is opened, since its packed bytes stand in memory; larger jobs are given as folders. */
const largestZipBytes = 2 ** 30;
/** Largest job.json that is read; the job's own limit is lower still. */
const largestJobBytes = 32 * 2 ** 20;

/**
 * Opens a folder or zip, reads its job and makes sure that every log is there before any is read.
 * @throws {Problem} naming the folder, or the file inside it, and what would be right
 */
export function openJobFolder(path: string): JobFolder {
  const stats = statOf(path);
  if (stats === null)
    throw new Problem("should be a job folder or a zip of one; there is nothing of this name", { file: path });
  return jobFolderOf(stats.isDirectory() ? filesOfFolder(path) : filesOfZip(path, stats), path);
}

/**
 * The same, and the job inside a record made as a PDF.
 * @throws {Problem} as above, and where a PDF carries no job
 */
export async function openJobFolderOrRecord(path: string): Promise<JobFolder> {
  const stats = statOf(path);
  if (!stats?.isFile() || stats.size > largestZipBytes || !isPdf(firstBytes(path))) return openJobFolder(path);
  const { folder } = await openRecord(readFileSync(path), path);
  return jobFolderOf(filesOfZipped(folder), path);
}

function firstBytes(path: string): Uint8Array {
  try {
    const file = openSync(path, "r");
    try {
      const bytes = new Uint8Array(1024);
      return bytes.subarray(0, readSync(file, bytes));
    } finally {
      closeSync(file);
    }
  } catch {
    // What cannot be read here is named by whoever reads it whole.
    return new Uint8Array();
  }
}

function jobFolderOf(files: Files, path: string): JobFolder {
  const { job, warnings } = parseJob(textOf(files, path));
  for (const [index, { file }] of job.recordings.entries()) {
    try {
      files.size(file);
    } catch (error) {
      throw error instanceof Problem ? error.at({ field: `recordings[${index}].file` }) : error;
    }
  }
  return {
    job,
    warnings,
    readLog: (file, room) => files.read(file, room),
    has: (file) => files.has(file),
    logBytes: (file) => files.size(file),
    ...(files.place && { logPlace: files.place }),
  };
}

/** The files of a folder by their names in it; all but `has` throw a Problem where the name leads to no file inside it. */
interface Files {
  read(name: string, room?: Uint8Array): Iterable<Uint8Array>;
  size(name: string): number;
  has(name: string): boolean;
  place?(name: string): string;
}

function textOf(files: Files, path: string): string {
  if (!files.has("job.json")) throw new Problem("should hold a job.json; there is none in it", { file: path });
  const size = files.size("job.json");
  if (size > largestJobBytes) {
    throw new Problem(`should be at most ${largestJobBytes} bytes long; got ${size}`, { file: "job.json" });
  }
  try {
    return new TextDecoder("utf-8", { fatal: true }).decode(Buffer.concat([...files.read("job.json")]));
  } catch (error) {
    if (error instanceof TypeError)
      throw new Problem("should be text in UTF-8; it holds bytes that are not", { file: "job.json" });
    throw error;
  }
}

function statOf(path: string): Stats | null {
  try {
    return statSync(path);
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    if (code === "ENOENT" || code === "ENOTDIR" || path.includes("\0")) return null;
    throw new Problem(`should be readable; the system says ${code}`, { file: path });
  }
}

function filesOfFolder(folder: string): Files {
  const root = realpathSync(folder);
  return {
    has: (name) => statOf(join(root, name)) !== null,
    size: (name) => placeInside(root, name).size,
    *read(name, room) {
      const { place } = placeInside(root, name);
      yield* filePieces(place, name, room);
    },
    place: (name) => placeInside(root, name).place,
  };
}

function placeInside(root: string, name: string): { place: string; size: number } {
  const refuse = (reason: string): never => {
    throw new Problem(reason, { file: name });
  };
  const inside = (path: string) => path.startsWith(root.endsWith(sep) ? root : root + sep);
  const asked = resolve(root, name);
  if (name.includes("\0") || !inside(asked)) refuse("should lie inside the job folder; this path leads out of it");
  if (statOf(asked) === null) refuse("should be a log inside the job folder; there is no such file in it");
  const place = realpathSync(asked);
  if (!inside(place)) refuse("should lie inside the job folder; this is a link that leads out of it");
  const stats = statSync(place);
  if (!stats.isFile())
    refuse(`should be a plain file; this is ${stats.isDirectory() ? "a folder" : "a device or a pipe"}`);
  return { place, size: stats.size };
}

function filesOfZip(path: string, stats: Stats): Files {
  if (!stats.isFile())
    throw new Problem("should be a job folder or a zip of one; this is a device or a pipe", { file: path });
  if (stats.size > largestZipBytes) {
    throw new Problem(`should be at most 1 GiB as a zip; this one has ${stats.size} bytes (give it as a folder)`, {
      file: path,
    });
  }
  return filesOfZipped(openZip(readZip(path), path));
}

function filesOfZipped(zip: ZippedFolder): Files {
  const missing = (name: string): never => {
    throw new Problem("should be a log inside the zipped job folder; there is no such file in it", { file: name });
  };
  const inZip = (name: string) => name.replace(/^(\.\/)+/, "");
  return {
    has: (name) => zip.names.includes(name),
    size: (name) => zip.size(inZip(name)) ?? missing(name),
    read: (name) => zip.read(inZip(name)) ?? missing(name),
  };
}

function readZip(path: string): Uint8Array {
  let bytes: Uint8Array;
  try {
    bytes = readFileSync(path);
  } catch (error) {
    throw new Problem(`should be readable; the system says ${(error as NodeJS.ErrnoException).code}`, { file: path });
  }
  const isZip = bytes[0] === 0x50 && bytes[1] === 0x4b;
  if (!isZip) throw new Problem("should be a job folder or a zip of one; this file is no zip", { file: path });
  return bytes;
}
