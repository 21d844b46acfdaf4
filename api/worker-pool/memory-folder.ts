/** A job folder that came over HTTP: as a zip or as files, held in memory. */
import { openZip, Problem, parseJob, zipLimits } from "../../analysis/index.ts";
import type { JobFolder } from "../job-folder.ts";
import type { DiagnosisWork } from "./work.ts";

/** Unpacked logs are read piece by piece, but their numbers stand in memory. */
const unpackedBytesAtMost = Math.min(zipLimits.bytes, 2 ** 30);

interface Files {
  read(name: string): Iterable<Uint8Array> | null;
  size(name: string): number | null;
}

/** @throws {Problem} naming the file that is missing, damaged or too large */
export function memoryFolder({ folder, zip, files }: DiagnosisWork): JobFolder {
  const inside = zip ? zippedFiles(zip, folder) : namedFiles(files ?? []);
  const { job, warnings } = parseJob(jobText(inside, folder));
  const there = <T>(found: T | null, file: string): T => {
    if (found === null) throw new Problem("the log should be in the job folder; it is not there", { file });
    return found;
  };
  job.recordings.forEach(({ file }, index) => {
    if (inside.size(file) === null) {
      const place = { file, field: `recordings[${index}].file` };
      throw new Problem("the log should be in the job folder; it is not there", place);
    }
  });
  return {
    job,
    warnings,
    readLog: (file) => there(inside.read(file), file),
    has: (file) => inside.size(file) !== null,
    logBytes: (file) => there(inside.size(file), file),
  };
}

function zippedFiles(bytes: Uint8Array, file: string): Files {
  const zip = openZip(bytes, file);
  const total = zip.names.reduce((sum, name) => sum + (zip.size(name) ?? 0), 0);
  if (total > unpackedBytesAtMost) {
    throw new Problem(`should hold at most ${unpackedBytesAtMost} bytes unpacked; got ${total}`, { file });
  }
  return zip;
}

function namedFiles(files: NonNullable<DiagnosisWork["files"]>): Files {
  const byName = new Map(files);
  return {
    read: (name) => {
      const bytes = byName.get(name);
      return bytes ? [bytes] : null;
    },
    size: (name) => byName.get(name)?.length ?? null,
  };
}

function jobText(files: Files, folder: string): string {
  const pieces = files.read("job.json");
  if (!pieces) throw new Problem("should hold a job.json; there is none in it", { file: folder });
  try {
    return new TextDecoder("utf-8", { fatal: true }).decode(Buffer.concat([...pieces]));
  } catch (error) {
    if (!(error instanceof TypeError)) throw error;
    throw new Problem("should be text in UTF-8; it holds bytes that are not", { file: "job.json" });
  }
}
