/**
 * A job as it travels: one document, each recording with the hash of its log, and under `files` what this device holds
 * for it. Two devices hold the same when these texts are equal.
 */
import type { Job } from "../../../analysis/index.ts";

export interface StoredFileEntry {
  readonly sha256: string;
  readonly bytes: number;
}
export type FilesByName = Readonly<Record<string, StoredFileEntry>>;

export interface JobContent {
  readonly document: Job;
  readonly files: FilesByName;
}

/** Fields in an order of their own, so that the same content is the same text on every device. */
export function wireText({ document, files }: JobContent): string {
  const recordings = document.recordings.map((recording) => {
    const sha256 = files[recording.file]?.sha256 ?? recording.sha256;
    return sha256 === undefined ? recording : { ...recording, sha256 };
  });
  const named = Object.keys(files).length > 0 ? { files } : {};
  return JSON.stringify(sorted({ ...document, recordings, ...named }));
}

export function contentOf(text: string): JobContent {
  const { files = {}, ...document } = JSON.parse(text) as Job & { files?: FilesByName };
  const placed = document.recordings?.filter(({ file }) => !(file in files)) ?? [];
  const fromRecordings = placed.flatMap(({ file, sha256 }) => (sha256 ? [[file, { sha256, bytes: 0 }] as const] : []));
  return { document: whole(document), files: { ...files, ...Object.fromEntries(fromRecordings) } };
}

/** What a document that another program sent may leave out stands in every job here. */
const whole = (document: Job): Job => ({
  ...document,
  title: document.title ?? "",
  load: document.load ?? {},
  limits: document.limits ?? {},
  battery: document.battery ?? {},
  source: document.source ?? {},
  meters: document.meters ?? [],
  recordings: document.recordings ?? [],
  readings: document.readings ?? [],
  rounds: document.rounds ?? [],
});

function sorted(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(sorted);
  if (typeof value !== "object" || value === null) return value;
  return Object.fromEntries(
    Object.entries(value)
      .filter(([, inner]) => inner !== undefined)
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([key, inner]) => [key, sorted(inner)]),
  );
}
